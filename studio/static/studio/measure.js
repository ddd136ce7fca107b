// The measuring sheet: keys that move, cells that save themselves, questions answered by one key.
// Hung on form[data-measure]. Without this file the form posts the whole sheet.

import { Cells, isField, mainOf, whereOf } from "./measure-cells.js";
import { rememberInstrument } from "./measure-instrument.js";
import { fieldAfter, stepOf } from "./measure-moves.js";
import { Refused } from "./measure-refused.js";
import { Said, slipAnswers } from "./measure-said.js";
import {
  endsByThis,
  isBlock,
  isLookedAt,
  takeBlock,
  takeNothing,
  takeSame,
  takeSide,
} from "./measure-short.js";
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
    this.said = new Said(
      form,
      (key, word, about) => this.answered(key, word, about),
      () => this.count(),
    );
    this.refusals = new Refused(form.dataset.keep);
    this.noughts = []; // what one key wrote into many rows, to be taken back by one key
    this.hushed = new Set(); // keys of which a taking back is not told one by one
    this.queue = new SaveQueue({
      store: form.dataset.keep,
      base: { field: "base", of: (answer) => answer.reading_id ?? "" },
      on: {
        saved: (key, _entry, answer, isNewer) => this.saved(key, answer, isNewer),
        disputed: (key, entry, answer) => this.disputed(key, entry, answer),
        refused: (key, entry, sentence) => this.refused(key, entry.fields, sentence),
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
    form.addEventListener("paste", (event) => this.pasted(event));
    this.opens = form.querySelector("[data-open]");
    this.opens?.addEventListener("click", () => this.said.next(null));
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
    if (this.shortened(event.key, input)) return event.preventDefault();
    const step = stepOf(event, input);
    if (step) {
      event.preventDefault();
      this.go(input, step);
    } else if (event.key === "Escape") {
      this.cells.putBack(mainOf(input));
      this.settleRefused(mainOf(input));
      input.select();
    } else if (event.key.length === 1 && isUntouched(input)) {
      if (this.commanded(event.key, input)) event.preventDefault();
    }
  }

  go(input, step) {
    const next = fieldAfter(this.form, input, step);
    if (next) next.focus();
    else this.save(mainOf(input));
    (next ?? input).select();
    return next;
  }

  // A key that ends a reading by itself.
  shortened(key, input) {
    if (takeSide(this.form, input, key)) {
      this.go(whereOf(mainOf(input)), ENTER);
      return true;
    }
    if (!endsByThis(this.form, input, key)) return false;
    const next = this.go(input, ENTER);
    if (next && key === "=") return this.same(next);
    if (next) next.value = key;
    next?.setSelectionRange(key.length, key.length);
    return true;
  }

  // No size begins with such a key, so in a field that nobody has typed in it is a command.
  commanded(key, input) {
    const main = mainOf(input);
    switch (key) {
      case "y":
      case "Y":
        return this.said.press(this.cells.keyOf(main), "yes");
      case "n":
      case "N":
        return this.insist(main) || this.said.press(this.cells.keyOf(main), "no");
      case "o":
      case "O":
        return this.said.next(this.cells.keyOf(main));
      case "m":
      case "M":
        this.form.querySelector("[data-whole]")?.click();
        return true;
      case "c":
        return this.nothingIn(input);
      case "C":
        return this.nothingAnywhere();
      case "u":
      case "U":
        return this.takeNothingBack();
      case "=":
        return this.same(input);
      default:
        return false;
    }
  }

  same(input) {
    const main = mainOf(input);
    if (takeSame(this.form, input)) this.go(whereOf(main) ?? main, ENTER);
    return true;
  }

  // What was taken for another number was meant as it was written.
  insist(input) {
    if (!/^\d+$/.test(input.dataset.taken ?? "")) return false;
    input.value = `${input.dataset.taken} ${this.form.dataset.unit}`;
    this.save(input);
    return true;
  }

  nothingIn(input) {
    const row = input.closest("tr");
    const changed = takeNothing(this.form, row);
    const isPreset = row.querySelector("[data-preset]");
    if (!changed.length && !isPreset) return false;
    for (const each of changed) this.save(each);
    const fields = [...row.querySelectorAll("input")];
    const isDone = ["seam", "darts"].includes(this.form.dataset.set) || input.value !== "";
    if (isDone) this.go(isPreset ? input : fields.at(-1), ENTER);
    return true;
  }

  nothingAnywhere() {
    const rows = [...this.form.querySelectorAll("tr[data-piece]:not([data-gone])")];
    const open = rows.filter((row) => !isLookedAt(this.form, row));
    this.noughts = open.flatMap((row) => takeNothing(this.form, row));
    for (const each of this.noughts) this.save(each);
    if (this.noughts.length) this.note(`${counted(open.length, "row")} noted so. U takes it back.`);
    return Boolean(this.noughts.length);
  }

  takeNothingBack() {
    const still = this.noughts.filter((each) => each.value === "0");
    this.noughts = [];
    for (const each of still) {
      this.hushed.add(this.cells.keyOf(each));
      each.value = "";
      this.save(each);
    }
    if (still.length) this.note("Taken back.");
    return Boolean(still.length);
  }

  pasted(event) {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!isField(event.target) || !isBlock(text)) return;
    event.preventDefault();
    const { changed, outside } = takeBlock(this.form, event.target, text);
    for (const each of changed) this.save(each);
    const lost = outside ? ` ${counted(outside, "value")} found no cell and stayed outside.` : "";
    this.note(`${counted(changed.length, "cell")} filled.${lost}`);
  }

  // Something to read until the next such thing.
  note(words) {
    this.restingWords = words;
    if (!this.status.classList.contains("waits")) this.status.textContent = words;
  }

  // How many questions are open, on the button that leads to the next.
  count() {
    if (!this.opens) return;
    const open = this.said.questions().length;
    this.opens.hidden = !open;
    const cap = document.createElement("kbd");
    cap.textContent = "O";
    this.opens.replaceChildren(`${counted(open, "open question")} `, cap);
  }

  light(key) {
    for (const mark of this.drawing?.querySelectorAll("[data-mark]") ?? [])
      mark.classList.toggle("lit", mark.dataset.mark === key);
    for (const head of this.form.querySelectorAll("[data-head]"))
      head.classList.toggle("lit", head.dataset.head === key);
  }

  // -- saving ---------------------------------------------------------------------------------

  save(input) {
    if (!this.cells.isChanged(input)) return this.settleRefused(input);
    this.put(input, { instrument: this.instrument?.value ?? "" });
    this.cells.remember(input);
  }

  // What was refused is gone from its cell: nothing is open there any more.
  settleRefused(input) {
    const key = this.cells.keyOf(input);
    if (!input.closest("td").classList.contains("refused") || this.queue.unsent(key)) return;
    this.refusals.drop(key);
    this.said.hush(key);
    this.cells.mark(input, "");
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
    this.refusals.drop(key);
    this.cells.markTaken(input, answer.taken);
    this.cells.mark(input, wordOf(answer));
    this.tell(key, answer);
    const piece = input.closest("tr").dataset.piece;
    this.form.dispatchEvent(new CustomEvent("reading-saved", { detail: piece }));
  }

  tell(key, answer) {
    if (answer.state === "taken back" && this.hushed.delete(key)) {
      this.said.hush(key);
    } else if (answer.state === "taken back") {
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

  refused(key, fields, sentence) {
    const input = this.cells.of(key);
    if (!input) return;
    this.refusals.keep(key, fields, sentence);
    this.cells.mark(input, "refused");
    this.said.tell(key, sentence, {}, { kind: "refused" });
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
    for (const [key, { value, where, base, sentence }] of this.refusals.entries()) {
      const input = this.cells.of(key);
      const isHere = input && !this.queue.has(key);
      if (isHere && input.dataset.base === base) {
        this.cells.write(input, value, where);
        this.cells.mark(input, "refused");
        this.said.tell(key, sentence, {}, { kind: "refused" });
      } else if (isHere) {
        this.refusals.drop(key);
      }
    }
    this.queue.sendNow();
  }
}

function wordOf(answer) {
  if (answer.question) return "asked";
  return answer.taken ? "taken" : "done";
}

const ENTER = { along: 1, wraps: true };

const counted = (count, word) => (count === 1 ? `1 ${word}` : `${count} ${word}s`);

const isChord = (event) => event.ctrlKey || event.metaKey || event.altKey;

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
