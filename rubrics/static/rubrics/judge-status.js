// The one line that is read out, and how far the judging is.

export function say(words) {
  const line = document.querySelector("[data-status]");
  // The same words twice are read twice only if the line was empty between.
  line.textContent = "";
  requestAnimationFrame(() => { line.textContent = words; });
}

export function progress({ done, of }) {
  if (done === undefined) return;
  document.querySelector("[data-progress]").textContent = `${done} of ${of}`;
  const tab = document.querySelector(".criteria-tabs [aria-current] .figure");
  if (tab) tab.textContent = `${done}/${of}`;
  const bar = document.querySelector("[data-progress-bar]");
  if (bar) { bar.value = done; bar.max = of; }
}
