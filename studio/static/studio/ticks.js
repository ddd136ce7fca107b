/* One box ticks all: [data-tick-all] works on every [data-tick] of the page. */

const all = document.querySelector("[data-tick-all]");
const ticks = [...document.querySelectorAll("[data-tick]")];

if (all && ticks.length) {
  all.closest("[hidden]").hidden = false;
  all.addEventListener("change", () => {
    for (const tick of ticks) tick.checked = all.checked;
  });
  document.addEventListener("change", (event) => {
    if (!event.target.matches("[data-tick]")) return;
    const count = ticks.filter((tick) => tick.checked).length;
    all.checked = count === ticks.length;
    all.indeterminate = count > 0 && count < ticks.length;
  });
}
