/* Under the list of defects stands whose doing is proposed, and why: [data-defect] for the one chosen. */

const hints = [...document.querySelectorAll("[data-defect]")];
const select = hints.length && hints[0].closest("form").querySelector("select[name=kind]");

if (select) {
  const show = () => {
    for (const hint of hints) hint.hidden = hint.dataset.defect !== select.value;
  };
  select.addEventListener("change", show);
  show();
}
