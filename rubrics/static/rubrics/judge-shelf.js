// The shelves as the page holds them: where a tile stands, and which one is in the hand.

import { isInSight } from "../studio/keys-free.js";
import { decide, EXCUSED, keepRest, MarkView, NONE, startMarks } from "./judge-marks.js";
import { holdsHand, putOff } from "./judge-question.js";
import { told } from "./judge-status.js";

export const page = document.querySelector("[data-shelves]");
export const tiles = () => [...page.querySelectorAll("[data-tile]")];
export const face = (tile) => tile.querySelector("a");
export const isOpen = (tile) => ["open", "suggested"].includes(tile.dataset.state);
export const tileOf = (piece) => page.querySelector(`[data-tile="${piece}"]`);
export const shelfOf = (tile) => tile.closest("[data-shelf]");
const urlOf = (template, piece) => template.replace("/0/", `/${piece}/`);
export const liftUrl = (tile) => urlOf(page.dataset.lift, tile.dataset.tile) + location.search;

const PLACES = { [EXCUSED]: "aside" };
const STATES = { [EXCUSED]: "excused" };

class TileView extends MarkView {
  get name() {
    return this.mark.code;
  }

  get suggested() {
    return Number(this.box.dataset.suggested) || null;
  }

  get url() {
    return urlOf(page.dataset.save, this.box.dataset.tile);
  }

  // Under the piece in the hand, also where it is lifted beside another one.
  place() {
    const within = `[data-lifted="${this.box.dataset.tile}"] [data-question-here]`;
    const there = document.querySelector(`dialog[open] ${within}`) ?? page.querySelector(within);
    return there ?? document.querySelector("[data-asks]");
  }

  pend(word, words) {
    const back = this.suggested ? String(this.suggested) : "board";
    const open = this.suggested ? "suggested" : "open";
    this.box.dataset.state = word === NONE ? open : (STATES[word] ?? "placed");
    this.box.toggleAttribute("data-wants-reason", false);
    this.pending(true);
    this.state(words);
    stand(this.box, word === NONE ? back : (PLACES[word] ?? word));
    this.#tell();
  }

  chosen() {
    if (isOpen(this.box)) return NONE;
    const { shelf } = shelfOf(this.box).dataset;
    return shelf === "aside" ? EXCUSED : shelf;
  }

  show(mark) {
    this.heed(mark);
    this.box.dataset.state = mark.state;
    this.box.toggleAttribute("data-wants-reason", mark.wants_reason);
    this.box.toggleAttribute("data-unsaved", false);
    this.pending(false);
    this.state(mark.words);
    stand(this.box, mark.place);
    this.#tell();
  }

  wasPutOff() {
    this.#tell();
  }

  #tell() {
    count();
    page.dispatchEvent(new CustomEvent("judge:shown", { detail: { view: this } }));
  }
}

const views = new Map(tiles().map((tile) => [tile.dataset.tile, new TileView(tile)]));
export const viewOf = (tile) => views.get(tile.dataset.tile);

let inHand = null;
// One stop for the Tab key, and arrows from there; on a phone's width each shelf scrolls by itself
// and every tile is a stop.
const roves = matchMedia("(min-width: 64rem)").matches;
if (roves) for (const tile of tiles()) face(tile).tabIndex = -1;

// -- the tile in the hand ---------------------------------------------------------------------

export const current = () => inHand;

export function take(tile, { focus = true, scroll = true } = {}) {
  if (!tile || (tile !== inHand && holdsHand(viewOf(tile).key))) return;
  const isOther = inHand !== tile;
  if (isOther) putOff();
  for (const each of tiles()) {
    const isMine = each === tile;
    face(each).tabIndex = isMine || !roves ? 0 : -1;
    each.classList.toggle("in-hand", isMine);
  }
  inHand = tile;
  if (focus) face(tile).focus({ preventScroll: !scroll });
  if (isOther) page.dispatchEvent(new CustomEvent("judge:taken", { detail: { tile } }));
}

// The next tile nobody judged yet, in the order in which they stand; from the start at the end.
export function nextOpen(after) {
  const all = tiles();
  const from = all.indexOf(after); // -1, the start, while the hand is empty
  return [...all.slice(from + 1), ...all.slice(0, from + 1)].find(isOpen) || null;
}

// -- where a tile stands ----------------------------------------------------------------------

function stand(tile, place) {
  const row = page.querySelector(`[data-shelf="${place}"] [data-shelf-tiles]`);
  if (tile.parentElement === row) return;
  const from = tile.getBoundingClientRect();
  const order = Number(tile.dataset.order);
  const after = [...row.children].find((each) => Number(each.dataset.order) > order);
  const hadFocus = document.activeElement === face(tile);
  row.insertBefore(tile, after || null);
  if (hadFocus) face(tile).focus({ preventScroll: true });
  glide(tile, from);
}

// Only what really moved moves, and only where motion is welcome.
function glide(tile, from) {
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) return;
  const to = tile.getBoundingClientRect();
  const [dx, dy] = [from.left - to.left, from.top - to.top];
  if (Math.hypot(dx, dy) < 2) return;
  const way = [{ transform: `translate(${dx}px, ${dy}px)` }, { transform: "none" }];
  tile.animate(way, { duration: 180, easing: "ease-out" });
}

function count() {
  for (const shelf of page.querySelectorAll("[data-shelf]")) {
    const standing = shelf.querySelector("[data-shelf-tiles]").children.length;
    shelf.querySelector("[data-shelf-count]").textContent = standing;
    if (shelf.classList.contains("board")) shelf.toggleAttribute("data-bare", !standing);
  }
  const keepable = waiting().filter((tile) => !("inQuestion" in tile.dataset));
  const button = page.querySelector("[data-keep-button]");
  button.querySelector("[data-to-keep]").textContent = keepable.length;
  button.hidden = !keepable.length;
}

const waiting = () => tiles().filter((tile) => tile.dataset.state === "suggested");

// -- what is chosen ---------------------------------------------------------------------------

// Choose a level, "excused" or "none" for a tile. A tile that was open goes on to the next open
// one, unless it stays: moved step by step, or lifted beside another.
export function choose(tile, word, { stays = false } = {}) {
  if (!tile) return told("No piece is in your hand: take one first.");
  const goesOn = isOpen(tile) && word !== NONE && !stays;
  const next = goesOn ? nextOpen(tile) : null; // seen from where it stands before it moves
  decide(viewOf(tile), word, () => {
    const isLifted = document.querySelector("dialog[open]");
    const onward = next && isOpen(next) ? next : goesOn && nextOpen(tile);
    take(onward || tile, { focus: !isLifted });
  });
}

// Keep a tile where it is suggested: what is kept is what this page shows.
export function accept(tile) {
  const view = tile && viewOf(tile);
  if (tile?.dataset.state === "suggested") return choose(tile, String(view.suggested));
  if (tile && isOpen(tile)) return told(`Nothing measured speaks to ${view.name}: choose 1 to 4.`);
  return take(nextOpen(tile) || tile);
}

export function keepAll() {
  const keepable = waiting().map(viewOf);
  return keepRest(page.dataset.keep, keepable);
}

startMarks({
  store: page.dataset.store,
  now: page.dataset.now,
  views: () => [...views.values()],
  undo: page.dataset.undo,
  criterion: page.dataset.criterion,
  seen: () =>
    tiles()
      .filter((tile) => isInSight(tile))
      .map((tile) => tile.dataset.tile),
  current: () => inHand && viewOf(inHand),
  go: (view) => take(view.box, { focus: !document.querySelector("dialog[open]") }),
});
