// The question why, under what it asks about, with the cursor in it. While it is open no key is a
// command (studio/keys-free.js sees its [data-question]); what was typed is kept until it is said.

const drafts = new Map(); // key -> {text, reason}: typed, and put off
let open = null; // {key, node, isLate}

export const isAsking = (key) => open?.key === key;
export const isAskingLate = (key) => isAsking(key) && open.isLate;
export const asksUnsaid = () => Boolean(open && (open.isLate || field().value.trim()));

// A published mark waits for its why: nothing else is taken up before it is said or dropped.
export function holdsHand(key) {
  if (!open?.isLate || open.key === key) return false;
  field().focus();
  return true;
}

const field = () => open.node.querySelector("[data-ask-text]");
const reasons = () => [...open.node.querySelectorAll("[data-reason]")];
const chosen = () => reasons().find((each) => each.getAttribute("aria-pressed") === "true");

// Keep a text that could not be saved for when it is asked again.
export function keepDraft(key, text, reason = "") {
  if (text || reason) drafts.set(key, { text, reason });
}

// about: {key, place, words, label, isLate, wantsReason, answer({text, reason}), later()}
export function askWhy(about) {
  putOff();
  const template = document.querySelector("template[data-ask-reason]");
  const node = template.content.firstElementChild.cloneNode(true);
  open = { ...about, node };
  node.querySelector("[data-ask-words]").textContent = about.words;
  node.querySelector("[data-ask-reasons]").hidden = !about.wantsReason;
  node.querySelector("[data-ask-hint]").textContent = hint(about);
  const input = field();
  input.id = "ask-text";
  const label = node.querySelector("[data-ask-label]");
  label.htmlFor = "ask-text";
  label.textContent = about.label;
  const draft = drafts.get(about.key);
  input.value = draft?.text ?? "";
  if (draft?.reason) press(reasons().find((each) => each.dataset.reason === draft.reason));
  node.addEventListener("submit", submitted);
  node.addEventListener("click", clicked);
  about.place.prepend(node);
  input.focus({ preventScroll: true });
  node.scrollIntoView({ block: "nearest" });
}

function hint({ isLate, wantsReason }) {
  const ways = wantsReason && !isLate ? "Write, or choose with ↑ ↓. " : "";
  return `${ways}Enter saves; Esc ${isLate ? "leaves what was sent" : "leaves it for later"}.`;
}

// Take the question away; what was typed comes back when it is asked again.
export function putOff() {
  if (!open) return;
  const { key, node } = open;
  const [text, reason] = [field().value, chosen()?.dataset.reason ?? ""];
  if (text.trim() || reason) drafts.set(key, { text, reason });
  else drafts.delete(key);
  open = null;
  node.remove();
}

export function withdrawQuestion(key) {
  if (isAsking(key)) putOff();
}

function press(button) {
  for (const each of reasons()) each.setAttribute("aria-pressed", String(each === button));
}

function walk(step) {
  const all = reasons();
  if (open.node.querySelector("[data-ask-reasons]").hidden) return;
  const at = all.indexOf(chosen());
  const first = step > 0 ? 0 : all.length - 1;
  press(all[at < 0 ? first : at + step]); // past either end none is chosen
}

function submitted(event) {
  event.preventDefault();
  const said = { text: field().value.trim(), reason: chosen()?.dataset.reason ?? "" };
  const isEnough = open.isLate ? said.text : said.text || said.reason;
  if (!isEnough) {
    const line = open.node.querySelector("[data-ask-hint]");
    line.textContent = open.isLate
      ? "Write in a few words why it changes; then Enter saves it."
      : "Write a few words or choose a reason; then Enter saves it.";
    return field().focus();
  }
  close(() => open.answer(said));
}

// Answer, and only then forget what was typed: whoever answers may find that it cannot be saved.
function close(then) {
  const { key, node } = open;
  then();
  drafts.delete(key);
  node.remove();
  if (open?.node === node) open = null;
}

function clicked(event) {
  const button = event.target.closest("[data-reason]");
  if (button) {
    press(button);
    // A reason alone is an answer, except where the why has to be written.
    if (open.isLate) field().focus();
    else open.node.requestSubmit();
  } else if (event.target.closest("[data-ask-later]")) {
    drop();
  }
}

function drop() {
  const { later } = open;
  putOff();
  later();
}

// Keys of the question; from anywhere else on the page they lead back into its field.
document.addEventListener("keydown", (event) => {
  if (!open || event.isComposing) return;
  const isInside = open.node.contains(event.target);
  if (event.key === "Escape") {
    event.preventDefault(); // a dialog around it stays open
    return drop();
  }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target === field() && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
    event.preventDefault();
    return walk(event.key === "ArrowDown" ? 1 : -1);
  }
  const isElsewhere = event.target === document.body || event.target.closest("[data-own-keys]");
  if (!isInside && isElsewhere && event.key.length === 1) field().focus();
});
