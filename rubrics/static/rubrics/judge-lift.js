// Two pieces lifted off the shelves, side by side and large.

import { fetchLifted, pressed } from "./judge-hand.js";
import { choose, current, page, take, tileOf } from "./judge-shelf.js";
import { say } from "./judge-status.js";

const dialog = document.querySelector("[data-lift-dialog]");
const pair = dialog.querySelector("[data-lift-pair]");
let first = null;

function putDown() {
  for (const tile of page.querySelectorAll(".lifted-one")) tile.classList.remove("lifted-one");
  first = null;
}

async function lift() {
  const tile = current();
  if (!tile) return;
  if (tile === first) {
    putDown();
    return say(`${tile.dataset.code} put down.`);
  }
  tile.classList.add("lifted-one");
  if (!first) {
    first = tile;
    return say(`${tile.dataset.code} lifted. Lift a second one to see both side by side.`);
  }
  try {
    const both = await Promise.all([first, tile].map(fetchLifted));
    // Drawings of the hand are on the page too; ids must stay single.
    both.forEach((lifted, at) => {
      for (const node of lifted.querySelectorAll("[id]")) node.id = `pair${at}-${node.id}`;
      for (const node of lifted.querySelectorAll("[aria-labelledby]")) {
        node.setAttribute("aria-labelledby", node.getAttribute("aria-labelledby").split(" ").map((id) => `pair${at}-${id}`).join(" "));
      }
      lifted.tabIndex = -1;
    });
    pair.replaceChildren(...both);
    dialog.showModal();
    side(1);
  } catch {
    putDown();
    say("The two pieces cannot be fetched just now. Try again.");
  }
}

function side(at) {
  [...pair.children].forEach((each, place) => each.classList.toggle("is-chosen", place === at));
  pair.children[at].focus({ preventScroll: true });
}

page.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.key.toLowerCase() !== "l") return;
  if (!event.target.closest("[data-tile], [data-hand-piece]")) return;
  event.preventDefault();
  lift();
});

dialog.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const at = [...pair.children].findIndex((each) => each.classList.contains("is-chosen"));
  const tile = tileOf(pair.children[at]?.dataset.lifted);
  if (event.key === "ArrowLeft" || event.key === "ArrowRight") side(event.key === "ArrowLeft" ? 0 : 1);
  else if (/^[1-4]$/.test(event.key)) put(tile, { level: event.key });
  else if (event.key.toLowerCase() === "e") put(tile, { excused: 1 });
  else return;
  event.preventDefault();
});

function put(tile, fields) {
  choose(tile, fields);
  take(tile, { focus: false });
  mark(tile, fields);
}

function mark(tile, { level }) {
  const lifted = pair.querySelector(`[data-lifted="${tile.dataset.tile}"]`);
  for (const button of lifted.querySelectorAll("[data-pick]")) button.setAttribute("aria-pressed", String(button.dataset.pick === level));
  lifted.querySelector("[data-excuse]").setAttribute("aria-pressed", String(!level));
}

pair.addEventListener("click", (event) => {
  const button = event.target.closest("[data-pick], [data-excuse]");
  const tile = pressed(event);
  if (tile) mark(tile, { level: button.dataset.pick });
});
dialog.querySelector("[data-lift-close]").addEventListener("click", () => dialog.close());
dialog.addEventListener("close", () => {
  const tile = first && current();
  putDown();
  pair.replaceChildren();
  take(tile || current());
});
document.addEventListener("click", (event) => { if (event.target.closest("[data-lift-this]")) lift(); });
