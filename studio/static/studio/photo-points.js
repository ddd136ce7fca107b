/* Points over a photo: [data-confirm] holds the picture, its points and the table of sizes.

   A point moves by mouse, finger or arrow keys; the site answers with the sizes. The loupe shows
   the picture's own pixels under the point and can itself be dragged, four times as fine. */

import { commandOf } from "./keys-free.js";
import { Loupe } from "./photo-loupe.js";
import { Sizes } from "./photo-sizes.js";

const RING_CSS_PX = 8; // how large a point's ring is on the screen
const RING_UNITS = 1.25; // its radius in the drawing's own units
const NEAR_CSS_PX = 30; // a finger takes the nearest point within this
const ACTIVE_NEARER = 0.6; // the active point is easier to take again than its neighbours
const FAR_STEP_PX = 10; // with Shift an arrow moves a point by so much

class Points {
  constructor(box, svg, form) {
    Object.assign(this, { box, svg, form });
    this.view = svg.viewBox.baseVal;
    this.field = form.querySelector("[data-points-field]");
    this.points = JSON.parse(this.field.value);
    this.start = structuredClone(this.points);
    const all = svg.querySelectorAll("[data-point]");
    this.groups = new Map([...all].map((group) => [group.dataset.point, group]));
    this.nudge = box.querySelector("[data-nudge]");
    this.size = [Number(svg.dataset.width), Number(svg.dataset.height)];
    this.active = null;
    this.drag = null;
    this.sizes = new Sizes(form, box.dataset.sizes);
    this.loupe = new Loupe(box.querySelector("[data-loupe]"), svg, (dx, dy) => this.move(dx, dy));
    this.listenToPointer();
    this.listenToKeys();
    new ResizeObserver(() => this.drawAll()).observe(svg);
  }

  scale() {
    return this.view.width / this.svg.getBoundingClientRect().width;
  }

  draw(name) {
    const [x, y] = this.points[name];
    const ring = (RING_CSS_PX / RING_UNITS) * this.scale();
    this.groups.get(name).setAttribute("transform", `translate(${x} ${y}) scale(${ring})`);
  }

  drawAll() {
    for (const name of this.groups.keys()) this.draw(name);
  }

  activate(name) {
    if (this.active === name) return;
    if (this.active) this.groups.get(this.active).classList.remove("is-active");
    this.active = name;
    this.box.classList.toggle("has-active", Boolean(name));
    this.nudge.hidden = !name;
    const word = this.box.querySelector("[data-point-name]");
    word.textContent = name ? this.groups.get(name).getAttribute("aria-label") : "";
    if (!name) return this.loupe.hide();
    this.groups.get(name).classList.add("is-active");
    this.loupe.show(this.points[name]);
  }

  move(dx, dy) {
    const { active, points, size } = this;
    if (!active) return;
    points[active] = [points[active][0] + dx, points[active][1] + dy].map((place, axis) => {
      const held = Math.min(Math.max(place, 0), size[axis] - 1);
      return Math.round(held * 100) / 100;
    });
    this.draw(active);
    this.groups.get(active).classList.remove("is-unplaced");
    this.loupe.show(points[active]);
    this.field.value = JSON.stringify(points);
    this.sizes.ask(points);
  }

  putBack() {
    const { active, points, start } = this;
    if (active)
      this.move(start[active][0] - points[active][0], start[active][1] - points[active][1]);
  }

  step(by) {
    const names = [...this.groups.keys()];
    this.activate(names[(names.indexOf(this.active) + by + names.length) % names.length]);
  }

  // -- by mouse and finger --------------------------------------------------------------------

  place(event) {
    const rect = this.svg.getBoundingClientRect();
    const by = this.view.width / rect.width;
    const [x, y] = [event.clientX - rect.left, event.clientY - rect.top];
    return [this.view.x + x * by, this.view.y + y * by];
  }

  nearest([x, y]) {
    let best = [NEAR_CSS_PX * this.scale(), null];
    for (const [name, [px, py]] of Object.entries(this.points)) {
      const far = Math.hypot(px - x, py - y) * (name === this.active ? ACTIVE_NEARER : 1);
      if (far < best[0]) best = [far, name];
    }
    return best[1];
  }

  listenToPointer() {
    const { svg } = this;
    svg.addEventListener("pointerdown", (event) => this.taken(event));
    svg.addEventListener("pointermove", (event) => {
      if (!this.drag || this.drag.id !== event.pointerId) return;
      const at = this.place(event);
      this.move(at[0] - this.drag.at[0], at[1] - this.drag.at[1]);
      this.drag.at = at;
      this.loupe.keepClearOf(event);
    });
    for (const name of ["pointerup", "pointercancel"]) {
      svg.addEventListener(name, (event) => {
        if (this.drag?.id === event.pointerId) this.drag = null;
      });
    }
    // A finger on a point moves the point, not the page; elsewhere on the photo it scrolls.
    const hold = (event) => {
      const isOne = event.touches.length === 1;
      if (isOne && this.nearest(this.place(event.touches[0]))) event.preventDefault();
    };
    svg.addEventListener("touchstart", hold, { passive: false });
    this.nudge.addEventListener("click", ({ target }) => this.nudged(target.closest("button")));
    this.box.querySelector("[data-zoom]")?.addEventListener("click", ({ currentTarget }) => {
      this.zoom(currentTarget);
    });
  }

  taken(event) {
    const { svg } = this;
    if (svg.dataset.mode && svg.dataset.mode !== "points") return;
    const at = this.place(event);
    const name = this.nearest(at);
    if (!name) return this.activate(null);
    event.preventDefault();
    this.activate(name);
    this.groups.get(name).focus({ preventScroll: true });
    svg.setPointerCapture(event.pointerId);
    this.drag = { id: event.pointerId, at };
  }

  nudged(button) {
    if (!button) return;
    if (button.dataset.move) this.move(...button.dataset.move.split(" ").map(Number));
    else if ("nextPoint" in button.dataset) this.step(1);
    else if ("back" in button.dataset) this.putBack();
  }

  zoom(button) {
    const isClose = button.getAttribute("aria-pressed") === "true";
    button.setAttribute("aria-pressed", String(!isClose));
    const { close, whole } = this.svg.dataset;
    this.svg.setAttribute("viewBox", isClose ? close : whole);
    this.drawAll();
    this.svg.dispatchEvent(new Event("zoomed"));
  }

  // -- by keys --------------------------------------------------------------------------------

  listenToKeys() {
    for (const [name, group] of this.groups) {
      group.addEventListener("focus", () => this.activate(name));
      group.addEventListener("keydown", (event) => this.pressedOn(event));
    }
    document.addEventListener("keydown", (event) => {
      const key = commandOf(event, { own: "[data-point]" });
      if (key === "Enter") {
        event.preventDefault();
        const go = this.form.querySelector("[data-go]");
        if (!go.disabled) this.form.requestSubmit(go);
      } else if (key === "s") {
        this.box.querySelector("[data-skip]")?.click();
      }
    });
  }

  pressedOn(event) {
    const step = event.shiftKey ? FAR_STEP_PX : 1;
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const by = steps[event.key];
    if (by) {
      event.preventDefault();
      this.move(by[0] * step, by[1] * step);
    } else if (event.key === "Escape") {
      this.putBack();
    }
  }
}

const box = document.querySelector("[data-confirm]");
const svg = box?.querySelector("[data-svg]");
const form = box?.querySelector("[data-form]");
if (svg && form) new Points(box, svg, form);
