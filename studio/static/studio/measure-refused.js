// What the site could not take stays in its cell, with its question, also when the page is loaded
// again: kept in the browser's store under the sheet's own name.

export class Refused {
  #kept = new Map(); // key -> {value, where, base, sentence}

  constructor(store) {
    this.store = `${store}:refused`;
    try {
      const kept = JSON.parse(localStorage.getItem(this.store) ?? "{}");
      for (const [key, one] of Object.entries(kept)) if (one?.sentence) this.#kept.set(key, one);
    } catch {
      // Without a store it lasts as long as the page.
    }
  }

  entries() {
    return [...this.#kept.entries()];
  }

  // base is the reading that the cell rested on: where another stands there now, it is newer.
  keep(key, { value, where, base }, sentence) {
    this.#kept.set(key, { value, where, base: String(base), sentence });
    this.#write();
  }

  drop(key) {
    if (this.#kept.delete(key)) this.#write();
  }

  #write() {
    try {
      if (this.#kept.size)
        localStorage.setItem(this.store, JSON.stringify(Object.fromEntries(this.#kept)));
      else localStorage.removeItem(this.store);
    } catch {
      // Without a store it lasts as long as the page.
    }
  }
}
