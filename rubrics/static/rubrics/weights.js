/* [data-weights] is a form whose [data-weight] inputs add up into its [data-weight-sum], live. */

for (const form of document.querySelectorAll("[data-weights]")) {
  const sum = form.querySelector("[data-weight-sum]");
  const add = () => {
    let total = 0;
    for (const input of form.querySelectorAll("[data-weight]")) {
      const box = input.closest(".criterion-form");
      const removed = box?.querySelector('input[name$="-DELETE"]')?.checked;
      const weight = Number(input.value.replace(",", "."));
      if (!removed && Number.isFinite(weight) && weight > 0) total += weight;
    }
    sum.textContent = String(Math.round(total * 100) / 100);
  };
  form.addEventListener("input", add);
}
