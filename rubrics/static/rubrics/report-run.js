// Prints a section in chunks, one request after the other, with a bar and a way to stop.

import { SIGNED_OUT, send, UNREACHED } from "../studio/send.js";

const TROUBLE = {
  [SIGNED_OUT]: "You seem to be signed out. Sign in again, then print.",
  [UNREACHED]: "The site cannot be reached. Begin again when it is.",
};
const STOPPED = "The printing stopped on the way. Nothing is lost; begin it again.";
const CHUNK_MS = 120000; // drawing a chunk of a large section may take its time

async function post(url, body, stopped) {
  const signal = AbortSignal.any([AbortSignal.timeout(CHUNK_MS), ...(stopped ? [stopped] : [])]);
  const { answer, trouble, status } = await send(url, body, { signal });
  if (trouble) throw new Error(TROUBLE[trouble] ?? STOPPED);
  if (status >= 400 || answer.state === "problem") throw new Error(answer.said || STOPPED);
  return answer;
}

function hang(form) {
  const [shown, said, bar, cancel, finished, link] = [
    "[data-progress]",
    "[data-said]",
    "progress",
    "[data-cancel]",
    "[data-finished]",
    "[data-document]",
  ].map((part) => form.querySelector(part));
  const button = form.querySelector("button:not([type])");

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const stopping = new AbortController();
    cancel.onclick = () => stopping.abort();
    finished.hidden = true;
    shown.hidden = false;
    cancel.hidden = false;
    button.disabled = true;
    bar.value = 0;
    let run;
    try {
      run = await post(
        form.dataset.reportRun,
        new URLSearchParams(new FormData(form)),
        stopping.signal,
      );
      bar.max = run.students;
      for (const chunk of run.chunks) {
        said.textContent = `${bar.value} of ${run.students} students`;
        const { done } = await post(chunk, null, stopping.signal);
        bar.value = done;
      }
      said.textContent = `All ${run.students} students`;
      link.href = run.joined;
      finished.hidden = false;
      link.focus();
    } catch (error) {
      if (run) post(run.stop, null).catch(() => {});
      said.textContent = error.name === "AbortError" ? "Stopped; nothing was kept." : error.message;
    } finally {
      cancel.hidden = true;
      button.disabled = false;
    }
  });
}

document.querySelectorAll("[data-report-run]").forEach(hang);
