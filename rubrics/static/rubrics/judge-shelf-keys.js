// Keys on the shelves: they act on the piece that shows the ring, wherever the focus is.

import { commandOf, isInSight, isTyping } from "../studio/keys-free.js";
import { ask, NONE, undo, wantsWhy } from "./judge-marks.js";
import {
  accept,
  choose,
  current,
  face,
  isOpen,
  keepAll,
  nextOpen,
  page,
  shelfOf,
  take,
  tiles,
  viewOf,
} from "./judge-shelf.js";
import { told } from "./judge-status.js";

const PLACES = ["4", "3", "2", "1"];

function along(step) {
  const all = tiles();
  const here = all.indexOf(current());
  take(all[Math.min(Math.max(here + step, 0), all.length - 1)]);
}

// The tile nearest below or above on the page, whatever shelf it stands on.
function across(step) {
  const tile = current();
  if (!tile) return along(0);
  const from = tile.getBoundingClientRect();
  const middle = from.left + from.width / 2;
  let best = null;
  let least = Infinity;
  for (const each of tiles()) {
    const box = each.getBoundingClientRect();
    const down = (box.top - from.top) * step;
    if (down < from.height / 2) continue;
    const distance = down * 4 + Math.abs(box.left + box.width / 2 - middle);
    if (distance < least) [best, least] = [each, distance];
  }
  take(best || tile);
}

function shift(step) {
  const tile = current();
  const at = PLACES.indexOf(shelfOf(tile).dataset.shelf);
  const fromBoard = step < 0 ? 3 : -1;
  const to = at < 0 ? fromBoard : at + step;
  if (to < 0 || to > 3) return told(`${tile.dataset.code} cannot go further.`);
  choose(tile, PLACES[to], { stays: true });
}

function goOn() {
  const next = nextOpen(current());
  if (next) take(next);
  else told("Every piece is judged on this criterion.");
}

function sayWhy() {
  const view = viewOf(current());
  if (wantsWhy(view)) ask(view);
  else told(`${view.name} wants no reason.`);
}

const MOVES = {
  ArrowLeft: () => along(-1),
  ArrowRight: () => along(1),
  ArrowUp: () => across(-1),
  ArrowDown: () => across(1),
  Home: () => take(tiles()[0]),
  End: () => take(tiles().at(-1)),
  j: goOn,
  k: keepAll,
  u: undo,
};
// These act on the piece in the hand.
const ACTS = {
  "Shift+ArrowUp": () => shift(-1),
  "Shift+ArrowDown": () => shift(1),
  Enter: () => accept(current()),
  0: () => choose(current(), NONE),
  e: () => choose(current(), "excused"),
  w: sayWhy,
};
for (const level of PLACES) ACTS[level] = () => choose(current(), level);

document.addEventListener("keydown", (event) => {
  if (document.querySelector("dialog[open]")) return; // it has keys of its own
  const key = commandOf(event, { own: "[data-tile]" });
  const act = MOVES[key] ?? ACTS[key];
  if (!act) return;
  event.preventDefault();
  if (key in ACTS && !isHeld()) return;
  act();
});

// Whether a piece is in the hand and can be seen; else it is shown before a key changes it.
function isHeld() {
  const tile = current();
  if (!tile) {
    told("No piece is in your hand: take one with a click or an arrow.");
    return false;
  }
  if (isInSight(tile)) return true;
  face(tile).scrollIntoView({ block: "center" });
  told(`${tile.dataset.code} is in your hand. Press the key again to change it.`);
  return false;
}

page.querySelector("[data-keep-form]").addEventListener("submit", (event) => {
  event.preventDefault();
  keepAll();
});
page.querySelector("[data-undo-form]").addEventListener("submit", (event) => {
  event.preventDefault();
  undo();
});
page.querySelector("[data-next-open]").addEventListener("click", goOn);

// A tile is taken in the hand by a click; its link is for who opens it in a tab, or has no script.
page.addEventListener("click", (event) => {
  const tile = event.target.closest("[data-tile]");
  if (!tile || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  event.preventDefault();
  take(tile, { scroll: false });
});
page.addEventListener("focusin", (event) => {
  const tile = event.target.closest("[data-tile]");
  if (tile && tile !== current()) take(tile, { focus: false });
});

// A wide window has room for the hand beside the shelves; on a phone it comes with the first tap.
const first = tiles().find(isOpen) || tiles()[0];
const isWide = matchMedia("(min-width: 64rem)").matches;
if (first && isWide && !isTyping(document.activeElement))
  take(first, { scroll: !isInSight(first) });
