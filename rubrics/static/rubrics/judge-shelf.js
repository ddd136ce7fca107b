// The shelves as the page holds them: where a tile stands, what is chosen, how it is saved.

import { askReason, askStale, tellUnsaved, withdraw } from "./judge-asks.js";
import { knowVersion, postAfterAll, save } from "./judge-save.js";
import { progress, say } from "./judge-status.js";

export const page = document.querySelector("[data-shelves]");
export const tiles = () => [...page.querySelectorAll("[data-tile]")];
export const face = (tile) => tile.querySelector("a");
export const isOpen = (tile) => ["open", "suggested"].includes(tile.dataset.state);
export const tileOf = (piece) => page.querySelector(`[data-tile="${piece}"]`);
export const shelfOf = (tile) => tile.closest("[data-shelf]");
const urlOf = (template, piece) => template.replace("/0/", `/${piece}/`);
export const liftUrl = (tile) => urlOf(page.dataset.lift, tile.dataset.tile) + location.search;

for (const tile of tiles()) knowVersion(tile.dataset.tile, tile.dataset.version);

let inHand = null;
// One stop for the Tab key, and arrows from there; on a phone's width each shelf scrolls by itself
// and every tile is a stop.
const roves = matchMedia("(min-width: 64rem)").matches;
if (roves) for (const tile of tiles()) face(tile).tabIndex = -1;

// -- the tile in the hand ---------------------------------------------------------------------

export const current = () => inHand;

export function take(tile, { focus = true, scroll = true } = {}) {
  if (!tile) return;
  for (const each of tiles()) {
    const mine = each === tile;
    face(each).tabIndex = mine || !roves ? 0 : -1;
    each.classList.toggle("in-hand", mine);
  }
  const changed = inHand !== tile;
  inHand = tile;
  if (focus) face(tile).focus({ preventScroll: !scroll });
  if (changed) page.dispatchEvent(new CustomEvent("judge:taken", { detail: { tile } }));
}

// The next tile nobody judged yet, in the order in which they stand; from the start at the end.
export function nextOpen(after) {
  const all = tiles();
  const from = all.indexOf(after); // -1, the start, while the hand is empty
  return [...all.slice(from + 1), ...all.slice(0, from + 1)].find(isOpen) || null;
}

// -- where a tile stands ----------------------------------------------------------------------

export function put(tile, place) {
  const row = page.querySelector(`[data-shelf="${place}"] [data-shelf-tiles]`);
  if (tile.parentElement === row) return;
  const from = tile.getBoundingClientRect();
  const after = [...row.children].find((each) => Number(each.dataset.order) > Number(tile.dataset.order));
  const focused = document.activeElement === face(tile);
  row.insertBefore(tile, after || null);
  if (focused) face(tile).focus({ preventScroll: true });
  count();
  glide(tile, from);
}

// Only what really moved moves, and only where motion is welcome.
function glide(tile, from) {
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) return;
  const to = tile.getBoundingClientRect();
  const [dx, dy] = [from.left - to.left, from.top - to.top];
  if (Math.hypot(dx, dy) < 2) return;
  tile.animate([{ transform: `translate(${dx}px, ${dy}px)` }, { transform: "none" }], { duration: 180, easing: "ease-out" });
}

export function count() {
  for (const shelf of page.querySelectorAll("[data-shelf]")) {
    const standing = shelf.querySelector("[data-shelf-tiles]").children.length;
    shelf.querySelector("[data-shelf-count]").textContent = standing;
    if (shelf.classList.contains("board")) shelf.toggleAttribute("data-bare", !standing);
  }
  const keepable = tiles().filter((tile) => tile.dataset.state === "suggested" && !("inQuestion" in tile.dataset));
  const button = page.querySelector("[data-keep-button]");
  button.querySelector("[data-to-keep]").textContent = keepable.length;
  button.hidden = !keepable.length;
}

// Show a tile as an answer of the site says it is.
export function show(mark) {
  const tile = tileOf(mark.piece);
  if (!tile) return;
  tile.dataset.state = mark.state;
  tile.dataset.level = mark.level ?? "";
  tile.toggleAttribute("data-wants-reason", mark.wants_reason);
  tile.removeAttribute("data-unsaved");
  tile.querySelector("[data-tile-state]").textContent = mark.words;
  put(tile, mark.place);
  knowVersion(mark.piece, mark.version);
  count();
  if (tile === inHand) page.dispatchEvent(new CustomEvent("judge:shown", { detail: { tile, mark } }));
}

// -- what is chosen ---------------------------------------------------------------------------

const placeOf = (fields) => fields.level || (fields.excused ? "aside" : null);

