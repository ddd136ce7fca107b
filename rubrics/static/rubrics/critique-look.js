// Reading a piece: [data-look] is the form with its five boxes and the photos.
//
// One box at a time; a tap on the photo points for that box. Every box is kept as it is written.

import { SaveQueue } from "../studio/save-queue.js";
import { TROUBLE } from "../studio/send.js";
import { PinBoard } from "./critique-pin.js";
import { Rules } from "./critique-rules.js";

const PAUSE_MS = 700; // after the last letter, before a box is kept
const ELLIPSIS = "…";

class Box {
  constructor(node, number) {
    this.node = node;
    this.key = node.dataset.box;
    this.number = number;
    this.isOpen = !("sent" in node.dataset);
    if (!this.isOpen) return;
    const find = (what) => node.querySelector(`[data-${what}]`);
    this.text = find("text");
    this.place = find("place");
    this.version = find("version");
    this.fields = { photo: find("pin-photo"), x: find("pin-x"), y: find("pin-y") };
    this.ask = find("ask");
    this.timer = 0;
  }

  get pin() {
    const { photo, x, y } = this.fields;
    const share = (field) => (field.value === "" ? null : Number(field.value));
    return { key: this.key, number: this.number, photo: photo.value, x: share(x), y: share(y) };
  }

  set pin({ photo, x, y }) {
    this.fields.photo.value = photo ?? "";
    this.fields.x.value = x ?? "";
    this.fields.y.value = y ?? "";
  }

  // What goes to the site.
  get values() {
    const { photo, x, y } = this.fields;
    return {
      box: this.key,
      text: this.text.value,
      place: this.place.value,
      photo: photo.value,
      x: x.value,
      y: y.value,
      version: this.version.value,
    };
  }

  fill({ text, place, photo, x, y }) {
    this.text.value = text;
    this.place.value = place;
    this.pin = { photo, x, y };
  }
}

class LookPage {
  constructor(form) {
    this.form = form;
    this.rules = new Rules(JSON.parse(form.dataset.rules));
    this.status = form.querySelector("[data-status]");
    const nodes = [...form.querySelectorAll("[data-box]")];
    this.boxes = nodes.map((node, place) => new Box(node, place + 1));
    this.open = this.boxes.filter((box) => box.isOpen);
    const board = form.querySelector("[data-board]");
    this.board = board && new PinBoard(board, this);
    this.queue = new SaveQueue({
      store: form.dataset.store,
      base: { field: "version", of: (answer) => String(answer.version) },
      on: {
        saved: (key, entry, answer) => this.saved(key, answer),
        disputed: (key, entry, answer) => this.ask(key, answer),
        refused: (key, entry, sentence) => this.tell(sentence),
        waits: (keys, trouble) => {
          if (trouble) this.tell(`${TROUBLE[trouble]} Your words are kept here and sent later.`);
        },
      },
    });
    // What an earlier visit could not send stands in the boxes again.
    for (const [key, entry] of this.queue.left()) this.box(key)?.fill(entry.fields);
    for (const box of this.boxes) this.listen(box);
    this.steps();
    const empty = this.open.find((box) => !box.text.value.trim());
    this.go(empty ?? this.open[0] ?? this.boxes[0], { focus: false });
    this.queue.sendNow();
  }

  box(key) {
    const found = this.boxes.find((each) => each.key === key);
    return found?.isOpen ? found : undefined;
  }

  tell(words) {
    if (this.status) this.status.textContent = words;
  }

  // ---- the boxes ------------------------------------------------------------------------------

  listen(box) {
    if (!box.isOpen) return;
    box.text.addEventListener("input", () => {
      this.say(box);
      clearTimeout(box.timer);
      box.timer = setTimeout(() => this.keep(box), PAUSE_MS);
    });
    box.text.addEventListener("change", () => this.keep(box));
    box.place.addEventListener("change", () => {
      if (box.place.value) this.removed(box);
      this.say(box);
      this.keep(box);
    });
    box.node.addEventListener("click", ({ target }) => {
      const button = target.closest("[data-starter]");
      if (button) this.begin(box, button.dataset.starter);
    });
  }

  // A starter goes in after what stands; its first gap is marked, to be typed over.
  begin(box, starter) {
    const before = box.text.value.trimEnd();
    const start = before ? before.length + 1 : 0;
    box.text.value = before ? `${before} ${starter}` : starter;
    const gap = starter.startsWith("You wrote")
      ? starter.lastIndexOf(ELLIPSIS)
      : starter.indexOf(ELLIPSIS);
    box.text.focus();
    if (gap >= 0) box.text.setSelectionRange(start + gap, start + gap + 1);
    this.say(box);
    this.keep(box);
  }

  say(box) {
    const pointed = Boolean(box.place.value) || box.pin.x !== null;
    const said = this.rules.read(box.text.value, { pointed });
    const count = box.node.querySelector("[data-count]");
    count.textContent = `${said.words} of ${this.rules.most} words`;
    count.classList.toggle("too-long", said.words > this.rules.most);
    box.node.querySelector("[data-names-place]").dataset.on = said.namesPlace ? "yes" : "no";
    box.node.querySelector("[data-gives-reason]").dataset.on = said.givesReason ? "yes" : "no";
    const step = this.form.querySelector(`[data-step="${box.key}"]`);
    step.classList.toggle("has-words", said.words > 0);
  }

