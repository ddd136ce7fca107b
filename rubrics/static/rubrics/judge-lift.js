// Two pieces lifted off the shelves, side by side and large.

import { commandOf } from "../studio/keys-free.js";
import { fetchLifted, press, pressed } from "./judge-hand.js";
import { NONE } from "./judge-marks.js";
import { putOff } from "./judge-question.js";
import { choose, current, page, take, tileOf, viewOf } from "./judge-shelf.js";
import { told } from "./judge-status.js";

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
    return told(`${tile.dataset.code} put down.`);
  }
  tile.classList.add("lifted-one");
  if (!first) {
    first = tile;
    return told(`${tile.dataset.code} lifted. Lift a second one to see both side by side.`);
  }
  try {
    const both = await Promise.all([first, tile].map(fetchLifted));
    both.forEach(ownIds);
    pair.replaceChildren(...both);
    for (const each of [first, tile]) press(viewOf(each));
    dialog.showModal();
    side(1);
  } catch {
    putDown();
    told("The two pieces cannot be fetched just now. Try again.");
  }
}

// Drawings of the hand are on the page too; ids must stay single.
function ownIds(lifted, at) {
  for (const node of lifted.querySelectorAll("[id]")) node.id = `pair${at}-${node.id}`;
  for (const node of lifted.querySelectorAll("[aria-labelledby]")) {
    const names = node.getAttribute("aria-labelledby").split(" ");
    node.setAttribute("aria-labelledby", names.map((id) => `pair${at}-${id}`).join(" "));
  }
  lifted.tabIndex = -1;
}

// The side whose piece the keys act on; its piece is the one in the hand.
function side(at) {
  const lifted = pair.children[at];
  [...pair.children].forEach((each, place) => {
    each.classList.toggle("is-chosen", place === at);
  });
  take(tileOf(lifted.dataset.lifted), { focus: false });
  lifted.focus({ preventScroll: true });
}

document.addEventListener("keydown", (event) => {
  if (dialog.open || commandOf(event, { own: "[data-tile]" }) !== "l") return;
  event.preventDefault();
  lift();
});

dialog.addEventListener("keydown", (event) => {
  const key = commandOf(event);
  const tile = tileOf(pair.querySelector(".is-chosen")?.dataset.lifted);
  if (key === "ArrowLeft" || key === "ArrowRight") side(key === "ArrowLeft" ? 0 : 1);
  else if (/^[1-4]$/.test(key)) put(tile, key);
  else if (key === "e") put(tile, "excused");
  else if (key === "0") put(tile, NONE);
  else return;
  event.preventDefault();
});

// Both stay lifted: nothing goes on to the next one.
function put(tile, word) {
  choose(tile, word, { stays: true });
}

pair.addEventListener("click", (event) => {
  const lifted = event.target.closest("[data-lifted]");
  if (!lifted || event.target.closest("[data-question]")) return;
  side([...pair.children].indexOf(lifted));
  pressed(event, { stays: true });
});
dialog.querySelector("[data-lift-close]").addEventListener("click", () => dialog.close());
dialog.addEventListener("close", () => {
  putOff();
  putDown();
  pair.replaceChildren();
  take(current());
});
document.addEventListener("click", (event) => {
  if (event.target.closest("[data-lift-this]")) lift();
});
