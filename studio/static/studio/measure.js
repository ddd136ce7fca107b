// The measuring sheet: keys that move, cells that save themselves, questions answered by one key.
// Hung on form[data-measure]. Without this file the form posts the whole sheet.

import { Cells, isField, mainOf } from "./measure-cells.js";
import { rememberInstrument } from "./measure-instrument.js";
import { fieldAfter, stepOf } from "./measure-moves.js";
import { Said, slipAnswers } from "./measure-said.js";
import { SaveQueue } from "./save-queue.js";
import { SIGNED_OUT, UNREACHED, UNUSABLE } from "./send.js";

const WAITING = {
  [UNREACHED]: "wait for the connection. Go on; they are kept on this page.",
  [SIGNED_OUT]:
    "wait: you were signed out. Sign in again in another tab; they are kept on this page.",
  [UNUSABLE]:
    "wait: the site did not take them just now. They are kept on this page and tried again.",
};

class Sheet {
  constructor(form) {
    this.form = form;
    this.status = form.querySelector("[data-status]");
    this.restingWords = this.status.textContent;
    this.drawing = document.querySelector("[data-drawing]");
    this.instrument = form.querySelector("[data-instrument]");
    this.cells = new Cells(form);
    this.said = new Said(form, (key, word, about) => this.answered(key, word, about));
    this.queue = new SaveQueue({
      store: form.dataset.keep,
      base: { field: "base", of: (answer) => answer.reading_id ?? "" },
      on: {
        saved: (key, _entry, answer, isNewer) => this.saved(key, answer, isNewer),
        disputed: (key, entry, answer) => this.disputed(key, entry, answer),
        refused: (key, _entry, sentence) => this.refused(key, sentence),
        waits: (keys, trouble) => this.waits(keys, trouble),
      },
    });
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("focusin", ({ target }) => isField(target) && this.entered(target));
    // A value and its place are one reading: the cell is saved when the hand leaves both.
    form.addEventListener("focusout", ({ target, relatedTarget }) => {
      if (!isField(target) || target.closest("td").contains(relatedTarget)) return;
      this.light(null);
      this.save(mainOf(target));
    });
    form.addEventListener("keydown", (event) => this.pressed(event));
    this.said.adopt();
    this.takeUp();
  }

  // -- moving ---------------------------------------------------------------------------------

  entered(input) {
    input.select();
    this.light(mainOf(input).dataset.cell);
    this.said.point(this.cells.keyOf(mainOf(input)));
  }

  pressed(event) {
    const input = event.target;
    if (!isField(input) || event.isComposing || isChord(event)) return;
    const step = stepOf(event, input);
    if (step) {
      event.preventDefault();
      const next = fieldAfter(this.form, input, step);
      if (next) next.focus();
      else this.save(mainOf(input));
      (next ?? input).select();
    } else if (event.key === "Escape") {
      this.cells.putBack(mainOf(input));
      input.select();
    } else if (/^[yn]$/i.test(event.key) && isUntouched(input)) {
      const word = event.key.toLowerCase() === "y" ? "yes" : "no";
      if (this.said.press(this.cells.keyOf(mainOf(input)), word)) event.preventDefault();
    }
  }

  light(key) {
    for (const mark of this.drawing?.querySelectorAll("[data-mark]") ?? [])
      mark.classList.toggle("lit", mark.dataset.mark === key);
    for (const head of this.form.querySelectorAll("[data-head]"))
      head.classList.toggle("lit", head.dataset.head === key);
  }

  // -- saving ---------------------------------------------------------------------------------

  save(input) {
    if (!this.cells.isChanged(input)) return;
    this.put(input, { instrument: this.instrument?.value ?? "" });
    this.cells.remember(input);
  }

  put(input, more) {
    const fields = { ...this.cells.fields(input), ...more };
    this.cells.mark(input, "busy");
    this.queue.put(this.cells.keyOf(input), { url: this.form.dataset.save, fields });
  }

