// The piece by keys: a digit chooses, Enter accepts, and each goes on to the next criterion.

import { answerByKey, askReason, askStale, tellUnsaved, withdraw } from "./judge-asks.js";
import { knowVersion, postAfterAll, save, saved, unsaved } from "./judge-save.js";
import { say } from "./judge-status.js";

const page = document.querySelector("[data-judge-piece]");
const code = page.dataset.code, piece = page.dataset.judgePiece;
const sent = "sent" in page.dataset;
const rows = [...page.querySelectorAll("[data-criterion]")];
const isOpen = (row) => ["open", "suggested"].includes(row.dataset.state);
let current = null;

knowVersion(piece, page.dataset.version);

function go(row, { focus = true } = {}) {
  if (!row) return;
  current = row;
  for (const each of rows) {
    each.classList.toggle("is-current", each === row);
    each.tabIndex = each === row ? 0 : -1;
  }
  if (focus) {
    row.focus({ preventScroll: true });
    row.scrollIntoView({ block: "nearest" });
  }
  if (row.dataset.wantsReason) ask(row, JSON.parse(row.dataset.wantsReason));
}

function onward(row) {
  const after = rows.indexOf(row) + 1;
  const next = [...rows.slice(after), ...rows.slice(0, after - 1)].find(isOpen);
  if (next) return go(next);
  // All criteria are decided: the next key leads to the next piece.
  const link = page.querySelector("[data-walk=open]");
  go(row, { focus: false });
  link?.focus();
  say(`${code}: every criterion is decided. Press Enter for the next.`);
}

function show(row, mark) {
  row.dataset.state = mark.state;
  row.dataset.level = mark.level ?? "";
  row.removeAttribute("data-unsaved");
  delete row.dataset.pending;
  row.querySelector("[data-mark-state]").textContent = mark.words;
  for (const button of row.querySelectorAll("[data-pick]")) {
    button.setAttribute("aria-pressed", String(Number(button.dataset.pick) === mark.level));
  }
  row.querySelector("[data-excuse]").setAttribute("aria-pressed", String(mark.state === "excused"));
  row.querySelector("[data-note]").value = mark.note;
  const words = row.querySelector("[data-reason-words]");
  const label = document.querySelector("template[data-ask-reason]").content.querySelector(`[data-reason="${mark.reason}"]`);
  const said = [label?.lastChild.textContent.trim(), mark.reason_text].filter(Boolean).join(": ");
  words.hidden = !said;
  words.lastElementChild.textContent = said;
  if (mark.wants_reason) row.dataset.wantsReason = JSON.stringify(mark);
  else delete row.dataset.wantsReason;
  version(mark.version);
  page.querySelector("[data-progress]").textContent = `${rows.filter((each) => !isOpen(each) && !("pending" in each.dataset)).length} of ${rows.length}`;
}

function version(number) {
  knowVersion(piece, number);
  for (const field of page.querySelectorAll("[data-version-field]")) field.value = number;
}

function send(row, fields, seen) {
  const key = row.dataset.criterion, name = row.dataset.name;
  save({
    piece, url: row.dataset.save, fields, version: seen,
    onSaved(answer) {
      withdraw("unsaved", key);
      show(row, answer.mark);
      say(`${name}. ${answer.said}`);
      if (answer.mark.wants_reason) ask(row, answer.mark);
      else withdraw("reason", key);
    },
    onStale(answer) {
      withdraw("unsaved", key);
      row.querySelector("[data-mark-state]").textContent = "two answers";
      say(answer.said);
      askStale({
        key,
        words: `${name}: two answers.`,
        detail: `${answer.who || "Another window"} set ${answer.theirs}${answer.at ? ` at ${answer.at}` : ""}, after this page was opened. You chose ${answer.mine}. Nothing is overwritten until you say.`,
        theirs: `Keep ${answer.theirs}`, mine: `Put ${answer.mine}`,
        takeTheirs() { show(row, answer.mark); go(row); },
        takeMine() { version(answer.version); send(row, fields, answer.version); go(row); },
      });
    },
    onWaiting(error) {
      row.setAttribute("data-unsaved", "");
      row.querySelector("[data-mark-state]").textContent = "not saved yet";
      tellUnsaved({ key, words: `${name}: not saved yet.`, detail: `${error.message} It is kept here and tried again by itself; leave the page open.` });
      say(`${name}: not saved yet; it is tried again by itself.`);
    },
    onRefused(error) {
      row.querySelector("[data-mark-state]").textContent = "not saved";
      tellUnsaved({ key, words: `${name}: not saved.`, detail: error.message });
      say(`${name}: ${error.message}`);
    },
  });
}

function ask(row, mark) {
  askReason({
    key: row.dataset.criterion,
    words: mark.level === null ? `${row.dataset.name} is excused.` : `${row.dataset.name}: the check says ${mark.was_suggested}, you say ${mark.level}.`,
    reason: mark.reason, text: mark.reason_text,
    answer: (fields) => send(row, fields),
    back: () => go(current),
  });
}

