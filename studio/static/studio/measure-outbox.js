// Values on their way to the server: kept until an answer comes, sent one after the other.

const FIRST_PAUSE_MS = 2000;
const LONGEST_PAUSE_MS = 60000;
const PATIENCE_MS = 15000;

export class Outbox {
  #waiting = new Map();
  #sending = false;
  #pause = FIRST_PAUSE_MS;
  #timer = null;

  constructor(address, storageKey, { landed, waiting }) {
    this.address = address;
    this.storageKey = storageKey;
    this.landed = landed;
    this.waiting = waiting;
    this.canKeep = true;
    for (const [key, value] of this.#read()) this.#waiting.set(key, value);
    addEventListener("online", () => this.#now());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.#now());
    addEventListener("beforeunload", (event) => {
      if (this.#waiting.size && !this.canKeep) event.preventDefault();
    });
  }

  put(key, value) {
    this.#waiting.delete(key);
    this.#waiting.set(key, value);
    this.#keep();
    this.send();
  }

  has(key) {
    return this.#waiting.has(key);
  }

  forget(key) {
    this.#waiting.delete(key);
    this.#keep();
  }

  keys() {
    return [...this.#waiting.keys()];
  }

  left() {
    return [...this.#waiting.entries()];
  }

  #now() {
    this.#pause = FIRST_PAUSE_MS;
    this.send();
  }

  async send() {
    if (this.#sending) return;
    this.#sending = true;
    clearTimeout(this.#timer);
    let why = "";
    while (this.#waiting.size && !why) {
      const [key, value] = this.#waiting.entries().next().value;
      const { answer, trouble } = await this.#post(value);
      why = trouble;
      if (why) break;
      this.#pause = FIRST_PAUSE_MS;
      // A newer value for the same cell keeps its place; only the base it rests on moves on.
      if (this.#waiting.get(key) === value) this.#waiting.delete(key);
      else if (answer.state === "saved" || answer.state === "taken back")
        this.#waiting.set(key, { ...this.#waiting.get(key), base: answer.reading_id ?? "" });
      this.#keep();
      this.landed(key, value, answer);
    }
    this.#sending = false;
    this.waiting(this.#waiting.size, why);
    if (why) {
      this.#timer = setTimeout(() => this.send(), this.#pause);
      this.#pause = Math.min(2 * this.#pause, LONGEST_PAUSE_MS);
    }
  }

  async #post(value) {
    let response;
    try {
      response = await fetch(this.address, {
        method: "POST",
        body: new URLSearchParams(value),
        headers: { "X-CSRFToken": token(), Accept: "application/json" },
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
    } catch {
      return { trouble: "connection" };
    }
    const isAnswer = response.headers.get("Content-Type")?.startsWith("application/json");
    if (isAnswer) return { answer: await response.json(), trouble: "" };
    if (response.redirected || response.status === 403) return { trouble: "signed out" };
    if (response.status === 404) {
      const sentence = "This piece is not here any more; what you typed stays in the cell.";
      return { answer: { state: "problem", sentence }, trouble: "" };
    }
    return { trouble: "refused" };
  }

  #read() {
    try {
      return Object.entries(JSON.parse(localStorage.getItem(this.storageKey) ?? "{}"));
    } catch {
      return [];
    }
  }

  #keep() {
    try {
      if (this.#waiting.size) localStorage.setItem(this.storageKey, JSON.stringify(Object.fromEntries(this.#waiting)));
      else localStorage.removeItem(this.storageKey);
      this.canKeep = true;
    } catch {
      this.canKeep = false;
    }
  }
}

// After signing in again in another tab the cookie is newer than this page's own token.
function token() {
  const cookie = document.cookie.split("; ").find((part) => part.startsWith("csrftoken="));
  return cookie ? cookie.slice("csrftoken=".length) : document.querySelector('meta[name="csrf-token"]').content;
}
