// The marks of a judging page: what is chosen, what is sent, what is asked. The shelves and the
// piece hold the same marks, each with views of its own (see MarkView).

import { SaveQueue } from "../studio/save-queue.js";
import { TROUBLE } from "../studio/send.js";
import { askStale, askSure, tellUnsaved, withdraw } from "./judge-asks.js";
import { watchOthers } from "./judge-others.js";
import {
  asksUnsaid,
  askWhy,
  holdsHand,
  isAsking,
  isAskingLate,
  keepDraft,
  withdrawQuestion,
} from "./judge-question.js";
import { progress, told } from "./judge-status.js";

export const NONE = "none";
export const EXCUSED = "excused";
const DECISIONS = ["level", "excused", "clear", "chosen", "reason", "reason_text", "why"];

let page = null; // {store, now, views(), undo, criterion, seen(), current(), go(view)}
let queue = null;
const later = new Set(); // keys whose question was put off: an answer that comes late asks not again
let others = null; // other windows of this browser

// One mark as a page shows it. A page says how: name, suggested, url, place(), pend(word, words),
// show(mark), chosen(). A word is a level's number, "excused" or "none".
export class MarkView {
  constructor(box) {
    this.box = box;
    this.mark = JSON.parse(box.dataset.mark);
  }

  get key() {
    return `${this.mark.piece}.${this.mark.criterion}`;
  }

  get standing() {
    const { excused, level } = this.mark;
    if (excused) return EXCUSED;
    return level === null ? NONE : String(level);
  }

  get isOpen() {
    return ["open", "suggested"].includes(this.box.dataset.state);
  }

  state(words) {
    this.box.querySelector("[data-mark-state]").textContent = words;
  }

  // Whether something stands in its fields that was not sent: nothing newer is put under it.
  get hasOwn() {
    return false;
  }

  // A mark that is open carries what the checks say now, which may have changed since.
  heed(mark) {
    this.mark = mark;
    if (mark.level !== null || mark.excused) return;
    this.box.dataset.suggested = mark.state === "suggested" ? mark.place : "";
  }

  // The question was put off: what leads back to it is shown again.
  wasPutOff() {}

  // Until it is stored a choice is shown as a choice, not as what stands.
  pending(isPending) {
    this.box.toggleAttribute("data-pending", isPending);
  }

  unsaved(isWaiting) {
    this.box.toggleAttribute("data-unsaved", isWaiting);
    if (isWaiting) this.state("not saved yet");
  }
}

const viewOf = (key) => page.views().find((view) => view.key === key);

export function startMarks(of) {
  page = of;
  queue = new SaveQueue({
    store: of.store,
    base: { field: "version", of: (answer) => answer.mark?.version ?? answer.version },
    on: { saved, disputed, refused, waits },
    asksToLeave: true,
  });
  others = "BroadcastChannel" in window ? new BroadcastChannel(of.store) : null;
  others?.addEventListener("message", ({ data }) => elsewhere(data));
  watchOthers(of.now, takeOver);
  addEventListener("beforeunload", (event) => asksUnsaid() && event.preventDefault());
  // A page that comes back from the browser's memory shows what was stored when it was left.
  addEventListener("pageshow", (event) => event.persisted && location.reload());
  for (const [key, { fields }] of queue.left()) viewOf(key)?.pend(wordOf(fields), "saving");
  queue.sendNow();
}

export const allSaved = () => queue.settled();
export const isSaving = () => queue.size > 0;

function wordOf(fields) {
  if (fields.clear) return NONE;
  return fields.excused ? EXCUSED : (fields.level ?? NONE);
}

const said = (word) => {
  if (word === NONE) return "not judged";
  return word === EXCUSED ? "excused" : `level ${word}`;
};

const asFields = (word) => {
  if (word === NONE) return { clear: 1 };
  return word === EXCUSED ? { excused: 1 } : { level: word };
};

// -- choosing ---------------------------------------------------------------------------------

// Choose for a mark: it is shown at once, sent, and where a reason is wanted asked for; `onward`
// goes to the next one, then or after the reason.
export function decide(view, word, onward = () => {}) {
  if (holdsHand(view.key))
    return told("First say why the one that was sent changes, or press Esc.");
  const isSame = word === view.standing && !queue.has(view.key) && !isAsking(view.key);
  if (view.mark.sent)
    return isSame ? told(`${view.name}: ${said(word)} is what was sent.`) : late(view, word);
  if (isSame && !view.mark.wants_reason) {
    told(word === NONE ? `${view.name} is not judged.` : `${view.name} stays ${said(word)}.`);
    return onward();
  }
  withdrawQuestion(view.key);
  view.pend(word, "saving");
  if (!isSame) put(view, { ...asFields(word), chosen: view.chosen() });
  if (leaves(view, word)) ask(view, word, onward);
  else onward();
}

