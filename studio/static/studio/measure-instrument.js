// The instrument chosen last on a sheet stays chosen, as long as the browser has a store.

export function rememberInstrument(form) {
  const instrument = form.querySelector("[data-instrument]");
  if (!instrument) return;
  const key = `${form.dataset.keep}:instrument`;
  const isAsked = new URLSearchParams(location.search).has("instrument");
  try {
    const kept = localStorage.getItem(key);
    const isThere =
      kept !== null && instrument.querySelector(`option[value="${CSS.escape(kept)}"]`);
    if (!isAsked && isThere) instrument.value = kept;
    instrument.addEventListener("change", () => localStorage.setItem(key, instrument.value));
  } catch {
    // Without storage the choice lasts as long as the page.
  }
}
