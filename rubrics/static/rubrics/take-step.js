/* Advice that an outcome gives goes into the field of the next step, where it can still be changed:
   [data-take-step] is a form that would save it as it is. */

const field = document.getElementById("next-step");

if (field) {
  document.addEventListener("submit", (event) => {
    if (!event.target.matches("[data-take-step]")) return;
    event.preventDefault();
    field.value = event.target.elements.next_step.value;
    field.focus();
    field.scrollIntoView({ block: "center" });
  });
}