  // What was typed since the value was sent is newer than the answer, and stays.
  saved(key, answer, isNewer) {
    const input = this.cells.of(key);
    if (!input) return;
    input.dataset.base = answer.reading_id ?? "";
    const isTyped = isNewer || this.cells.isChanged(input);
    if (!isTyped && answer.state === "saved") this.cells.put(input, answer.shown, answer.where);
    this.cells.mark(input, answer.question ? "asked" : "done");
    this.tell(key, answer);
    const piece = input.closest("tr").dataset.piece;
    this.form.dispatchEvent(new CustomEvent("reading-saved", { detail: piece }));
  }

  tell(key, answer) {
    if (answer.state === "taken back") {
      const about = { kind: "undo", answer };
      this.said.tell(key, answer.sentence, { yes: "put it back" }, about);
    } else if (answer.question) {
      const answers = slipAnswers(answer.suggestion);
      this.said.tell(key, answer.question, answers, {
        kind: "slip",
        suggestion: answer.suggestion,
      });
    } else {
      this.said.hush(key);
    }
  }

  disputed(key, entry, answer) {
    const input = this.cells.of(key);
    if (!input) return this.queue.theirs(key);
    this.cells.mark(input, "refused");
    const answers = { yes: "put mine in", no: "keep theirs" };
    this.said.tell(key, answer.sentence, answers, { kind: "conflict", entry, answer });
  }

  refused(key, sentence) {
    const input = this.cells.of(key);
    if (!input) return;
    this.cells.mark(input, "refused");
    this.said.tell(key, sentence, {});
  }

  answered(key, word, about) {
    const input = this.cells.of(key);
    if (!input) return;
    this.said.hush(key);
    if (about.kind === "conflict") {
      this.settle(key, input, word, about);
    } else if (about.kind === "undo") {
      this.cells.write(input, about.answer.suggestion, about.answer.where);
      this.save(input);
    } else if (word === "yes") {
      input.value = about.suggestion;
      this.save(input);
    } else {
      this.put(input, { stand: "1" });
    }
  }

  settle(key, input, word, { entry, answer }) {
    input.dataset.base = answer.reading_id ?? "";
    if (word === "yes") {
      this.cells.put(input, entry.fields.value, entry.fields.where);
      this.cells.mark(input, "busy");
      this.queue.mine(key);
    } else {
      this.queue.theirs(key);
      this.cells.put(input, answer.shown, answer.where);
      this.cells.mark(input, "");
    }
  }

  // The line that says what waits.
  waits(keys, trouble) {
    for (const key of trouble ? keys : []) {
      const input = this.cells.of(key);
      if (input) this.cells.mark(input, "waits");
    }
    this.status.classList.toggle("waits", Boolean(trouble));
    const count = keys.length === 1 ? "1 value" : `${keys.length} values`;
    const words =
      keys.length === 1 ? WAITING[trouble]?.replace(/^wait/, "waits") : WAITING[trouble];
    this.status.textContent = trouble ? `${count} ${words}` : this.restingWords;
  }

  // What an earlier visit could not send any more comes back into its cells and goes out now.
  takeUp() {
    for (const [key, { fields }] of this.queue.left()) {
      const input = this.cells.of(key);
      if (!input) continue;
      this.cells.put(input, fields.value, fields.where);
      this.cells.mark(input, "busy");
    }
    this.queue.sendNow();
  }
}

const isChord = (event) => event.ctrlKey || event.metaKey || event.altKey;

// No size begins with Y or N, so in a field that nobody has typed in these answer a question.
function isUntouched(input) {
  const isAll = input.selectionStart === 0 && input.selectionEnd === input.value.length;
  return input.value === "" || isAll;
}

const form = document.querySelector("form[data-measure]");
if (form) {
  form.querySelector("[data-without-script]")?.setAttribute("hidden", "");
  form.querySelector("[data-with-script]")?.removeAttribute("hidden");
  rememberInstrument(form);
  new Sheet(form);
}