function leaves(view, word) {
  if (word === EXCUSED) return true;
  return word !== NONE && view.suggested !== null && Number(word) !== view.suggested;
}

// Whether a mark lacks its reason, known before the site has answered to it.
export function wantsWhy(view) {
  return queue.has(view.key) ? leaves(view, view.chosen()) : view.mark.wants_reason;
}

// Save what goes along with a mark: a note, a reason.
export function put(view, fields) {
  const before = { ...queue.unsent(view.key)?.fields };
  if ("chosen" in fields) for (const name of DECISIONS) delete before[name];
  const version = before.version ?? view.mark.version;
  queue.put(view.key, { url: view.url, fields: { ...before, ...fields, version } });
}

// Ask why a mark leaves its suggestion, or why it is excused; it is saved already.
export function ask(view, word = view.chosen(), onward = () => page.go(view)) {
  const words =
    word === EXCUSED
      ? `${view.name} is excused. Why?`
      : `${view.name}: the check says ${view.suggested ?? view.mark.was_suggested}, you say ${word}. Why?`;
  later.delete(view.key);
  askWhy({
    key: view.key,
    place: view.place(),
    words,
    label: "In a few words",
    isLate: false,
    wantsReason: true,
    answer({ text, reason }) {
      put(view, { reason: reason || "other", reason_text: text });
      onward();
    },
    later() {
      later.add(view.key);
      view.wasPutOff();
      page.go(view);
      if (wantsWhy(view)) told(`${view.name}: its reason is still missing.`);
    },
  });
}

// A published mark changes only with its why: the choice is shown, and nothing is sent before.
function late(view, word) {
  if (word === NONE)
    return told(`${view.name} was sent: change it or excuse it; it is not taken away.`);
  view.pend(word, `${said(word)}? Say why`);
  askLate(view, {
    words: `${view.name} was sent with ${said(view.standing)}. You now say ${said(word)}. Why?`,
    wantsReason: leaves(view, word),
    fields: () => ({ ...asFields(word), chosen: view.chosen() }),
    back: () => view.show(view.mark),
    after: () => view.pend(word, "saving"),
  });
}

export function askLate(view, { words, wantsReason = false, fields, back, after = () => {} }) {
  askWhy({
    key: view.key,
    place: view.place(),
    words,
    label: wantsReason ? "Why it changes; the student reads it too" : "Why it changes",
    isLate: true,
    wantsReason,
    answer({ text, reason }) {
      const because = wantsReason ? { reason: reason || "other", reason_text: text } : {};
      put(view, { ...fields(), why: text, ...because });
      after();
      page.go(view);
    },
    later() {
      back();
      told(`${view.name} stays as it was sent.`);
      page.go(view);
    },
  });
}

// -- what comes back --------------------------------------------------------------------------

function saved(key, entry, answer, isNewer) {
  progress(answer);
  others?.postMessage({ key, mark: answer.mark, done: answer.done, of: answer.of });
  const view = viewOf(key);
  if (!view) return told(`Saved now: ${answer.said}`);
  view.mark = answer.mark;
  view.unsaved(false);
  // What was chosen since stands on the page; its own answer will show.
  if (isNewer || isAskingLate(key)) return;
  view.show(answer.mark);
  told(answer.said);
  const isUnasked = answer.mark.wants_reason && !isAsking(key) && !("reason" in entry.fields);
  if (isUnasked && !later.has(key) && page.current() === view) ask(view);
}

function disputed(key, entry, answer) {
  const view = viewOf(key);
  const mine = "chosen" in entry.fields ? said(wordOf(entry.fields)) : answer.mine;
  const name = view?.name ?? answer.mark.code;
  view?.state("two answers");
  told(answer.sentence);
  const when = answer.at ? ` at ${answer.at}` : "";
  askStale({
    key,
    words: `${name}: two answers.`,
    detail:
      `${answer.who || "Another window"} set ${answer.theirs}${when}, after this page was opened. ` +
      `You chose ${mine}. Nothing is overwritten until you say.`,
    theirs: `Keep ${answer.theirs}`,
    mine: `Put ${mine}`,
    takeTheirs() {
      queue.theirs(key);
      withdrawQuestion(key);
      view?.show(answer.mark);
      if (view) page.go(view);
    },
    takeMine() {
      view?.pend(wordOf(entry.fields), "saving");
      queue.mine(key);
      if (view) page.go(view);
    },
  });
}

