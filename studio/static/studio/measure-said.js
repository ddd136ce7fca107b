// Questions and problems under a row of the measuring sheet, each with its answers by key.

export class Said {
  #open = new Map();

  // changed: called when a question came or went.
  constructor(form, answered, changed) {
    this.form = form;
    this.answered = answered;
    this.changed = changed;
  }

  // Keys of what is open, down the sheet; what was taken back is an offer and no question.
  questions() {
    const open = [...this.#open].filter(([, { about }]) => about.kind !== "undo");
    const places = new Map(open.map(([key]) => [key, this.#cell(key)]));
    const isBefore = Node.DOCUMENT_POSITION_FOLLOWING;
    return [...places.keys()].sort((one, other) =>
      places.get(one).compareDocumentPosition(places.get(other)) & isBefore ? -1 : 1,
    );
  }

  // To the question after a cell's own, and from the last to the first. Tells whether there is one.
  next(key) {
    const open = this.questions();
    const cell = key && this.#cell(key);
    const isBehind = (other) =>
      cell.compareDocumentPosition(this.#cell(other)) & Node.DOCUMENT_POSITION_FOLLOWING;
    const wanted = (cell && open.find(isBehind)) ?? open[0];
    if (!wanted) return false;
    this.#goTo(wanted);
    return true;
  }

  #goTo(key) {
    const cell = this.#cell(key);
    cell.focus();
    this.#open.get(key).item.scrollIntoView({ block: "nearest" });
    cell.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  // Questions that came with the page get their keys.
  adopt() {
    for (const item of this.form.querySelectorAll("[data-say-cell]")) {
      const key = `${item.closest("[data-say]").dataset.say}.${item.dataset.sayCell}`;
      const stands = item.querySelector('[data-answer="no"]');
      const suggestion = item.dataset.suggestion;
      const words = item.querySelector(".said").textContent;
      item.remove();
      const answers = stands ? slipAnswers(suggestion) : {};
      this.#show(key, words, answers, { kind: "slip", suggestion });
    }
    this.#tidy();
  }

  tell(key, words, answers, about = {}) {
    const cell = this.#cell(key);
    const label = cell?.getAttribute("aria-label").split(", ").slice(1).join(", ");
    this.hush(key);
    this.#show(key, label ? `${label}: ${words}` : words, answers, about);
  }

  hush(key) {
    this.#open.get(key)?.item.remove();
    this.#open.delete(key);
    this.#cell(key)?.removeAttribute("aria-describedby");
    this.#tidy();
  }

  // The cell's own question answers to the keys, else the one asked last. One that nobody sees is
  // gone to and not answered.
  press(key, word) {
    const asked = this.#open.get(key)?.answers[word] ? key : this.#last(word);
    if (!asked) return false;
    if (!isSeen(this.#open.get(asked).item)) {
      this.#goTo(asked);
      return true;
    }
    this.answered(asked, word, this.#open.get(asked).about);
    return true;
  }

  point(key) {
    const asked = this.#open.has(key) ? key : (this.#last("no") ?? this.#last("yes"));
    if (asked === key) this.#open.get(key).item.scrollIntoView({ block: "nearest" });
    for (const [other, { item }] of this.#open) item.classList.toggle("now", other === asked);
  }

  #last(word) {
    return [...this.#open.keys()].reverse().find((key) => this.#open.get(key).answers[word]);
  }

  #cell(key) {
    const at = key.indexOf(".");
    const row = this.form.querySelector(`tr[data-piece="${key.slice(0, at)}"]`);
    return row?.querySelector(`input[data-cell="${CSS.escape(key.slice(at + 1))}"]`);
  }

  #show(key, words, answers, about) {
    const cell = this.#cell(key);
    if (!cell) return;
    const item = document.createElement("li");
    item.id = `say-${key.replace(".", "-")}`;
    const said = document.createElement("span");
    said.className = "said";
    said.textContent = words;
    item.append(said);
    for (const [word, label] of Object.entries(answers)) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "button quiet small";
      const cap = document.createElement("kbd");
      cap.textContent = word === "yes" ? "Y" : "N";
      button.append(cap, ` ${label}`);
      button.addEventListener("click", () => {
        this.answered(key, word, about);
        cell.focus();
      });
      item.append(button);
    }
    this.#list(cell).append(item);
    cell.setAttribute("aria-describedby", item.id);
    this.#open.set(key, { item, answers, about });
    for (const [other, { item: each }] of this.#open) each.classList.toggle("now", other === key);
    this.changed();
  }

  #list(cell) {
    const row = cell.closest("tr");
    const piece = row.dataset.piece;
    let say = this.form.querySelector(`tr[data-say="${piece}"]`);
    if (!say) {
      say = document.createElement("tr");
      say.className = "say";
      say.dataset.say = piece;
      const content = document.createElement("td");
      content.colSpan = row.cells.length - 1;
      const list = document.createElement("ul");
      const told = document.createElement("div");
      told.setAttribute("role", "status");
      told.append(list);
      content.append(told);
      say.append(document.createElement("th"), content);
      row.after(say);
    }
    return say.querySelector("ul");
  }

  #tidy() {
    for (const say of this.form.querySelectorAll("tr.say"))
      if (!say.querySelector("li")) say.remove();
    this.changed();
  }
}

// Whether the words of a question stand within the window and within the sheet that scrolls.
function isSeen(item) {
  const words = item.querySelector(".said").getBoundingClientRect();
  const sheet = item.closest(".sheet-scroll").getBoundingClientRect();
  const middle = (words.top + words.bottom) / 2;
  return middle > Math.max(sheet.top, 0) && middle < Math.min(sheet.bottom, innerHeight);
}

// What a question about a likely slip can be answered by.
export function slipAnswers(suggestion) {
  return { ...(suggestion && { yes: `yes, ${suggestion}` }), no: "it stands" };
}
