// The table of sizes beside a photo: asked anew while points move, one question under way at a
// time, the newest points asked last.

import { send, TROUBLE } from "./send.js";

const ASK_EVERY_MS = 90;

export class Sizes {
  constructor(form, address) {
    this.form = form;
    this.address = address;
    this.askedAt = 0;
    this.timer = 0;
    this.isUnderWay = false;
    this.isBehind = false;
  }

  ask(points) {
    this.points = points;
    clearTimeout(this.timer);
    const pause = Math.max(0, this.askedAt + ASK_EVERY_MS - Date.now());
    this.timer = setTimeout(() => this.send(), pause);
  }

  async send() {
    this.isBehind = this.isUnderWay;
    if (this.isUnderWay) return;
    this.isUnderWay = true;
    this.askedAt = Date.now();
    const { answer, trouble } = await send(this.address, { points: this.points });
    this.isUnderWay = false;
    if (trouble) {
      this.tell(
        `The sizes could not be worked out just now. ${TROUBLE[trouble]} The points are still here.`,
      );
    } else {
      const problem = answer.problem || answer.sentence || "";
      this.tell(problem);
      if (!problem) this.show(answer.lines);
    }
    if (this.isBehind) this.ask(this.points);
  }

  tell(problem) {
    const line = this.form.querySelector("[data-problem]");
    line.textContent = problem;
    line.hidden = !problem;
    this.form.classList.toggle("is-stale", Boolean(problem));
  }

  show(lines) {
    const body = this.form.querySelector("[data-lines]");
    const rows = new Map(
      [...body.querySelectorAll("[data-line]")].map((row) => [row.dataset.line, row]),
    );
    if (lines.length && !rows.size) body.replaceChildren();
    this.form.querySelector("[data-unsure-all]").hidden = lines.some((line) => line.trusted);
    const told = new Set(lines.map((line) => line.key));
    for (const [key, row] of rows) if (!told.has(key)) row.remove();
    for (const line of lines) fill(rows.get(line.key) ?? this.append(body), line);
  }

  append(body) {
    const row = this.form.querySelector("[data-row]").content.firstElementChild.cloneNode(true);
    body.append(row);
    return row;
  }
}

function fill(row, line) {
  const part = (name) => row.querySelector(`[data-${name}]`);
  const isNew = row.dataset.line !== line.key;
  row.dataset.line = line.key;
  row.classList.toggle("unsure", !line.trusted);
  row.toggleAttribute("data-disagrees", line.disagrees);
  for (const name of ["label", "note", "value", "unit", "doubt"])
    part(name).textContent = line[name];
  part("note").hidden = !line.note;
  part("hand").textContent = line.hand ?? "–";
  part("differs").hidden = !line.disagrees;
  part("unsure").hidden = line.trusted;
  const keep = part("keep");
  // A size that a hand has just made sure is kept unless the teacher says otherwise.
  if (isNew || row.dataset.sure !== String(line.trusted)) keep.checked = line.keep;
  row.dataset.sure = String(line.trusted);
  part("keep-box").hidden = !line.may_keep;
  keep.value = line.key;
  keep.disabled = !line.may_keep;
}
