/* The seam on a photo: [data-seam-box] turns clicks into a line and drags along it into marked
   parts. What it measures comes from the site; nothing is kept before "Keep the seam". */

import { partOf, shareAt } from "./seam-line.js";
import { send, TROUBLE } from "./send.js";

const SVG = "http://www.w3.org/2000/svg";
const PAUSE_MS = 150; // the site is asked once the hand rests
const LEAST_SHARE = 0.002; // a shorter drag was a click
const CORNER_CSS_PX = 4;
const FAR_STEP_PX = 10; // with Shift an arrow moves a corner by so much

class SeamTool {
  constructor(box, panel) {
    this.box = box;
    this.panel = panel;
    this.svg = box.querySelector("[data-svg]");
    this.layer = this.svg.querySelector("[data-seam-layer]");
    this.view = this.svg.viewBox.baseVal;
    this.said = panel.querySelector("[data-seam-said]");
    this.list = panel.querySelector("[data-seam-parts]");
    const kept = JSON.parse(document.getElementById("seam-kept").textContent);
    this.line = kept.line ?? [];
    this.parts = kept.parts ?? [];
    this.drag = null;
    this.timer = 0;
    this.asked = 0;
    this.listen();
    this.setMode(this.hasPoints() || !panel.open ? "points" : "line");
    if (this.line.length) this.changed();
    new ResizeObserver(() => this.draw()).observe(this.svg);
  }

  listen() {
    this.panel.addEventListener("click", (event) => this.clicked(event));
    this.panel.addEventListener("toggle", () => {
      this.setMode(this.panel.open && !this.hasPoints() ? "line" : "points");
    });
    this.svg.addEventListener("pointerdown", (event) => this.pointed(event));
    this.svg.addEventListener("pointermove", (event) => {
      if (!this.drag) return;
      this.drag.to = shareAt(this.line, this.place(event));
      this.draw();
    });
    this.svg.addEventListener("pointerup", () => this.dropped());
    this.svg.addEventListener("zoomed", () => this.draw());
    /* With the keyboard alone: Insert sets a corner above the last, arrows move the last one. */
    for (const one of [this.svg, this.panel]) {
      one.addEventListener("keydown", (event) => this.pressed(event));
    }
  }

  button(name) {
    return this.panel.querySelector(`[data-seam-${name}]`);
  }

  hasPoints() {
    return Boolean(this.svg.querySelector("[data-point]"));
  }

  setMode(name) {
    this.mode = name;
    this.svg.dataset.mode = name;
    for (const one of this.panel.querySelectorAll("[data-mode]")) {
      one.setAttribute("aria-pressed", String(one.dataset.mode === name));
    }
  }

  place(event) {
    const rect = this.svg.getBoundingClientRect();
    const by = this.view.width / rect.width;
    const [x, y] = [event.clientX - rect.left, event.clientY - rect.top];
    return [this.view.x + x * by, this.view.y + y * by].map((c) => Math.round(c * 100) / 100);
  }

  // -- drawing and marking --------------------------------------------------------------------

  clicked({ target }) {
    const mode = target.closest("[data-mode]");
    if (mode) return this.setMode(mode.dataset.mode);
    const typed = target.closest("[data-seam-add]");
    if (typed) return this.addTyped(typed.dataset.seamAdd);
    const gone = target.closest("[data-remove]");
    if (gone) this.parts.splice(Number(gone.dataset.remove), 1);
    else if (target.closest("[data-seam-undo]")) this.takeBack();
    else if (target.closest("[data-seam-clear]")) this.line.length = this.parts.length = 0;
    else if (target.closest("[data-seam-keep]")) return this.ask(true);
    else return;
    this.changed();
  }

  pointed(event) {
    if (this.mode === "points") return;
    event.preventDefault();
    if (this.mode === "line") {
      this.line.push(this.place(event));
      this.changed();
    } else if (this.line.length > 1) {
      this.svg.setPointerCapture(event.pointerId);
      const share = shareAt(this.line, this.place(event));
      this.drag = { from: share, to: share };
    } else {
      this.said.textContent = "Draw the seam first.";
    }
  }

  dragged() {
    const { from, to } = this.drag;
    return [Math.min(from, to), Math.max(from, to), this.mode];
  }

