// What the page last said, and how far the judging is.

// Said where it is read and where it is read out.
export function told(words) {
  const shown = document.querySelector("[data-said]");
  if (shown) shown.textContent = words;
  const line = document.querySelector("[data-status]");
  // The same words twice are read out twice only if the line was empty between.
  line.textContent = "";
  requestAnimationFrame(() => {
    line.textContent = words;
  });
}

export function progress({ done, of }) {
  const shown = document.querySelector("[data-shelf-progress]");
  if (done === undefined || !shown) return;
  shown.textContent = `${done} of ${of}`;
  const tab = document.querySelector(".criteria-tabs [aria-current] .figure");
  if (tab) tab.textContent = `${done}/${of}`;
  const bar = document.querySelector("[data-progress-bar]");
  bar.value = done;
  bar.max = of;
}
