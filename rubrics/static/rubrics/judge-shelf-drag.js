// Dragging a tile to another shelf: an extra beside digits, arrows and buttons.

import { choose, page, shelfOf, take } from "./judge-shelf.js";

const SLACK_PX = 6; // a hand that clicks trembles this much
const EDGE_PX = 56,
  SCROLL_PX = 14; // near the edge of the window the shelves come to the hand
let held = null; // {tile, x, y, moved, at: {x, y}}

const shelfAt = (x, y) => document.elementFromPoint(x, y)?.closest("[data-shelf]");

function target(shelf) {
  for (const each of page.querySelectorAll(".is-target")) each.classList.remove("is-target");
  if (shelf && shelf.dataset.shelf !== "board" && shelf !== shelfOf(held.tile))
    shelf.classList.add("is-target");
}

page.addEventListener("pointerdown", (event) => {
  const tile = event.target.closest("[data-tile]");
  // A finger scrolls; it moves a piece with the buttons of the hand.
  if (!tile || event.button || event.pointerType === "touch") return;
  held = { tile, x: event.clientX, y: event.clientY + scrollY, moved: false };
});

addEventListener("pointermove", (event) => {
  if (!held) return;
  held.at = { x: event.clientX, y: event.clientY };
  const [dx, dy] = [event.clientX - held.x, event.clientY + scrollY - held.y];
  if (!held.moved && Math.hypot(dx, dy) < SLACK_PX) return;
  if (!held.moved) {
    held.moved = true;
    take(held.tile, { scroll: false });
    held.tile.classList.add("dragging");
    document.body.classList.add("is-dragging");
    requestAnimationFrame(scrollOn);
  }
  event.preventDefault();
  follow();
});

function follow() {
  const { tile, x, y, at } = held;
  tile.style.transform = `translate(${at.x - x}px, ${at.y + scrollY - y}px)`;
  target(shelfAt(at.x, at.y));
}

function scrollOn() {
  if (!held?.moved) return;
  const { y } = held.at;
  const step = SCROLL_PX * (Number(y > innerHeight - EDGE_PX) - Number(y < EDGE_PX));
  if (step) {
    scrollBy(0, step);
    follow();
  }
  requestAnimationFrame(scrollOn);
}

function drop(event) {
  if (!held) return;
  const { tile, moved } = held;
  const shelf = event.type === "pointerup" && moved ? shelfAt(event.clientX, event.clientY) : null;
  target(null);
  held = null;
  tile.style.transform = "";
  tile.classList.remove("dragging");
  document.body.classList.remove("is-dragging");
  if (!moved) return;
  // The click that ends a drag is not a click; a drop elsewhere brings none.
  const swallow = (click) => {
    click.preventDefault();
    click.stopPropagation();
  };
  addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => removeEventListener("click", swallow, { capture: true }), 50);
  if (!shelf || shelf === shelfOf(tile) || shelf.dataset.shelf === "board") return;
  choose(tile, shelf.dataset.shelf === "aside" ? "excused" : shelf.dataset.shelf);
}
addEventListener("pointerup", drop);
addEventListener("pointercancel", drop);
addEventListener("keydown", (event) => {
  if (event.key === "Escape" && held?.moved) drop(new Event("pointercancel"));
});
page.addEventListener("dragstart", (event) => {
  if (event.target.closest("[data-tile]")) event.preventDefault();
});
