// The critique day on a large screen: [data-day] counts down the turns of one piece.
//
// What is left of a turn is kept in the browser, so that a reload loses no time.

import { commandOf } from "../studio/keys-free.js";

const TICK_MS = 250;

class Day {
  constructor(page) {
    this.page = page;
    this.turns = [...page.querySelectorAll("[data-turn]")];
    this.lengths = this.turns.map((turn) => Number(turn.dataset.turn));
    this.status = page.querySelector("[data-status]");
    this.button = page.querySelector("[data-run]");
    this.state = this.read() ?? { turn: 0, left: this.lengths[0] * 1000, until: null };
    page.querySelector("[data-run]").addEventListener("click", () => this.toggle());
    page.querySelector("[data-next-turn]").addEventListener("click", () => this.next());
    page.querySelector("[data-again]").addEventListener("click", () => this.begin(0));
    document.addEventListener("keydown", (event) => this.key(event));
    setInterval(() => this.show(), TICK_MS);
    this.show();
  }

  get left() {
    const { until, left } = this.state;
    return until === null ? left : Math.max(0, until - Date.now());
  }

  key(event) {
    const command = commandOf(event);
    const link = { ArrowLeft: "[data-before]", ArrowRight: "[data-after]" }[command];
    if (command === " ") this.toggle();
    else if (command === "n") this.next();
    else if (link) this.page.querySelector(link)?.click();
    else return;
    event.preventDefault();
  }

  toggle() {
    const left = this.left;
    if (this.state.until !== null) this.put({ left, until: null });
    else if (left > 0) this.put({ left, until: Date.now() + left });
    else this.next();
  }

  next() {
    if (this.state.turn + 1 < this.turns.length) this.begin(this.state.turn + 1, { runs: true });
    else this.put({ left: 0, until: null });
  }

  begin(turn, { runs = false } = {}) {
    const left = this.lengths[turn] * 1000;
    this.put({ turn, left, until: runs ? Date.now() + left : null });
    this.status.textContent = this.turns[turn].querySelector("strong").textContent;
  }

  put(change) {
    Object.assign(this.state, change);
    try {
      localStorage.setItem(this.page.dataset.store, JSON.stringify(this.state));
    } catch {
      // Without a store a reload starts the turn anew.
    }
    this.show();
  }

  read() {
    try {
      const kept = JSON.parse(localStorage.getItem(this.page.dataset.store));
      return kept && kept.turn < this.turns.length ? kept : null;
    } catch {
      return null;
    }
  }

  show() {
    const left = this.left;
    const runs = this.state.until !== null && left > 0;
    if (this.state.until !== null && left === 0) {
      this.state.until = null;
      this.state.left = 0;
      this.status.textContent = "Time. Next turn when you are ready.";
    }
    this.turns.forEach((turn, place) => {
      const isNow = place === this.state.turn;
      turn.classList.toggle("is-now", isNow);
      turn.classList.toggle("is-over", place < this.state.turn || (isNow && left === 0));
      const seconds = Math.ceil((isNow ? left : this.lengths[place] * 1000) / 1000);
      const shown = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
      turn.querySelector("[data-time]").textContent = place < this.state.turn ? "done" : shown;
    });
    const next = left > 0 ? "Start" : "Next turn";
    this.button.textContent = runs ? "Stop" : next;
  }
}

const page = document.querySelector("[data-day]");
if (page) new Day(page);
