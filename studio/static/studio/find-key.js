// "/" takes the cursor to the field that finds, wherever no field has it.

import { commandOf } from "./keys-free.js";

const field = document.querySelector("[data-find]");

document.addEventListener("keydown", (event) => {
  if (commandOf(event) !== "/") return;
  event.preventDefault();
  const menu = field.closest("[popover]");
  if (menu && !field.checkVisibility()) menu.showPopover();
  field.focus();
  field.select();
});
