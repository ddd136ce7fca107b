// The cells of the measuring sheet: where each is, what was last known of it, how it looks. A cell
// is its main input; beside it may stand the place at which the value was read.

export class Cells {
  constructor(form) {
    this.form = form;
    for (const input of this.all()) this.remember(input);
  }

  all() {
    return this.form.querySelectorAll("input[data-cell]");
  }

  keyOf(input) {
    return `${input.closest("tr").dataset.piece}.${input.dataset.cell}`;
  }

  of(key) {
    const at = key.indexOf(".");
    const row = this.form.querySelector(`tr[data-piece="${key.slice(0, at)}"]`);
    return row?.querySelector(`input[data-cell="${CSS.escape(key.slice(at + 1))}"]`);
  }

  // Keep what stands in a cell, to know a change from it.
  remember(input) {
    input.dataset.base ??= input.name.split(".").at(-1);
    input.dataset.was = `${input.value}|${whereOf(input)?.value ?? ""}`;
  }

  isChanged(input) {
    const now = `${input.value.trim()}|${whereOf(input)?.value.trim() ?? ""}`;
    return now !== input.dataset.was;
  }

  putBack(input) {
    const [value, where] = input.dataset.was.split("|");
    this.write(input, value, where);
  }

  put(input, value, where) {
    const hadFocus = document.activeElement === input;
    this.write(input, value, where);
    this.remember(input);
    if (hadFocus) input.select();
  }

  write(input, value, where) {
    input.value = value;
    if (whereOf(input)) whereOf(input).value = where;
  }

  // Show what the site took another number for: what was written, or "" where nothing was.
  markTaken(input, written) {
    if (written) {
      input.dataset.taken = written;
      const back = /^\d+$/.test(written) ? " N puts it back." : "";
      input.title = `${written} taken as ${input.value}.${back}`;
    } else {
      delete input.dataset.taken;
      input.removeAttribute("title");
    }
  }

  // Show how a value is on its way: "busy", "waits", "done", "asked", "taken", "refused".
  mark(input, word) {
    const cell = input.closest("td");
    cell.classList.remove("busy", "waits", "done", "asked", "taken", "refused");
    if (word) cell.classList.add(word);
    input.toggleAttribute("aria-invalid", false);
    if (word === "refused") input.setAttribute("aria-invalid", "true");
  }

  // What a cell holds, as the site takes it.
  fields(input) {
    return {
      piece: input.closest("tr").dataset.piece,
      column: input.dataset.cell,
      stage: this.form.dataset.stage,
      set: this.form.dataset.set,
      value: input.value.trim(),
      where: whereOf(input)?.value.trim() ?? "",
      base: input.dataset.base,
    };
  }
}

export const isField = (node) => node.matches?.("input[data-cell], input[data-where]");
export const mainOf = (input) => input.closest("td").querySelector("input[data-cell]");
export const whereOf = (input) => input.closest("td").querySelector("input[data-where]");