  keep(box) {
    clearTimeout(box.timer);
    const values = box.values;
    const last = JSON.stringify({ ...values, version: "" });
    if (last === box.last) return;
    box.last = last;
    this.tell("Keeping…");
    this.queue.put(box.key, { url: this.form.dataset.save, fields: values });
  }

  saved(key, { version }) {
    const box = this.box(key);
    if (box) box.version.value = version;
    if (!this.queue.size) this.tell("Kept. Nobody reads it until you send it.");
  }

  // ---- where another window wrote something else ----------------------------------------------

  ask(key, theirs) {
    const box = this.box(key);
    if (!box) return this.queue.theirs(key);
    this.go(box, { focus: false });
    const words = document.createElement("p");
    words.textContent = theirs.text
      ? `Another window wrote here: “${theirs.text}”`
      : "Another window emptied this box.";
    const mine = this.choice("Keep what stands above", () => {
      this.queue.mine(key);
      box.version.value = theirs.version;
    });
    const other = this.choice("Take the other", () => {
      this.queue.theirs(key);
      box.fill(theirs);
      box.version.value = theirs.version;
      this.draw();
      this.say(box);
      this.tell("Taken from the other window.");
    });
    box.ask.replaceChildren(words, mine, other);
    box.ask.hidden = false;
    this.tell("Two windows differ; choose which words stand.");
  }

  choice(label, act) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button small quiet";
    button.textContent = label;
    button.addEventListener("click", () => {
      button.closest("[data-ask]").hidden = true;
      act();
    });
    return button;
  }

  // ---- from box to box ------------------------------------------------------------------------

  steps() {
    for (const button of this.form.querySelectorAll("[data-step]")) {
      const box = this.boxes.find((each) => each.key === button.dataset.step);
      button.addEventListener("click", () => this.go(box, { focus: true }));
      if (box.isOpen) this.say(box);
      else button.classList.add("has-words");
    }
    this.form.querySelector("[data-next]")?.addEventListener("click", () => {
      const at = this.boxes.indexOf(this.now);
      this.go(this.boxes[at + 1] ?? this.now, { focus: true });
    });
    for (const button of this.form.querySelectorAll("[data-show-photo]")) {
      button.addEventListener("click", () => this.showPhoto(button.dataset.showPhoto));
    }
    this.form.addEventListener("submit", (event) => this.send(event));
    addEventListener("pagehide", () => this.keepAll());
    document.addEventListener("visibilitychange", () => this.keepAll());
  }

  keepAll() {
    for (const box of this.open) if (box.timer) this.keep(box);
  }

  go(box, { focus }) {
    this.now = box;
    for (const each of this.boxes) each.node.classList.toggle("is-now", each === box);
    for (const button of this.form.querySelectorAll("[data-step]")) {
      if (button.dataset.step === box.key) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    }
    const next = this.form.querySelector("[data-next]");
    if (next) next.hidden = this.boxes.indexOf(box) === this.boxes.length - 1;
    if (box.isOpen && box.pin.photo) this.showPhoto(box.pin.photo);
    this.draw();
    if (focus && box.isOpen) box.text.focus({ preventScroll: true });
  }

  showPhoto(photo) {
    this.board?.show(photo);
    for (const button of this.form.querySelectorAll("[data-show-photo]")) {
      button.setAttribute("aria-pressed", String(button.dataset.showPhoto === String(photo)));
    }
  }

  // ---- the pin of the box that is being written -----------------------------------------------

  current() {
    return this.now?.isOpen ? this.now.pin : null;
  }

  set(photo, x, y, { byKey }) {
    const box = this.now;
    box.pin = { photo, x, y };
    box.place.value = "";
    this.draw();
    this.say(box);
    this.keep(box);
    this.tell(
      `Pin ${box.number} set: ${Math.round(x * 100)} across, ${Math.round(y * 100)} down, of 100.`,
    );
    // The words go with it; a key that moves the pin stays with the photo.
    if (byKey) return;
    box.text.focus({ preventScroll: true });
    const below = box.text.getBoundingClientRect().bottom > innerHeight;
    if (below) this.form.querySelector(".look-photos").scrollIntoView({ block: "start" });
  }

  removed(box = this.now) {
    if (!box?.isOpen) return;
    box.pin = {};
    this.draw();
    this.say(box);
    this.keep(box);
  }

  draw() {
    for (const box of this.open) this.board?.draw(box.pin, { isCurrent: box === this.now });
  }

  async send(event) {
    if (this.isSettled || event.submitter?.dataset.send === undefined) return;
    event.preventDefault();
    for (const box of this.open) this.keep(box);
    this.tell("Keeping, then sending…");
    if (!(await this.queue.settled())) return;
    this.isSettled = true;
    this.form.requestSubmit(event.submitter);
  }
}

const form = document.querySelector("[data-look]");
if (form) new LookPage(form);
