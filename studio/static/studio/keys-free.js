// When a key is free to be a command. One rule for every page whose keys act.

const TYPED_IN =
  "textarea, select, [contenteditable], input:not([type=checkbox], [type=radio], [type=button])";
const ACTS_ITSELF = "a, button, summary, label, input, [role=button]";

// Whether the cursor stands in a field, so that every letter is a word's.
export function isTyping(node) {
  return node instanceof Element && node.matches(TYPED_IN);
}

// The key as a command, "" where it is not free: letters in lower case, "Shift+ArrowUp".
//
// own: a selector of what takes Enter and Space for the page itself, though it is a link or a
// button. A key held down repeats only where it moves: holding a digit must not mark a row.
export function commandOf(event, { own = "[data-own-keys]" } = {}) {
  const { key, target } = event;
  if (!isFree(event)) return "";
  const isMove = key.startsWith("Arrow") || key === "Home" || key === "End";
  if (event.repeat && !isMove) return "";
  if ((key === "Enter" || key === " ") && acts(target, own)) return "";
  if (event.shiftKey) return isMove ? `Shift+${key}` : "";
  return key.length === 1 ? key.toLowerCase() : key;
}

// No field has the cursor, no question is open, and no other meaning was given to the key.
function isFree(event) {
  const { target } = event;
  if (event.defaultPrevented || event.isComposing) return false;
  if (event.ctrlKey || event.metaKey || event.altKey) return false;
  if (isTyping(target) || document.querySelector("[data-question]")) return false;
  const dialog = document.querySelector("dialog[open]");
  return !dialog || dialog.contains(target);
}

function acts(target, own) {
  const actor = target instanceof Element ? target.closest(ACTS_ITSELF) : null;
  return Boolean(actor) && !actor.closest(own);
}

// So much of a thing has to stand within the window to be seen. [CSS px]
const SEEN_PX = 48;

// Whether something can be seen in the window: nobody acts on what nobody sees.
export function isInSight(node) {
  const box = node.getBoundingClientRect();
  const wanted = Math.min(SEEN_PX, box.height / 2);
  return Math.min(box.bottom, innerHeight) - Math.max(box.top, 0) >= wanted;
}
