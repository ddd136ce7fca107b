// What plain rules tell of a remark: the same as `rubrics/critique/wording.py`, on the same lists.

const WORD = /\p{L}+(?:['’]\p{L}+)*/gu;

export class Rules {
  constructor({ most, places, reasons }) {
    this.most = most;
    this.places = new Set(places);
    this.reasons = new Set(reasons);
  }

  read(text, { pointed = false } = {}) {
    const known = text.toLowerCase().match(WORD) ?? [];
    return {
      words: text.trim() ? text.trim().split(/\s+/u).length : 0,
      namesPlace: pointed || known.some((word) => this.places.has(word)),
      givesReason: known.some(
        (word, at) => this.reasons.has(word) || this.reasons.has(`${word} ${known[at + 1]}`),
      ),
    };
  }
}
