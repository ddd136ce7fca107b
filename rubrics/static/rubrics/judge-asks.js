// What is asked beside the work, without stopping the hand: a reason, two answers, not saved yet.

import { tryNow } from "./judge-save.js";

const box = () => document.querySelector("[data-asks]");
const template = (name) => document.querySelector(`template[data-ask-${name}]`).content.firstElementChild.cloneNode(true);

let open = null; // the reason that a letter answers: {key, answer(fields), node}

function put(kind, key, node) {
  node.dataset.ask = `${kind} ${key}`;
  withdraw(kind, key);
  box().prepend(node);
}

export function withdraw(kind, key) {
  box().querySelector(`[data-ask="${CSS.escape(`${kind} ${key}`)}"]`)?.remove();
  if (kind === "reason" && open?.key === key) open = null;
}

// Ask why; one reason is asked for at a time, what is put off stays marked on its piece.
export function askReason({ key, words, reason = "", text = "", answer, back }) {
  if (open) withdraw("reason", open.key);
  const node = template("reason");
  node.querySelector("[data-ask-words]").textContent = words;
  const input = node.querySelector("[data-ask-text]");
  input.id = "ask-text";
  node.querySelector("[data-ask-label]").htmlFor = "ask-text";
  input.value = text;
  const close = (hadFocus) => {
    withdraw("reason", key);
    if (hadFocus) back?.();
  };
  for (const button of node.querySelectorAll("[data-reason]")) {
    button.setAttribute("aria-pressed", String(button.dataset.reason === reason));
    button.addEventListener("click", () => {
      answer({ reason: button.dataset.reason, ...(input.value.trim() && { reason_text: input.value }) });
      close(true);
    });
  }
  node.addEventListener("submit", (event) => {
    event.preventDefault();
    if (!input.value.trim()) return input.focus();
    answer({ reason: reason || "other", reason_text: input.value });
    close(true);
  });
  node.querySelector("[data-ask-later]").addEventListener("click", () => close(true));
  node.addEventListener("keydown", (event) => {
    event.stopPropagation(); // letters typed here are words
    if (event.key === "Escape") close(true);
  });
  put("reason", key, node);
  open = { key, node };
}

// A letter that names a reason answers the open question; whether it did.
export function answerByKey(letter) {
  const button = open?.node.querySelector(`[data-key="${CSS.escape(letter)}"]`);
  if (!button) return false;
  if (letter === "o") {
    open.node.querySelector("[data-ask-text]").focus();
    return true;
  }
  button.click();
  return true;
}

export function askStale({ key, words, detail, theirs, mine, takeTheirs, takeMine }) {
  const node = template("stale");
  node.querySelector("[data-ask-words]").textContent = words;
  node.querySelector("[data-ask-detail]").textContent = detail;
  const [first, second] = [node.querySelector("[data-take-theirs]"), node.querySelector("[data-take-mine]")];
  first.textContent = theirs;
  second.textContent = mine;
  const choose = (then) => () => { withdraw("stale", key); then(); };
  first.addEventListener("click", choose(takeTheirs));
  second.addEventListener("click", choose(takeMine));
  put("stale", key, node);
}

export function tellUnsaved({ key, words, detail }) {
  const node = template("unsaved");
  node.querySelector("[data-ask-words]").textContent = words;
  node.querySelector("[data-ask-detail]").textContent = detail;
  node.querySelector("[data-try-again]").addEventListener("click", tryNow);
  put("unsaved", key, node);
}
