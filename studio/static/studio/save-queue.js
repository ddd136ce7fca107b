// Values on their way to the site: kept until an answer comes, sent one after the other.
//
// Each value has a key (a cell, a mark) and rests on a base: what the page showed when it was
// given. The site refuses a value whose base is not what is stored; then both stand until a person
// chooses, here by `mine` or `theirs`. What is on its way is kept in the browser's store as well,
// so that a closed page loses nothing.

import { send, TROUBLE } from "./send.js";

const FIRST_PAUSE_MS = 2000;
const LONGEST_PAUSE_MS = 30000;
const unsaved = new Map(); // queue -> how many of its values have no answer yet

export class SaveQueue {
  #waiting = new Map(); // key -> {url, fields}
  #going = null; // {key, entry}: sent, and not answered yet; sent again before anything newer
  #disputed = new Map(); // key -> {entry, answer}: the site holds another answer
  #idle = []; // who waits until everything is saved
  #busy = false;
  #turn = Promise.resolve();
  #pause = FIRST_PAUSE_MS;
  #timer = null;
  #canKeep = true;

  // on: saved(key, entry, answer, isNewerWaiting), disputed(key, entry, answer),
  // refused(key, entry, sentence), waits(keys, trouble) with trouble "" when all went out.
  // base: the name of the field that holds it, and how to read the next one from an answer.
  // asksToLeave: whether a page with unsaved values asks before it is left.
  constructor({ store, base, on, asksToLeave = false }) {
    Object.assign(this, { store, base, on });
    for (const [key, entry] of this.#read()) this.#waiting.set(key, entry);
    this.#tellCount();
    addEventListener("online", () => this.sendNow());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") this.sendNow();
    });
    addEventListener("beforeunload", (event) => {
      if (this.size && (asksToLeave || !this.#canKeep)) event.preventDefault();
    });
  }

  get size() {
    return this.#waiting.size + (this.#going ? 1 : 0);
  }

  keys() {
    return [...new Set([...(this.#going ? [this.#going.key] : []), ...this.#waiting.keys()])];
  }

  // Entries as [key, {url, fields}]: what an earlier visit could not send any more.
  left() {
    return [...this.#waiting.entries()];
  }

  // The value of a key that was not sent yet, or that is in dispute; else undefined.
  unsent(key) {
    return this.#waiting.get(key) ?? this.#disputed.get(key)?.entry;
  }

  has(key) {
    return this.#waiting.has(key) || this.#going?.key === key;
  }

  put(key, entry) {
    const dispute = this.#disputed.get(key);
    if (dispute) {
      dispute.entry = entry;
      this.#keep();
      this.on.disputed(key, entry, dispute.answer);
      return;
    }
    this.#waiting.delete(key);
    this.#waiting.set(key, entry);
    this.#keep();
    this.#run();
  }

  mine(key) {
    const { entry, answer } = this.#disputed.get(key);
    this.#disputed.delete(key);
    entry.fields[this.base.field] = this.base.of(answer);
    this.put(key, entry);
  }

  theirs(key) {
    this.#disputed.delete(key);
    this.#keep();
  }

  sendNow() {
    this.#pause = FIRST_PAUSE_MS;
    this.#run();
  }

  // Whether all is saved, as soon as it is; false when a person has to look first.
  settled() {
    if (this.#disputed.size) return Promise.resolve(false);
    return this.size ? new Promise((tell) => this.#idle.push(tell)) : Promise.resolve(true);
  }

  // Something that acts on many values goes out when each of them is saved.
  async alone(url, fields) {
    if (!(await this.settled())) {
      return { problem: "Something is not saved yet; settle that first." };
    }
    const { answer, trouble } = await this.#inTurn(() => send(url, new URLSearchParams(fields)));
    if (trouble) return { problem: TROUBLE[trouble] };
    return answer.state === "problem" ? { problem: answer.sentence } : { answer };
  }

  #inTurn(work) {
    const done = this.#turn.then(work);
    this.#turn = done.catch(() => {});
    return done;
  }

  async #run() {
    if (this.#busy) return;
    this.#busy = true;
    clearTimeout(this.#timer);
    let trouble = "";
    while (this.size && !trouble) trouble = await this.#inTurn(() => this.#sendOne());
    this.#busy = false;
    this.on.waits(this.keys(), trouble);
    if (trouble) {
      this.#timer = setTimeout(() => this.#run(), this.#pause);
      this.#pause = Math.min(2 * this.#pause, LONGEST_PAUSE_MS);
    }
    this.#tellIdle(!trouble && !this.#disputed.size);
  }

  async #sendOne() {
    if (!this.#going) {
      const [key, entry] = this.#waiting.entries().next().value;
      this.#waiting.delete(key);
      this.#going = { key, entry };
    }
    const { key, entry } = this.#going;
    const { answer, trouble } = await send(entry.url, new URLSearchParams(entry.fields));
    if (trouble) return trouble;
    this.#pause = FIRST_PAUSE_MS;
    this.#going = null;
    this.#take(key, entry, answer);
    this.#keep();
    return "";
  }

  #take(key, entry, answer) {
    const newer = this.#waiting.get(key);
    if (answer.state === "conflict") {
      this.#waiting.delete(key);
      const both = { ...entry, fields: { ...entry.fields, ...newer?.fields } };
      this.#disputed.set(key, { entry: both, answer });
      this.#tellIdle(false);
      this.on.disputed(key, both, answer);
    } else if (answer.state === "problem") {
      this.#tellIdle(false);
      this.on.refused(key, entry, answer.sentence);
    } else {
      // A newer value for the same key keeps its place; only the base it rests on moves on.
      if (newer) newer.fields[this.base.field] = this.base.of(answer);
      this.on.saved(key, entry, answer, Boolean(newer));
    }
  }

  // The page itself says how many of its values are not stored yet: html[data-unsaved].
  #tellCount() {
    unsaved.set(this, this.size);
    const count = [...unsaved.values()].reduce((sum, size) => sum + size, 0);
    if (count) document.documentElement.dataset.unsaved = count;
    else delete document.documentElement.dataset.unsaved;
  }

  #tellIdle(isClean) {
    if (isClean && this.size) return;
    for (const tell of this.#idle.splice(0)) tell(isClean);
  }

  #read() {
    try {
      const kept = Object.entries(JSON.parse(localStorage.getItem(this.store) ?? "{}"));
      return kept.filter(([, entry]) => entry?.url && entry.fields);
    } catch {
      return [];
    }
  }

  #keep() {
    this.#tellCount();
    const kept = Object.fromEntries(this.#waiting);
    for (const [key, { entry }] of this.#disputed) kept[key] = entry;
    if (this.#going) kept[this.#going.key] ??= this.#going.entry;
    try {
      if (Object.keys(kept).length) localStorage.setItem(this.store, JSON.stringify(kept));
      else localStorage.removeItem(this.store);
      this.#canKeep = true;
    } catch {
      this.#canKeep = false;
    }
  }
}
