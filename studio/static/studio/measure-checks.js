// The check at the end of each row: all at once when the sheet opens, one again after a saving.
// Hung on form[data-rows-check]; measure.js tells of a saved value by the event "reading-saved".

const PAUSE_MS = 250;

const form = document.querySelector("form[data-rows-check]");
if (form) start(form);

function start(form) {
  const timers = new Map();
  loadAll();
  form.addEventListener("reading-saved", ({ detail: piece }) => {
    clearTimeout(timers.get(piece));
    timers.set(
      piece,
      setTimeout(() => loadOne(piece), PAUSE_MS),
    );
  });

  async function loadAll() {
    const response = await ask(form.dataset.rowsCheck);
    if (!response) return;
    for (const [piece, markup] of Object.entries(await response.json())) show(piece, markup);
  }

  async function loadOne(piece) {
    const response = await ask(form.dataset.rowCheck.replace("/0/", `/${piece}/`));
    if (response) show(piece, await response.text());
  }

  // Without a check the sheet works as well; it comes again with the next saved value.
  async function ask(address) {
    try {
      const response = await fetch(address, { headers: { "HX-Request": "true" } });
      return response.ok && !response.redirected ? response : null;
    } catch {
      return null;
    }
  }

  function show(piece, markup) {
    const cell = document.getElementById(`check-${piece}`);
    if (!cell) return;
    const holder = document.createElement("template");
    holder.innerHTML = markup;
    cell.replaceChildren(holder.content);
  }
}