  dropped() {
    if (!this.drag) return;
    const part = this.dragged();
    this.drag = null;
    if (part[1] - part[0] > LEAST_SHARE) this.parts.push(part);
    this.changed();
  }

  addTyped(kind) {
    const read = (id) => Number(this.panel.querySelector(id).value.replace(",", ".")) / 100;
    const [from, to] = [read("#seam-from"), read("#seam-to")];
    if (!(from >= 0 && to <= 1 && from < to)) {
      this.said.textContent =
        "Write where it begins and ends, in per cent of the seam from the foot up: 0 to 100.";
      return;
    }
    this.parts.push([from, to, kind]);
    this.changed();
  }

  takeBack() {
    if (this.mode === "line" || !this.parts.length) this.line.pop();
    else this.parts.pop();
  }

  pressed(event) {
    if (this.mode !== "line" || event.target.matches("input")) return;
    const { line, view } = this;
    const step = event.shiftKey ? FAR_STEP_PX : 1;
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const by = steps[event.key];
    if (event.key === "Insert" || event.key === "+") {
      const [x, y] = line.at(-1) ?? [view.x + view.width / 2, view.y + view.height * 0.75];
      line.push([x, Math.max(0, y - view.height / 12)]);
    } else if (by && line.length) {
      const [x, y] = line.at(-1);
      line[line.length - 1] = [x + by[0] * step, y + by[1] * step];
    } else {
      return;
    }
    event.preventDefault();
    this.changed();
  }

  draw() {
    this.layer.replaceChildren();
    const { line } = this;
    if (line.length) {
      this.add("polyline", { class: "seam-ground", points: asText(line) });
      this.add("polyline", { class: "seam-line", points: asText(line) });
    }
    const marks = this.drag ? [...this.parts, this.dragged()] : this.parts;
    for (const [from, to, kind] of line.length > 1 ? marks : []) {
      const points = to > from ? asText(partOf(line, from, to)) : "";
      if (points) this.add("polyline", { class: `seam-part ${kind}`, points });
    }
    const r = (CORNER_CSS_PX * this.view.width) / this.svg.getBoundingClientRect().width;
    for (const [cx, cy] of line) this.add("circle", { class: "seam-corner", cx, cy, r });
  }

  add(name, attributes) {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    this.layer.append(element);
  }

  // -- what it measures -----------------------------------------------------------------------

  changed() {
    this.draw();
    this.button("keep").disabled = this.line.length < 2;
    this.button("undo").disabled = this.button("clear").disabled = !this.line.length;
    clearTimeout(this.timer);
    this.asked += 1; // an answer that is still under way tells of another drawing
    if (this.line.length) {
      this.timer = setTimeout(() => this.ask(false), PAUSE_MS);
      return;
    }
    this.said.textContent = "";
    this.list.replaceChildren();
  }

  async ask(keep) {
    if (this.line.length < 2) return;
    clearTimeout(this.timer);
    this.asked += 1;
    const mine = this.asked;
    const { line, parts } = this;
    const { answer, trouble } = await send(this.box.dataset.seam, { line, parts, keep });
    if (mine !== this.asked) return;
    if (trouble) {
      const kept = "The drawing is still here.";
      this.said.textContent = `${TROUBLE[trouble]} ${kept}`;
      return;
    }
    const problem = answer.problem || answer.sentence;
    this.said.textContent = problem || (answer.kept ? `Kept. ${answer.said}` : answer.said);
    if (!problem) this.tell(answer.parts);
  }

  tell(told) {
    // Overlapping marks come back as one: they are shown as they count.
    this.parts = told.map((one) => [one.from, one.to, one.kind]);
    this.list.replaceChildren(...told.map(partRow));
    this.draw();
  }
}

const asText = (corners) => corners.map((place) => place.join(",")).join(" ");

function partRow(part, place) {
  const row = document.createElement("li");
  const gone = document.createElement("button");
  gone.type = "button";
  gone.className = "button small quiet";
  gone.dataset.remove = place;
  gone.textContent = "Take away";
  row.append(`${part.text} `, gone);
  return row;
}

const box = document.querySelector("[data-confirm]");
const panel = box?.querySelector("[data-seam-box]");
if (panel) new SeamTool(box, panel);