function refused(key, { fields }, sentence) {
  const view = viewOf(key);
  keepDraft(key, fields.why ?? fields.reason_text ?? "", fields.reason);
  // What stands is what was stored; the choice that was refused is told beside it.
  view?.show(view.mark, { keepsNote: "note" in fields });
  const name = view?.name ?? "A mark";
  tellUnsaved({ key, words: `${name}: not saved.`, detail: sentence });
  told(`${name}: not saved. ${sentence}`);
}

function waits(keys, trouble) {
  withdraw("unsaved", "queue");
  if (!trouble) return;
  for (const key of keys) viewOf(key)?.unsaved(true);
  const words =
    keys.length === 1 ? "1 mark is not saved yet." : `${keys.length} marks are not saved yet.`;
  const detail = `${TROUBLE[trouble]} They are kept here and tried again by themselves; leave the page open.`;
  tellUnsaved({ key: "queue", words, detail, again: () => queue.sendNow() });
  told(words);
}

// Another window of this browser saved a mark: this one shows it.
function elsewhere({ key, mark, done, of }) {
  if (viewOf(key)) progress({ done, of });
  follow(key, mark);
}

// What another computer saved.
function takeOver({ marks, ...counts }) {
  progress(counts);
  const names = marks
    .filter((mark) => follow(`${mark.piece}.${mark.criterion}`, mark))
    .map((mark) => viewOf(`${mark.piece}.${mark.criterion}`).name);
  if (names.length) told(`Changed on another page: ${listed(names)}.`);
}

// Show what was saved elsewhere, unless this page has a choice or words of its own for it, or knows
// something newer; tells whether anything changed.
function follow(key, mark) {
  const view = viewOf(key);
  if (!view || view.hasOwn || queue.has(key) || queue.unsent(key) || isAsking(key)) return false;
  if (mark.version < view.mark.version || isAlike(mark, view.mark)) return false;
  view.show(mark);
  return true;
}

// The version is the whole piece's: another criterion moves it on.
const isAlike = (one, other) =>
  JSON.stringify({ ...one, version: 0 }) === JSON.stringify({ ...other, version: 0 });

// -- many at once -----------------------------------------------------------------------------

// Take the latest change back; asks first where it touched more than can be seen here.
export async function undo() {
  const here = page.views().map((view) => view.mark.piece);
  const fields = { criterion: page.criterion ?? "", here: [...new Set(here)], seen: page.seen() };
  let found = await queue.alone(page.undo, fields);
  if (found.answer?.state === "sure?") {
    const { words, detail, latest } = found.answer;
    if (!(await askSure({ words, detail, yes: "Take back" })))
      return told("Nothing was taken back.");
    found = await queue.alone(page.undo, { sure: latest });
  }
  together(found, "Not undone.");
}

export async function keepRest(url, views) {
  if (!views.length) return told("There is nothing left to keep.");
  const unseen = views.filter((view) => !page.seen().includes(String(view.mark.piece)));
  if (unseen.length) {
    const count = views.length;
    const isSure = await askSure({
      words: `Keep ${count} ${count === 1 ? "piece" : "pieces"} as suggested?`,
      detail: `${unseen.length} of them ${unseen.length === 1 ? "stands" : "stand"} outside what you see now: ${listed(unseen.map((view) => view.mark.code))}. One key, U, takes all of them back.`,
      yes: `Keep all ${count}`,
    });
    if (!isSure) return told("Nothing was kept.");
  }
  const seen = views.map((view) => `${view.mark.piece}:${view.suggested}`).join(",");
  together(await queue.alone(url, { seen }), "Not done.");
}

const FEW = 6; // so many codes are named, the rest counted

function listed(names) {
  const rest = names.length - FEW;
  return `${names.slice(0, FEW).join(", ")}${rest > 0 ? ` and ${rest} more` : ""}`;
}

function together({ answer, problem }, failed) {
  withdraw("unsaved", "together");
  if (problem) {
    tellUnsaved({ key: "together", words: failed, detail: `${problem} Nothing was changed.` });
    return told(`${failed} ${problem}`);
  }
  const shown = answer.marks.map((mark) => [viewOf(`${mark.piece}.${mark.criterion}`), mark]);
  for (const [view, mark] of shown) {
    const { done, of } = answer;
    others?.postMessage({ key: `${mark.piece}.${mark.criterion}`, mark, done, of });
    withdrawQuestion(view?.key);
    view?.show(mark);
  }
  if (shown.some(([view]) => view)) progress(answer);
  if (shown.length === 1 && shown[0][0]) page.go(shown[0][0]);
  told(answer.said);
}
