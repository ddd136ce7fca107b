// Prints a section in chunks, one request after the other, with a bar and a way to stop.

const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? document.querySelector("meta[name=csrf-token]").content;

async function post(url, body, signal) {
  const response = await fetch(url, {
    method: "POST", body, signal, redirect: "manual", credentials: "same-origin",
    headers: { "X-CSRFToken": token(), Accept: "application/json" },
  });
  if (response.type === "opaqueredirect" || response.status === 403) {
    throw new Error("You seem to be signed out. Sign in again, then print.");
  }
  const isJson = (response.headers.get("content-type") || "").includes("json");
  const answer = isJson ? await response.json() : {};
  if (!response.ok) throw new Error(answer.said || "The printing stopped on the way. Nothing is lost; begin it again.");
  return answer;
}

function hang(form) {
  const [shown, said, bar, cancel, finished, link] = ["[data-progress]", "[data-said]", "progress", "[data-cancel]", "[data-finished]", "[data-document]"].map((part) => form.querySelector(part));
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
      run = await post(form.dataset.reportRun, new URLSearchParams(new FormData(form)), stopping.signal);
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
      said.textContent = error.name === "AbortError" ? "Stopped; nothing was kept." : error instanceof TypeError ? "The site cannot be reached. Begin again when it is." : error.message;
    } finally {
      cancel.hidden = true;
      button.disabled = false;
    }
  });
}

document.querySelectorAll("[data-report-run]").forEach(hang);
