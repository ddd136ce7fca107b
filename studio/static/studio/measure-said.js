// Questions and problems under a row of the measuring sheet, each with its answers by key.

export class Said {
  #open = new Map();

  constructor(form, answered) {
    this.form = form;
    this.answered = answered;
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

  // The cell's own question answers to the keys, else the one asked last.
  press(key, word) {
    const asked = this.#open.get(key)?.answers[word] ? key : this.#last(word);
    if (!asked) return false;
    this.answered(asked, word, this.#open.get(asked).about);
    return true;
  }

  point(key) {
    const asked = this.#open.has(key) ? key : (this.#last("no") ?? this.#last("yes"));
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
  }
}

// What a question about a likely slip can be answered by.
export function slipAnswers(suggestion) {
  return { ...(suggestion && { yes: `yes, ${suggestion}` }), no: "it stands" };
}
