// The measuring sheet: keys that move, cells that save themselves, questions answered by one key.
// Hung on form[data-measure]. Without this file the form posts the whole sheet.

import { Outbox } from "./measure-outbox.js";
import { Said } from "./measure-said.js";

const form = document.querySelector("form[data-measure]");
if (form) start(form);

function start(form) {
  const status = form.querySelector("[data-status]");
  const restingWords = status.textContent;
  const instrument = form.querySelector("[data-instrument]");
  const drawing = document.querySelector("[data-drawing]");
  const said = new Said(form, answer);
  const outbox = new Outbox(form.dataset.save, form.dataset.keep, { landed, waiting });

  form.querySelector("[data-without-script]")?.setAttribute("hidden", "");
  form.querySelector("[data-with-script]")?.removeAttribute("hidden");
  form.addEventListener("submit", (event) => event.preventDefault());
  rememberInstrument();
  for (const input of cells()) remember(input);
  said.adopt();
  takeUp();

  form.addEventListener("focusin", ({ target }) => {
    if (!isField(target)) return;
    target.select();
    light(mainOf(target).dataset.cell);
    said.point(keyOf(mainOf(target)));
  });
  // A value and its place are one reading: the cell is saved when the hand leaves both.
  form.addEventListener("focusout", ({ target, relatedTarget }) => {
    if (!isField(target) || target.closest("td").contains(relatedTarget)) return;
    light(null);
    save(mainOf(target));
  });
  form.addEventListener("keydown", onKey);

  // -- cells ----------------------------------------------------------------------------------
  function cells() {
    return form.querySelectorAll("input[data-cell]");
  }

  function isField(node) {
    return node.matches?.("input[data-cell], input[data-where]");
  }

  function mainOf(input) {
    return input.closest("td").querySelector("input[data-cell]");
  }

  function whereOf(input) {
    return input.closest("td").querySelector("input[data-where]");
  }

  function keyOf(input) {
    return `${input.closest("tr").dataset.piece}.${input.dataset.cell}`;
  }

  function cellOf(key) {
    const at = key.indexOf(".");
    const row = form.querySelector(`tr[data-piece="${key.slice(0, at)}"]`);
    return row?.querySelector(`input[data-cell="${CSS.escape(key.slice(at + 1))}"]`);
  }

  function remember(input) {
    input.dataset.base ??= input.name.split(".").at(-1);
    input.dataset.was = `${input.value}|${whereOf(input)?.value ?? ""}`;
  }

  function isChanged(input) {
    return `${input.value.trim()}|${whereOf(input)?.value.trim() ?? ""}` !== input.dataset.was;
  }

  // -- moving ---------------------------------------------------------------------------------
  function onKey(event) {
    const input = event.target;
    if (!isField(input) || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const step = stepOf(event, input);
    if (step) {
      event.preventDefault();
      go(input, step);
    } else if (event.key === "Escape") {
      const [value, where] = mainOf(input).dataset.was.split("|");
      mainOf(input).value = value;
      if (whereOf(input)) whereOf(input).value = where;
      input.select();
    } else if (/^[ynYN]$/.test(event.key) && isUntouched(input)) {
      const word = event.key.toLowerCase() === "y" ? "yes" : "no";
      if (said.press(keyOf(mainOf(input)), word)) event.preventDefault();
    }
  }

  // No size begins with Y or N, so in a field that nobody has typed in these answer a question.
  function isUntouched(input) {
    return input.value === "" || (input.selectionStart === 0 && input.selectionEnd === input.value.length);
  }

  function stepOf(event, input) {
    const all = input.selectionStart === 0 && input.selectionEnd === input.value.length;
    const atStart = input.selectionStart === 0 && input.selectionEnd === 0;
    const atEnd = input.selectionStart === input.value.length;
    switch (event.key) {
      case "Enter": return { along: event.shiftKey ? -1 : 1, wraps: true };
      case "ArrowDown": return { down: 1 };
      case "ArrowUp": return { down: -1 };
      case "ArrowRight": return all || atEnd ? { along: 1 } : null;
      case "ArrowLeft": return all || atStart ? { along: -1 } : null;
      default: return null;
    }
  }

  function go(input, { along = 0, down = 0, wraps = false }) {
    const rows = [...form.querySelectorAll("tr[data-piece]")];
    const fieldsOf = (row) => [...row.querySelectorAll("input")];
    const row = rows.indexOf(input.closest("tr"));
    const fields = fieldsOf(rows[row]);
    const at = fields.indexOf(input);
    let next = down ? rows[row + down] && fieldsOf(rows[row + down])[at] : fields[at + along];
    if (!next && wraps) {
      const other = rows[row + along];
      next = other && (along > 0 ? fieldsOf(other)[0] : fieldsOf(other).at(-1));
    }
    if (next) next.focus();
    else save(mainOf(input));
    (next ?? input).select();
  }

  function light(key) {
    for (const mark of drawing?.querySelectorAll("[data-mark]") ?? [])
      mark.classList.toggle("lit", mark.dataset.mark === key);
    for (const head of form.querySelectorAll("[data-head]"))
      head.classList.toggle("lit", head.dataset.head === key);
  }

  // -- saving ---------------------------------------------------------------------------------
  function save(input) {
    const where = whereOf(input);
    if (!isChanged(input)) return;
    outbox.put(keyOf(input), {
      piece: input.closest("tr").dataset.piece,
      column: input.dataset.cell,
      stage: form.dataset.stage,
      set: form.dataset.set,
      value: input.value.trim(),
      where: where?.value.trim() ?? "",
      base: input.dataset.base,
      instrument: instrument?.value ?? "",
    });
    remember(input);
    mark(input, "busy");
  }

  function mark(input, word) {
    const cell = input.closest("td");
    cell.classList.remove("busy", "waits", "done", "asked", "refused");
    if (word) cell.classList.add(word);
    input.toggleAttribute("aria-invalid", false);
    if (word === "refused") input.setAttribute("aria-invalid", "true");
  }

  // What was typed since the value was sent is newer than the answer, and stays.
  function landed(key, sent, answer) {
    const input = cellOf(key);
    if (!input) return;
    const where = whereOf(input);
    const isNewer = isChanged(input) || outbox.has(key);
    if (answer.state === "problem") {
      mark(input, "refused");
      said.tell(key, answer.sentence, {});
      return;
    }
    if (answer.state === "conflict") {
      mark(input, "refused");
      said.tell(key, answer.sentence, { yes: "put mine in", no: "keep theirs" }, { kind: "conflict", sent, answer });
      return;
    }
    input.dataset.base = answer.reading_id ?? "";
    if (!isNewer && answer.state === "saved") put(input, answer.shown, answer.where);
    mark(input, answer.question ? "asked" : "done");
    if (answer.state === "taken back") {
      said.tell(key, answer.sentence, { yes: "put it back" }, { kind: "undo", answer });
    } else if (answer.question) {
      const answers = answer.suggestion ? { yes: `yes, ${answer.suggestion}`, no: "it stands" } : { no: "it stands" };
      said.tell(key, answer.question, answers, { kind: "slip", suggestion: answer.suggestion });
    } else {
      said.hush(key);
    }
    form.dispatchEvent(new CustomEvent("reading-saved", { detail: input.closest("tr").dataset.piece }));
  }

  function put(input, value, where) {
    const hadFocus = document.activeElement === input;
    input.value = value;
    if (whereOf(input)) whereOf(input).value = where;
    remember(input);
    if (hadFocus) input.select();
  }

  function answer(key, word, about) {
    const input = cellOf(key);
    if (!input) return;
    said.hush(key);
    if (about.kind === "conflict") {
      input.dataset.base = about.answer.reading_id ?? "";
      if (word === "yes") {
        put(input, about.sent.value, about.sent.where);
        input.dataset.was = null;
        save(input);
      } else {
        put(input, about.answer.shown, about.answer.where);
        mark(input, "");
        outbox.forget(key);
      }
    } else if (about.kind === "undo") {
      input.value = about.answer.suggestion;
      if (whereOf(input)) whereOf(input).value = about.answer.where;
      save(input);
    } else if (word === "yes") {
      input.value = about.suggestion;
      save(input);
    } else {
      const stand = { ...blank(input), stand: "1" };
      outbox.put(key, stand);
      mark(input, "busy");
    }
  }

  function blank(input) {
    return {
      piece: input.closest("tr").dataset.piece,
      column: input.dataset.cell,
      stage: form.dataset.stage,
      set: form.dataset.set,
      value: input.value.trim(),
      where: whereOf(input)?.value.trim() ?? "",
      base: input.dataset.base,
    };
  }

  // -- the line that says what waits ------------------------------------------------------------
  function waiting(count, why) {
    for (const key of outbox.keys()) {
      const input = cellOf(key);
      if (input && why) mark(input, "waits");
    }
    status.classList.toggle("waits", Boolean(why));
    if (!why) {
      status.textContent = restingWords;
      return;
    }
    const values = count === 1 ? "1 value waits" : `${count} values wait`;
    status.textContent = {
      connection: `${values} for the connection. Go on; they are kept on this page.`,
      "signed out": `${values}: you were signed out. Sign in again in another tab; they are kept on this page.`,
      refused: `${values}: the site did not take them just now. They are kept on this page and tried again.`,
    }[why];
  }

  // What an earlier visit could not send any more comes back into its cells and goes out now.
  function takeUp() {
    for (const [key, sent] of outbox.left()) {
      const input = cellOf(key);
      if (!input) continue;
      input.value = sent.value;
      if (whereOf(input)) whereOf(input).value = sent.where;
      remember(input);
      mark(input, "busy");
    }
    outbox.send();
  }

  // -- the instrument --------------------------------------------------------------------------
  function rememberInstrument() {
    if (!instrument) return;
    const key = `${form.dataset.keep}:instrument`;
    const asked = new URLSearchParams(location.search).has("instrument");
    try {
      const kept = localStorage.getItem(key);
      if (!asked && kept !== null && instrument.querySelector(`option[value="${CSS.escape(kept)}"]`)) instrument.value = kept;
      instrument.addEventListener("change", () => localStorage.setItem(key, instrument.value));
    } catch {
      // Without storage the choice lasts as long as the page.
    }
  }
}
