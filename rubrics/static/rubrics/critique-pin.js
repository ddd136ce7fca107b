// A pin on a photo: set by a tap, moved by arrow keys, taken away by Delete.
//
// Places are shares of the photo's width and height from its upper left corner.

const STEP = 0.02; // of the photo's side, for one press of an arrow key
const FINE = 0.004; // with Shift
const TAP_PX = 12; // a finger that strays further scrolls the page
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const SVG = "http://www.w3.org/2000/svg";

const within = (share) => Math.min(1, Math.max(0, Math.round(share * 1000) / 1000));

export class PinBoard {
  #down = null;

  // board: holds the photos; on: set(photo, x, y), removed(); current() is the pin of the box that
  // is being written, {key, number, photo, x, y}, null where no box takes one.
  constructor(board, on) {
    this.board = board;
    this.on = on;
    this.photos = [...board.querySelectorAll("[data-photo]")];
    this.shown = this.photos[0]?.dataset.photo;
    board.addEventListener("pointerdown", (event) => {
      this.#down = { x: event.clientX, y: event.clientY, id: event.pointerId };
    });
    board.addEventListener("pointercancel", () => {
      this.#down = null;
    });
    board.addEventListener("pointerup", (event) => this.#tap(event));
    board.addEventListener("keydown", (event) => this.#key(event));
  }

  show(photo) {
    this.shown = String(photo);
    for (const each of this.board.querySelectorAll("[data-photo-of]")) {
      each.classList.toggle("not-first", each.dataset.photoOf !== this.shown);
    }
  }

  draw({ key, number, photo, x, y }, { isCurrent = false } = {}) {
    for (const old of this.board.querySelectorAll(`[data-pin="${key}"]`)) old.remove();
    const svg = this.photos.find((each) => each.dataset.photo === String(photo));
    if (!svg || x === null) return;
    const { width, height } = svg.viewBox.baseVal;
    const radius = Number(svg.dataset.radius);
    const pin = document.createElementNS(SVG, "g");
    pin.setAttribute("class", isCurrent ? "pin is-current" : "pin");
    pin.dataset.pin = key;
    pin.setAttribute("transform", `translate(${x * width} ${y * height})`);
    const ring = document.createElementNS(SVG, "circle");
    ring.setAttribute("r", radius);
    const figure = document.createElementNS(SVG, "text");
    figure.setAttribute("font-size", radius * 1.25);
    figure.setAttribute("text-anchor", "middle");
    figure.setAttribute("dy", "0.36em");
    figure.textContent = number;
    pin.append(ring, figure);
    svg.append(pin);
  }

  #tap(event) {
    const down = this.#down;
    this.#down = null;
    if (!down || down.id !== event.pointerId) return;
    if (Math.hypot(event.clientX - down.x, event.clientY - down.y) > TAP_PX) return;
    const svg = this.#svg();
    if (!svg || !this.on.current()) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(
      svg.getScreenCTM().inverse(),
    );
    const { width, height } = svg.viewBox.baseVal;
    const [x, y] = [at.x / width, at.y / height];
    if (x < 0 || x > 1 || y < 0 || y > 1) return;
    this.on.set(this.shown, within(x), within(y), { byKey: false });
  }

  #key(event) {
    const pin = this.on.current();
    if (!pin || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Delete" || event.key === "Backspace") {
      event.preventDefault();
      this.on.removed();
    }
    const by = ARROWS[event.key];
    if (!by) return;
    event.preventDefault();
    const step = event.shiftKey ? FINE : STEP;
    const here = pin.x !== null && String(pin.photo) === this.shown;
    const [x, y] = here ? [pin.x + by[0] * step, pin.y + by[1] * step] : [0.5, 0.5];
    this.on.set(this.shown, within(x), within(y), { byKey: true });
  }

  #svg() {
    return this.photos.find((each) => each.dataset.photo === this.shown);
  }
}