function choose(row, fields) {
  if (sent) {
    const why = row.querySelector("[data-late-why]");
    if (!why.value.trim()) {
      why.focus();
      return say(`${code} was sent. Say first why it changes.`);
    }
    const button = fields.level ? row.querySelector(`[data-pick="${fields.level}"]`) : row.querySelector("[data-excuse]");
    return button.form.requestSubmit(button);
  }
  row.dataset.state = fields.level ? "placed" : "excused";
  row.dataset.level = fields.level || "";
  row.querySelector("[data-mark-state]").textContent = "saving";
  for (const button of row.querySelectorAll("[data-pick]")) button.setAttribute("aria-pressed", String(button.dataset.pick === fields.level));
  const wasCurrent = row === current;
  row.dataset.pending = "";
  send(row, fields);
  if (wasCurrent) onward(row);
}

function accept(row) {
  if (!isOpen(row)) return onward(row);
  if (!row.dataset.suggested) return say(`No check speaks to ${row.dataset.name}: choose 1 to 4.`);
  choose(row, { level: row.dataset.suggested });
}

function note(row) {
  const form = row.querySelector("[data-note-form]");
  form.classList.remove("only-no-js");
  row.querySelector("[data-note-open]").setAttribute("aria-expanded", "true");
  form.querySelector("[data-note]").focus();
}

async function undo() {
  try {
    const answer = await postAfterAll(page.dataset.undo, {});
    const row = rows.find((each) => each.dataset.criterion === String(answer.criterion));
    const mine = answer.marks.find((mark) => String(mark.piece) === piece);
    if (row && mine) {
      withdraw("reason", row.dataset.criterion);
      show(row, mine);
      go(row);
    }
    say(answer.said);
    if (!mine) tellUnsaved({ key: "undo", words: answer.said, detail: answer.marks.length ? "It was another piece; this page is as it was." : "" });
  } catch (error) {
    say(`Not undone: ${error.message}`);
    tellUnsaved({ key: "undo", words: "Not undone.", detail: error.message });
  }
}

// Leaving waits for what is on its way, so that nobody is asked whether to leave unsaved.
page.addEventListener("click", async (event) => {
  const link = event.target.closest("[data-walk]");
  if (!link || !unsaved() || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  say("Saving, then on.");
  if (await saved()) location.assign(link.href);
});

const walk = (where) => page.querySelector(`[data-walk="${where}"]`)?.click();
const ACTS = {
  ArrowUp: () => go(rows[Math.max(rows.indexOf(current) - 1, 0)]),
  ArrowDown: () => go(rows[Math.min(rows.indexOf(current) + 1, rows.length - 1)]),
  ArrowLeft: () => walk("prev"), ArrowRight: () => walk("next"), j: () => walk("open"),
  Enter: () => accept(current),
  e: () => choose(current, { excused: 1 }),
  n: () => note(current),
  u: undo,
};
for (const level of "1234") ACTS[level] = () => choose(current, { level });

page.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const target = event.target;
  if (target.matches("textarea, input, select")) {
    if (event.key === "Escape") go(target.closest("[data-criterion]") || current);
    return;
  }
  if (event.key === "Enter" && target.closest("button, a, summary")) return; // the button's own
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (answerByKey(key)) return event.preventDefault();
  const act = ACTS[key];
  // Beside the rows, as on the link to the next piece, a digit would mark what nobody looks at.
  const marks = key === "Enter" || key === "e" || key === "n" || /^[1-4]$/.test(key);
  if (!act || !current || (marks && !target.closest("[data-criterion]"))) return;
  event.preventDefault();
  act();
});

page.addEventListener("click", (event) => {
  const row = event.target.closest("[data-criterion]");
  if (!row) return;
  const pick = event.target.closest("[data-pick]"), excuse = event.target.closest("[data-excuse]");
  if ((pick || excuse) && !sent) {
    event.preventDefault();
    go(row, { focus: false });
    choose(row, pick ? { level: pick.dataset.pick } : { excused: 1 });
  } else if (event.target.closest("[data-note-open]")) {
    go(row, { focus: false });
    note(row);
  } else if (row !== current) go(row, { focus: !event.target.closest("a, button, input, textarea, select") });
});
page.addEventListener("focusin", (event) => {
  const row = event.target.closest("[data-criterion]");
  if (row && row !== current) go(row, { focus: false });
});
for (const form of page.querySelectorAll("[data-note-form]")) {
  form.addEventListener("submit", (event) => {
    if (sent) {
      form.querySelector("[data-late-why-copy]").value = form.closest("[data-criterion]").querySelector("[data-late-why]").value;
      return;
    }
    event.preventDefault();
    const row = form.closest("[data-criterion]");
    send(row, { note: form.querySelector("[data-note]").value });
    go(row);
  });
}
page.querySelector("[data-undo-form]").addEventListener("submit", (event) => {
  event.preventDefault();
  undo();
});

const asked = location.hash.startsWith("#c") && document.getElementById(location.hash.slice(1));
go(rows.includes(asked) ? asked : rows.find(isOpen) || rows[0]);
