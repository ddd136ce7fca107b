// The piece by keys: a digit chooses, Enter accepts, and each goes on to the next criterion.

import { commandOf, isInSight, isTyping } from "../studio/keys-free.js";
import { ask, NONE, put, undo, wantsWhy } from "./judge-marks.js";
import {
  accept,
  choose,
  current,
  go,
  onward,
  openNote,
  page,
  rows,
  saveNote,
  viewOf,
} from "./judge-piece.js";
import { told } from "./judge-status.js";

const walk = (where) => page.querySelector(`[data-walk="${where}"]`)?.click();
const along = (step) =>
  go(rows[Math.min(Math.max(rows.indexOf(current()) + step, 0), rows.length - 1)]);

const MOVES = {
  ArrowUp: () => along(-1),
  ArrowDown: () => along(1),
  ArrowLeft: () => walk("prev"),
  ArrowRight: () => walk("next"),
  j: () => walk("open"),
  u: undo,
};
// These act on the row that shows the ring.
const ACTS = {
  Enter: () => accept(current()),
  0: () => choose(current(), NONE),
  e: () => choose(current(), "excused"),
  n: () => openNote(current()),
  w: () => sayWhy(current()),
};
for (const level of "1234") ACTS[level] = () => choose(current(), level);

function sayWhy(view) {
  if (wantsWhy(view)) ask(view, view.chosen(), () => onward(view));
  else told(`${view.name} wants no reason.`);
}

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && isTyping(event.target) && !event.defaultPrevented) {
    return go(viewOf(event.target) ?? current());
  }
  const key = commandOf(event);
  const act = MOVES[key] ?? ACTS[key];
  if (!act) return;
  event.preventDefault();
  if (key in ACTS && !hasRing()) return;
  act();
});

function hasRing() {
  const view = current();
  if (!view) {
    told("No criterion shows the ring: choose one with ↑ or ↓ first.");
    return false;
  }
  if (isInSight(view.box)) return true;
  view.box.scrollIntoView({ block: "nearest" });
  told(`The ring is on ${view.name}. Press the key again to change it.`);
  return false;
}

page.addEventListener("click", (event) => {
  const view = event.target.closest("[data-criterion]") && viewOf(event.target);
  if (!view || event.target.closest("[data-question]")) return;
  const pick = event.target.closest("[data-pick]");
  if (pick) {
    go(view, { focus: false });
    choose(view, pick.dataset.pick);
  } else if (event.target.closest("[data-note-open]")) {
    go(view, { focus: false });
    openNote(view);
  } else if (event.target.closest("[data-say-why]")) {
    go(view, { focus: false });
    sayWhy(view);
  } else if (view !== current()) {
    go(view, { focus: !event.target.closest("a, button, input, textarea, select") });
  }
});
page.addEventListener("focusin", (event) => {
  const view = event.target.closest("[data-criterion]") && viewOf(event.target);
  if (!view || view === current()) return;
  go(view, { focus: false });
  // The criterion before has folded: what has the focus may have left the window with it.
  if (!isInSight(event.target)) event.target.scrollIntoView({ block: "center" });
});
page.addEventListener("focusout", (event) => {
  if (event.target.matches("[data-note]")) saveNote(viewOf(event.target));
});
page.addEventListener("submit", (event) => {
  const view = event.target.closest("[data-criterion]") && viewOf(event.target);
  if (event.target.matches("[data-note-form]")) {
    event.preventDefault();
    saveNote(view);
    if (!document.querySelector("[data-question]")) go(view);
  } else if (event.target.matches("[data-kiln-form]")) {
    event.preventDefault();
    excuseForKiln(view, event.target);
  } else if (event.target.matches("[data-undo-form]")) {
    event.preventDefault();
    undo();
  }
});

// The kiln's doing is a reason already: nothing is asked.
function excuseForKiln(view, form) {
  const { reason, reason_text } = Object.fromEntries(new FormData(form));
  view.pend("excused", "saving");
  put(view, { excused: 1, chosen: view.chosen(), reason, reason_text });
  form.hidden = true;
}

const asked = location.hash.startsWith("#c") && document.getElementById(location.hash.slice(1));
const first =
  rows.find((view) => view.box === asked) ?? rows.find((view) => view.isOpen) ?? rows[0];
if (first && !isTyping(document.activeElement)) go(first);
