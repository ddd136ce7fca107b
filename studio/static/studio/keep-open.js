/* A part of the page that is fetched anew keeps open what was open: [data-keep-open] around
   details[data-open-key]. */

for (const box of document.querySelectorAll("[data-keep-open]")) {
  let open = new Set();
  box.addEventListener("htmx:beforeSwap", () => {
    open = new Set([...box.querySelectorAll("details[open]")].map((each) => each.dataset.openKey));
  });
  box.addEventListener("htmx:afterSwap", () => {
    for (const each of box.querySelectorAll("details[data-open-key]")) {
      each.open = open.has(each.dataset.openKey);
    }
  });
}
