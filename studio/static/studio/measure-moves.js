// Keys that move on the measuring sheet: Enter along the row and on, arrows in every direction.

import { mainOf, whereOf } from "./measure-cells.js";

// The step that a key asks for, or null where the key is the field's own.
export function stepOf(event, input) {
  const { selectionStart: from, selectionEnd: to } = input;
  const isAll = from === 0 && to === input.value.length;
  switch (event.key) {
    case "Enter":
      return { along: event.shiftKey ? -1 : 1, wraps: true };
    case "ArrowDown":
      return { down: 1 };
    case "ArrowUp":
      return { down: -1 };
    case "ArrowRight":
      return isAll || from === input.value.length ? { along: 1 } : null;
    case "ArrowLeft":
      return isAll || (from === 0 && to === 0) ? { along: -1 } : null;
    default:
      return null;
  }
}

// The field where a step leads, or undefined at the sheet's edge. Enter passes over what there is
// nothing more to say of; an arrow goes everywhere.
export function fieldAfter(form, input, { along = 0, down = 0, wraps = false }) {
  const rows = [...form.querySelectorAll("tr[data-piece]")];
  const fieldsOf = (row) => [...row.querySelectorAll("input")];
  const row = rows.indexOf(input.closest("tr"));
  const fields = fieldsOf(rows[row]);
  if (down) return rows[row + down] && fieldsOf(rows[row + down])[fields.indexOf(input)];
  if (!wraps) return fields[fields.indexOf(input) + along];
  const all = rows.flatMap(fieldsOf);
  for (let at = all.indexOf(input) + along; all[at]; at += along)
    if (!isPassedOver(form, all[at])) return all[at];
  return undefined;
}

// A size that is given already, what follows from "closed", the place of a value that is not there
// or is nought, and a place that a key filled in.
function isPassedOver(form, field) {
  const main = mainOf(field);
  if (field !== main) {
    const isNowhere = main.value.trim() === "" && field.value === "";
    const isNothing = isZero(main) && headOf(form, main)?.hasAttribute("data-none");
    return isNowhere || isNothing || field.hasAttribute("data-preset");
  }
  if (field.value.trim() !== "") return false;
  return field.hasAttribute("data-given") || isClosed(form, field);
}

function isClosed(form, field) {
  const join = headOf(form, field)?.dataset.follows;
  if (!join) return false;
  const head = form.querySelector(`[data-closes="${CSS.escape(join)}"]`);
  const first = head && cellIn(field.closest("tr"), head.dataset.head);
  return Boolean(first) && isZero(first) && whereOf(field)?.value === "";
}

export const headOf = (form, field) =>
  form.querySelector(`[data-head="${CSS.escape(mainOf(field).dataset.cell)}"]`);

export const cellIn = (row, key) => row?.querySelector(`input[data-cell="${CSS.escape(key)}"]`);

const isZero = (field) => /^0+([.,]0*)?$/.test(field.value.trim());
