// The look-over: how many pieces are chosen, and nothing is sent past sentences that are not saved.

const bar = document.querySelector("[data-publish]");
const ticks = () => [...document.querySelectorAll("[data-publish-tick]")];
const forms = () => [...document.querySelectorAll("[data-look-form]")];

// Whether something was typed or chosen in a form since the site gave it.
function isChanged(form) {
  return [...form.elements].some((field) => {
    if (field.matches("select")) {
      const given = [...field.options].find((each) => each.defaultSelected) ?? field.options[0];
      return field.value !== given.value;
    }
    return field.matches("input[type=text], textarea") && field.value !== field.defaultValue;
  });
}

function count() {
  const shown = bar.querySelector("[data-publish-count]");
  if (shown) shown.textContent = ticks().filter((tick) => tick.checked).length;
}

document.addEventListener("change", count);
document.addEventListener("htmx:afterSettle", count);

// What could not be saved is still in its fields, and says so.
for (const fault of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
  document.addEventListener(fault, ({ target }) => {
    const row = target.closest("li");
    if (!row?.matches(".last-look")) return;
    row.querySelector(".look-said").textContent =
      "This is not saved: the site cannot be reached, or you were signed out. " +
      "Your words are still here; try again.";
  });
}

bar.addEventListener("submit", (event) => {
  const open = forms().filter(isChanged);
  if (!open.length) return;
  event.preventDefault();
  const codes = open.map((form) => form.dataset.code).join(", ");
  bar.querySelector("[data-publish-words]").textContent =
    `Nothing was sent: what you wrote for ${codes} is not saved yet. Save it, then publish.`;
  open[0].closest("details").open = true;
  open[0].querySelector("input[type=text]").focus();
});

addEventListener("beforeunload", (event) => {
  if (forms().some(isChanged)) event.preventDefault();
});
count();
