// The piece in the hand: fetched when a tile is taken, with buttons for what the keys do.

import { ask, wantsWhy } from "./judge-marks.js";
import { isAsking } from "./judge-question.js";
import { choose, current, isOpen, liftUrl, page, tileOf, viewOf } from "./judge-shelf.js";

const SETTLE_MS = 90; // who walks along a shelf is not looking yet
const place = page.querySelector("[data-hand-piece]");
let timer = null;
let wanted = null;

export async function fetchLifted(tile) {
  const response = await fetch(liftUrl(tile), {
    redirect: "manual",
    headers: { Accept: "text/html" },
  });
  if (!response.ok) throw new Error("no answer");
  const box = document.createElement("template");
  box.innerHTML = await response.text();
  return box.content.firstElementChild;
}

async function fill(tile) {
  wanted = tile;
  try {
    const lifted = await fetchLifted(tile);
    if (wanted !== tile) return; // another one was taken meanwhile
    const focus = place.contains(document.activeElement) ? document.activeElement : null;
    const pick = focus?.dataset.pick;
    // A piece fetched twice must not take the question, and what is typed in it, away.
    const question = place.querySelector(`[data-lifted="${tile.dataset.tile}"] [data-question]`);
    if (question) lifted.querySelector("[data-question-here]").prepend(question);
    place.replaceChildren(lifted);
    press(viewOf(tile));
    if (question?.contains(focus)) focus.focus();
    else if (pick) place.querySelector(`[data-pick="${pick}"]`)?.focus();
  } catch {
    if (wanted === tile && !place.querySelector(`[data-lifted="${tile.dataset.tile}"]`)) {
      const words = document.createElement("p");
      words.className = "empty";
      words.textContent = `${tile.dataset.code} cannot be fetched just now. The keys still work.`;
      place.replaceChildren(words);
    }
  }
}

// Buttons follow the tile at once; the drawing need not be fetched for that.
export function press(view) {
  const chosen = view.chosen();
  for (const lifted of document.querySelectorAll(`[data-lifted="${view.box.dataset.tile}"]`)) {
    for (const button of lifted.querySelectorAll("[data-pick]")) {
      button.setAttribute("aria-pressed", String(button.dataset.pick === chosen));
    }
    lifted.querySelector('[data-pick="none"]').hidden = isOpen(view.box) || view.mark.sent;
    lifted.querySelector("[data-say-why]").hidden = !wantsWhy(view) || isAsking(view.key);
  }
}

page.addEventListener("judge:taken", ({ detail }) => {
  clearTimeout(timer);
  // From now on: an answer for the one before must not put it, and no question, in this one's place.
  wanted = detail.tile;
  timer = setTimeout(fill, place.querySelector("[data-lifted]") ? SETTLE_MS : 0, detail.tile);
});
page.addEventListener("judge:shown", ({ detail }) => press(detail.view));

export function pressed(event, { stays = false } = {}) {
  const lifted = event.target.closest("[data-lifted]");
  const button = event.target.closest("[data-pick], [data-say-why]");
  if (!lifted || !button) return;
  const tile = tileOf(lifted.dataset.lifted);
  if ("sayWhy" in button.dataset) ask(viewOf(tile));
  else choose(tile, button.dataset.pick, { stays });
}

place.addEventListener("click", pressed);
if (current()) fill(current());
