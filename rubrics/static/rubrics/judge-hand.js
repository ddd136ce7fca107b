// The piece in the hand: fetched when a tile is taken, with buttons for what the keys do.

import { ask, choose, current, liftUrl, page, tileOf } from "./judge-shelf.js";

const SETTLE_MS = 90; // who walks along a shelf is not looking yet
const place = page.querySelector("[data-hand-piece]");
let timer = null, wanted = null;

export async function fetchLifted(tile) {
  const response = await fetch(liftUrl(tile), { redirect: "manual", headers: { Accept: "text/html" } });
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
    const pick = place.contains(document.activeElement) && document.activeElement.dataset.pick;
    place.replaceChildren(lifted);
    press(tile);
    if (pick) place.querySelector(`[data-pick="${pick}"]`)?.focus();
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
function press(tile) {
  for (const lifted of document.querySelectorAll(`[data-lifted="${tile.dataset.tile}"]`)) {
    for (const button of lifted.querySelectorAll("[data-pick]")) {
      button.setAttribute("aria-pressed", String(button.dataset.pick === tile.dataset.level));
    }
    lifted.querySelector("[data-excuse]")?.setAttribute("aria-pressed", String(tile.dataset.state === "excused"));
  }
}

page.addEventListener("judge:taken", ({ detail }) => {
  clearTimeout(timer);
  timer = setTimeout(fill, place.querySelector("[data-lifted]") ? SETTLE_MS : 0, detail.tile);
});
page.addEventListener("judge:shown", ({ detail }) => press(detail.tile));

export function pressed(event) {
  const lifted = event.target.closest("[data-lifted]");
  const button = event.target.closest("[data-pick], [data-excuse]");
  if (!lifted || !button || button.disabled) return null;
  const tile = tileOf(lifted.dataset.lifted);
  choose(tile, button.dataset.pick ? { level: button.dataset.pick } : { excused: 1 });
  return tile;
}

place.addEventListener("click", pressed);
// What was put off is asked again when the piece is taken up again.
page.addEventListener("click", (event) => {
  const tile = event.target.closest("[data-tile]");
  if (tile && tile === current() && "wantsReason" in tile.dataset) again(tile);
});
page.addEventListener("judge:taken", ({ detail }) => {
  if ("wantsReason" in detail.tile.dataset) again(detail.tile);
});

function again(tile) {
  ask(tile, {
    code: tile.dataset.code,
    level: tile.dataset.level || null,
    was_suggested: tile.dataset.wasSuggested || tile.dataset.suggested,
    reason: "", reason_text: "",
  });
}

if (current()) fill(current());
