// Keys that move on the measuring sheet: Enter along the row and on, arrows in every direction.

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

// The field where a step leads, or undefined at the sheet's edge.
export function fieldAfter(form, input, { along = 0, down = 0, wraps = false }) {
  const rows = [...form.querySelectorAll("tr[data-piece]")];
  const fieldsOf = (row) => [...row.querySelectorAll("input")];
  const row = rows.indexOf(input.closest("tr"));
  const fields = fieldsOf(rows[row]);
  const at = fields.indexOf(input);
  if (down) return rows[row + down] && fieldsOf(rows[row + down])[at];
  const next = fields[at + along];
  if (next || !wraps) return next;
  const other = rows[row + along];
  return other && (along > 0 ? fieldsOf(other)[0] : fieldsOf(other).at(-1));
}
