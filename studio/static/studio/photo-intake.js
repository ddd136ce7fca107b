/* Photos in, one request a file: [data-intake] holds the form, the list and the progress.

   A file that cannot be taken is told and stops nothing. A request that got lost is sent again by
   itself, then by the button; the site knows a photo it has, so sending twice does no harm. */

const TOGETHER = 2; // the site decodes on few cores: more at once would only wait there
const TRIES = 4;
const FIRST_WAIT_MS = 1500;

const box = document.querySelector("[data-intake]");
const board = document.querySelector("[data-board-here]");
const token = document.querySelector('meta[name="csrf-token"]').content;

if (box) {
  const form = box.querySelector("[data-drop]");
  const input = form.querySelector('input[type="file"][name="files"]');
  const run = box.querySelector("[data-run]");
  const list = box.querySelector("[data-files]");
  const tally = box.querySelector("[data-tally]");
  const bar = box.querySelector("[data-all]");
  const again = box.querySelector("[data-again]");
  const jobs = [];
  let running = 0;
  let settling = false;

  form.querySelector("[data-without-script]").hidden = true;
  form.querySelector("[data-phone]").hidden = !matchMedia("(pointer: coarse)").matches;

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    take(input);
  });
  input.addEventListener("change", () => take(input));
  const camera = form.querySelector("[data-camera]");
  camera.addEventListener("change", () => take(camera));

  for (const name of ["dragenter", "dragover"]) {
    form.addEventListener(name, (event) => {
      event.preventDefault();
      form.classList.add("is-over");
    });
  }
  for (const name of ["dragleave", "drop"]) {
    form.addEventListener(name, (event) => {
      event.preventDefault();
      form.classList.remove("is-over");
    });
  }
  form.addEventListener("drop", (event) => add([...event.dataTransfer.files]));
  again.addEventListener("click", () => retryLost());
  addEventListener("online", () => retryLost());
  addEventListener("beforeunload", (event) => {
    if (jobs.some((job) => job.state === "waiting" || job.state === "going")) event.preventDefault();
  });

  function take(from) {
    add([...from.files]);
    from.value = "";
  }

  function add(files) {
    for (const file of files) {
      const row = document.createElement("li");
      row.innerHTML =
        '<span class="name"></span><progress value="0" max="1"></progress><span class="said"></span>';
      row.querySelector(".name").textContent = file.name;
      row.querySelector("progress").setAttribute("aria-label", file.name);
      list.append(row);
      jobs.push({ file, row, state: "waiting", sent: 0, tries: 0 });
    }
    if (files.length) run.hidden = false;
    tell();
    pump();
  }

  function pump() {
    while (running < TOGETHER) {
      const job = jobs.find((one) => one.state === "waiting");
      if (!job) break;
      running += 1;
      job.state = "going";
      send(job).finally(() => {
        running -= 1;
        tell();
        pump();
      });
    }
    if (!running && !jobs.some((job) => job.state === "waiting")) settle();
  }

  async function send(job) {
    for (;;) {
      job.tries += 1;
      try {
        const answer = await post(job);
        job.state = answer.problem ? "refused" : "in";
        job.answer = answer;
        say(job, answer.problem || answer.said);
        return;
      } catch (lost) {
        if (lost.final || job.tries >= TRIES) {
          job.state = lost.final ? "refused" : "lost";
          say(job, lost.message);
          return;
        }
        say(job, "The connection was lost. Trying again…");
        await new Promise((done) => setTimeout(done, FIRST_WAIT_MS * 2 ** (job.tries - 1)));
      }
    }
  }

  function post(job) {
    return new Promise((resolve, reject) => {
      const body = new FormData();
      body.append("files", job.file, job.file.name);
      const request = new XMLHttpRequest(); // fetch does not tell how much was sent
      request.open("POST", box.dataset.intake);
      request.setRequestHeader("Accept", "application/json");
      request.setRequestHeader("X-CSRFToken", token);
      request.responseType = "json";
      request.upload.addEventListener("progress", (event) => {
        if (!event.lengthComputable) return;
        job.sent = event.loaded / event.total;
        job.row.querySelector("progress").value = job.sent;
        if (job.sent === 1) say(job, "Looking at it…");
        tell();
      });
      request.addEventListener("load", () => {
        if (request.response) resolve(request.response);
        else reject(trouble(request.status));
      });
      for (const name of ["error", "timeout", "abort"]) {
        request.addEventListener(name, () => reject(trouble(0)));
      }
      request.timeout = 180000;
      request.send(body);
    });
  }

  function trouble(status) {
    const words = {
      0: "The connection was lost. The photo is not in yet.",
      403: "You are signed out or may not change this section. Sign in and try again.",
      413: "The photo is too large for the way here. Send a smaller version.",
    };
    const error = new Error(words[status] || "The site could not take it just now. Try again.");
    error.final = status === 413;
    return error;
  }

  function say(job, words) {
    job.row.dataset.state = job.state;
    job.row.querySelector(".said").textContent = words;
    const progress = job.row.querySelector("progress");
    progress.hidden = job.state !== "going" && job.state !== "waiting";
    if (job.answer?.small && !job.row.querySelector("img")) {
      const picture = new Image(64, 48);
      picture.src = job.answer.small;
      picture.alt = "";
      picture.className = "photo";
      job.row.prepend(picture);
    }
  }

  function tell() {
    const count = (state) => jobs.filter((job) => job.state === state).length;
    const words = [`${count("in")} of ${jobs.length} in`];
    if (count("refused")) words.push(`${count("refused")} not taken`);
    if (count("lost")) words.push(`${count("lost")} lost on the way`);
    tally.textContent = `${words.join(", ")}.`;
    bar.value = jobs.reduce((sum, job) => sum + (job.state === "going" ? job.sent * 0.9 : Number(job.state !== "waiting")), 0) / (jobs.length || 1);
    again.hidden = !count("lost");
  }

  function retryLost() {
    for (const job of jobs) {
      if (job.state !== "lost") continue;
      Object.assign(job, { state: "waiting", tries: 0, sent: 0 });
      say(job, "");
    }
    tell();
    pump();
  }

  /* When all are in: measure one piece and stage at a time, then show the lists anew. */
  async function settle() {
    if (settling) return;
    settling = true;
    try {
      await refresh();
      const groups = new Map();
      for (const job of jobs) {
        if (job.answer?.read && !job.measured) groups.set(job.answer.group, job);
      }
      let done = 0;
      for (const job of groups.values()) {
        done += 1;
        tally.textContent = `Measuring ${job.answer.piece} (${done} of ${groups.size})…`;
        await read(job.answer.read);
        for (const one of jobs) if (one.answer?.group === job.answer.group) one.measured = true;
      }
      if (groups.size) await refresh();
      tell();
    } finally {
      settling = false;
    }
  }

  async function read(address) {
    try {
      await fetch(address, { method: "POST", headers: { Accept: "application/json", "X-CSRFToken": token } });
    } catch {
      // It stays "not measured yet", with a button of its own on the page.
    }
  }

  async function refresh() {
    try {
      const answer = await fetch(box.dataset.board);
      if (answer.ok && !answer.redirected) board.innerHTML = await answer.text();
      showTicks();
    } catch {
      // The list as it was is still true; the next photo brings it up to date.
    }
  }
}

function showTicks() {
  const all = board?.querySelector("[data-board-all]");
  if (all) all.closest("label").hidden = false;
}

board?.addEventListener("change", (event) => {
  const all = board.querySelector("[data-board-all]");
  const ticks = [...board.querySelectorAll("[data-board-tick]")];
  if (event.target === all) for (const tick of ticks) tick.checked = all.checked;
  const count = ticks.filter((tick) => tick.checked).length;
  if (all) {
    all.checked = count === ticks.length && count > 0;
    all.indeterminate = count > 0 && count < ticks.length;
  }
});
showTicks();
