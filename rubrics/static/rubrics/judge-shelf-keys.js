// Keys on the shelves. They act only while a tile, or the hand beside it, has the focus.

import { answerByKey } from "./judge-asks.js";
import { choose, current, face, isOpen, keepRest, nextOpen, page, shelfOf, take, tiles, undo } from "./judge-shelf.js";
import { say } from "./judge-status.js";

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
  let best = null, least = Infinity;
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
  const place = shelfOf(tile).dataset.shelf;
  const at = PLACES.indexOf(place);
  const to = at < 0 ? (step < 0 ? 3 : -1) : at + step;
  if (to < 0 || to > 3) return say(`${tile.dataset.code} cannot go further.`);
  choose(tile, { level: PLACES[to] });
  take(tile);
}

const ACTS = {
  ArrowLeft: () => along(-1), ArrowRight: () => along(1),
  ArrowUp: () => across(-1), ArrowDown: () => across(1),
  Home: () => take(tiles()[0]), End: () => take(tiles().at(-1)),
  Enter: () => choose(current(), { accept: 1 }),
  e: () => choose(current(), { excused: 1 }),
  k: keepRest, u: undo,
  j: goOn,
};
for (const level of PLACES) ACTS[level] = () => choose(current(), { level });

export function goOn() {
  const next = nextOpen(current());
  if (next) take(next);
  else say("Every piece is judged on this criterion.");
}

page.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const target = event.target;
  const onTile = target.closest("[data-tile]");
  if (!onTile && !target.closest("[data-hand-piece]")) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (event.shiftKey && (key === "ArrowUp" || key === "ArrowDown")) {
    event.preventDefault();
    return shift(key === "ArrowUp" ? -1 : 1);
  }
  if (event.shiftKey) return;
  if (!onTile && (key === "Enter" || key.startsWith("Arrow"))) return; // the button's own
  if (answerByKey(key)) return event.preventDefault();
  const act = ACTS[key];
  if (!act) return;
  event.preventDefault();
  act();
});

page.querySelector("[data-keep-form]").addEventListener("submit", (event) => {
  event.preventDefault();
  keepRest();
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
if (first && matchMedia("(min-width: 64rem)").matches) take(first, { scroll: false });
