// Short hand on the measuring sheet: a letter for a side, signs for more and less, one key for the
// same again, for "nothing there", and for the next question.

import { mainOf, whereOf } from "./measure-cells.js";
import { cellIn, headOf } from "./measure-moves.js";

const SIDES = /^[hrbl]$/i;
const SIZE = /^[\d.,/ "]+$/;

// A letter for the side finishes a reading. Writes it and tells whether it was one.
export function takeSide(form, input, key) {
  const main = mainOf(input);
  if (!SIDES.test(key) || !headOf(form, main)?.hasAttribute("data-sides")) return false;
  const where = whereOf(main);
  if (input === main && !/[\d"]$|mm$|in$|cm$/.test(input.value.trim())) return false;
  if (input === where && !isWhole(input)) return false;
  where.value = key.toLowerCase();
  return true;
}

// In cells that are alike a sign ends one reading and begins the next. Tells whether it does.
export function endsByThis(form, input, key) {
  if (!/^[+\-−=]$/.test(key) || !headOf(form, input)?.dataset.alike) return false;
  return !isWhole(input) && /\d$/.test(input.value.trim());
}

// "=": the first of the row where all are alike, else the row above; beside a place, the place
// before it in the row. Tells whether there was one.
export function takeSame(form, input) {
  const main = mainOf(input);
  if (input !== main && placeBefore(input)) {
    input.value = placeBefore(input).value;
    return true;
  }
  const from = headOf(form, main)?.dataset.alike ? firstAlike(form, main) : above(form, main);
  if (!from) return false;
  main.value = from.value;
  if (whereOf(main)) whereOf(main).value = whereOf(from).value;
  return true;
}

function placeBefore(input) {
  const places = [...input.closest("tr").querySelectorAll("input[data-where]")];
  const before = places[places.indexOf(input) - 1];
  return before?.value.trim() ? before : null;
}

function firstAlike(form, input) {
  const quantity = headOf(form, input)?.dataset.alike;
  if (!quantity) return null;
  const heads = [...form.querySelectorAll(`[data-alike="${quantity}"]`)];
  const first = cellIn(input.closest("tr"), heads[0].dataset.head);
  return first !== input && SIZE.test(first.value.trim()) ? first : null;
}

function above(form, input) {
  const rows = [...form.querySelectorAll("tr[data-piece]")];
  for (let at = rows.indexOf(input.closest("tr")) - 1; at >= 0; at--) {
    const cell = cellIn(rows[at], input.dataset.cell);
    if (cell?.value.trim()) return cell;
  }
  return null;
}

// What "nothing there" writes into a row: noughts where nothing is read yet, and the planned place
// of a handle. Hands back the cells that changed.
export function takeNothing(form, row) {
  const changed = [];
  for (const input of row.querySelectorAll("input[data-cell]")) {
    if (input.value.trim()) continue;
    const head = headOf(form, input);
    const isNothing = head?.hasAttribute("data-none") || head?.hasAttribute("data-straight");
    if (isNothing) {
      input.value = "0";
      changed.push(input);
    } else if (form.dataset.set === "handle" && whereOf(input)) {
      whereOf(input).value = "0";
      whereOf(input).setAttribute("data-preset", "");
    }
  }
  return changed;
}

// Whether anything that "nothing there" would write is read in a row already.
export function isLookedAt(form, row) {
  return [...row.querySelectorAll("input[data-cell]")].some((input) => {
    const head = headOf(form, input);
    const counts =
      head?.hasAttribute("data-none") ||
      head?.dataset.follows ||
      head?.hasAttribute("data-straight");
    return counts && input.value.trim() !== "";
  });
}

// A block as a spreadsheet copies it, into the cells from this one on. Hands back the cells that
// changed, and how many values found no cell.
export function takeBlock(form, input, text) {
  const lines = text.replace(/\r\n?/g, "\n").replace(/\n$/, "").split("\n");
  const block = lines.map((line) => line.split("\t"));
  const rows = [...form.querySelectorAll("tr[data-piece]")];
  const fieldsOf = (row) => [...(row?.querySelectorAll("input") ?? [])];
  const top = rows.indexOf(input.closest("tr"));
  const left = fieldsOf(rows[top]).indexOf(input);
  const changed = new Set();
  let outside = 0;
  block.forEach((values, down) => {
    const fields = fieldsOf(rows[top + down]);
    values.forEach((value, along) => {
      if (!value.trim()) return;
      const field = fields[left + along];
      if (!field) outside++;
      else {
        field.value = value.trim();
        changed.add(mainOf(field));
      }
    });
  });
  return { changed: [...changed], outside };
}

export const isBlock = (text) => /[\t\n\r]/.test(text.replace(/[\r\n]+$/, ""));

const isWhole = (input) =>
  input.value === "" || (input.selectionStart === 0 && input.selectionEnd === input.value.length);