// Choose for a tile: {level}, {excused: 1} or {accept: 1}. Goes on to the next open one if it was open.
export function choose(tile, fields) {
  if (!tile) return;
  if ("sent" in tile.dataset) return say(`${tile.dataset.code} was sent. A change is made on its own page, with its reason.`);
  if (fields.accept) {
    if (tile.dataset.state !== "suggested") {
      if (isOpen(tile)) return say(`Nothing measured speaks to ${tile.dataset.code}: choose 1 to 4.`);
      return take(nextOpen(tile) || tile);
    }
    // What is kept is what this page shows, not what a later reading may suggest.
    fields = { level: tile.dataset.suggested };
  }
  const onward = isOpen(tile) ? nextOpen(tile) : null;
  // Until the answer comes the tile already stands where it was put.
  tile.dataset.state = fields.level ? "placed" : "excused";
  tile.querySelector("[data-tile-state]").textContent = "saving";
  put(tile, placeOf(fields));
  count();
  send(tile, fields);
  take(onward && onward !== tile ? onward : tile);
}

export function send(tile, fields, version) {
  const key = tile.dataset.tile, code = tile.dataset.code;
  save({
    piece: key, url: urlOf(page.dataset.save, key), fields, version,
    onSaved(answer, more) {
      withdraw("unsaved", key);
      progress(answer);
      if (more) return; // a later key is on its way: its answer will show
      show(answer.mark);
      say(answer.said);
      if (answer.mark.wants_reason) ask(tile, answer.mark);
      else withdraw("reason", key);
    },
    onStale(answer) {
      withdraw("unsaved", key);
      tile.querySelector("[data-tile-state]").textContent = "two answers";
      say(answer.said);
      askStale({
        key,
        words: `${code}: two answers.`,
        detail: `${answer.who || "Another window"} set ${answer.theirs}${answer.at ? ` at ${answer.at}` : ""}, after this page was opened. You chose ${answer.mine}. Nothing is overwritten until you say.`,
        theirs: `Keep ${answer.theirs}`, mine: `Put ${answer.mine}`,
        takeTheirs() { show(answer.mark); take(tile); },
        takeMine() { knowVersion(key, answer.version); send(tile, fields, answer.version); take(tile); },
      });
    },
    onWaiting(error) {
      tile.setAttribute("data-unsaved", "");
      tile.querySelector("[data-tile-state]").textContent = "not saved yet";
      tellUnsaved({ key, words: `${code}: not saved yet.`, detail: `${error.message} It is kept here and tried again by itself; leave the page open.` });
      say(`${code}: not saved yet; it is tried again by itself.`);
    },
    onRefused(error) {
      withdraw("unsaved", key);
      tile.querySelector("[data-tile-state]").textContent = "not saved";
      tellUnsaved({ key, words: `${code}: not saved.`, detail: error.message });
      say(`${code}: ${error.message}`);
    },
  });
}

export function ask(tile, mark) {
  const words = mark.level === null
    ? `${mark.code} is excused.`
    : `${mark.code}: the check says ${mark.was_suggested}, you say ${mark.level}.`;
  askReason({
    key: tile.dataset.tile, words, reason: mark.reason, text: mark.reason_text,
    answer: (fields) => send(tile, fields),
    back: () => take(current() || tile),
  });
}

// -- many at once ------------------------------------------------------------------------------

export async function keepRest() {
  const waiting = tiles().filter((tile) => tile.dataset.state === "suggested");
  if (!waiting.length) return say("There is nothing left to keep.");
  const seen = waiting.map((tile) => `${tile.dataset.tile}:${tile.dataset.suggested}`).join(",");
  await together(page.dataset.keep, { seen });
}

export const undo = () => together(page.dataset.undo, {});

async function together(url, fields) {
  try {
    const answer = await postAfterAll(url, fields);
    const mine = String(answer.criterion ?? page.dataset.criterion) === page.dataset.criterion;
    if (mine) {
      progress(answer);
      for (const mark of answer.marks) {
        show(mark);
        withdraw("reason", String(mark.piece));
      }
      if (answer.marks.length === 1) take(tileOf(answer.marks[0].piece));
    }
    say(answer.said);
    tell(answer.said);
  } catch (error) {
    say(`Not done: ${error.message}`);
    tellUnsaved({ key: "together", words: "Not done.", detail: `${error.message} Nothing was changed; press the key again.` });
  }
}

// What one key did to many is said where it can be seen, too.
function tell(words) {
  withdraw("unsaved", "together");
  const line = page.querySelector("[data-said]");
  if (line) line.textContent = words;
}
