/* A table of fields that grows: [data-rows="prefix"] holds a tbody, a template and [data-add-row]. */

for (const box of document.querySelectorAll("[data-rows]")) {
  const total = document.getElementById(`id_${box.dataset.rows}-TOTAL_FORMS`);
  const button = box.querySelector("[data-add-row]");
  const template = box.querySelector("template");
  if (!total || !button || !template) continue;
  button.parentElement.hidden = false;
  button.addEventListener("click", () => {
    const row = template.content.cloneNode(true);
    for (const element of row.querySelectorAll("[id], [name], [for], [aria-describedby]")) {
      for (const name of ["id", "name", "for", "aria-describedby"]) {
        if (element.hasAttribute(name)) {
          element.setAttribute(name, element.getAttribute(name).replace("__prefix__", total.value));
        }
      }
    }
    const first = row.querySelector("input:not([type=hidden]), select");
    box.querySelector("tbody").append(row);
    total.value = Number(total.value) + 1;
    first?.focus();
  });
}
