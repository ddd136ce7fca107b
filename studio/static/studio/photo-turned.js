/* Photos of a turned cup: taken in one by one, then measured together while the page tells how far
   it is. What cannot be taken is named and stops nothing. */

import { csrfToken } from "./csrf.js";
import { upload } from "./photo-upload.js";
import { TROUBLE, withoutAnswer } from "./send.js";

const TOGETHER = 2; // the site decodes on few cores
const LOOKED_SHARE = 0.5; // of the work, when all photos are looked at; the rest is the cup's form

class Turned {
  constructor(box, here) {
    Object.assign(this, { box, here, jobs: [], isBusy: false });
    this.address = box.dataset.turned;
    this.form = box.querySelector("[data-drop]");
    this.tally = box.querySelector("[data-tally]");
    this.bar = box.querySelector("[data-all]");
    this.form.querySelector("[data-without-script]").hidden = true;
    this.form.querySelector("[data-phone]").hidden = !matchMedia("(pointer: coarse)").matches;
    for (const input of this.form.querySelectorAll('input[type="file"]')) {
      input.addEventListener("change", () => this.take(input));
    }
    this.form.addEventListener("submit", (event) => event.preventDefault());
    here.addEventListener("submit", (event) => {
      if (!event.target.matches("[data-read]")) return;
      event.preventDefault();
      this.work(() => this.measure());
    });
    addEventListener("beforeunload", (event) => {
      if (this.isBusy) event.preventDefault();
    });
  }

  say(words, share) {
    this.box.querySelector("[data-run]").hidden = false;
    this.tally.textContent = words;
    this.bar.value = share;
  }

  /* One thing at a time; photos chosen meanwhile join the queue that is being sent. */
  async work(what) {
    if (this.isBusy) return;
    this.isBusy = true;
    try {
      await what();
    } finally {
      this.isBusy = false;
    }
  }

  take(input) {
    for (const file of input.files) this.jobs.push({ file, row: this.rowFor(file), state: "new" });
    input.value = "";
    this.work(async () => {
      while (this.jobs.some((job) => job.state === "new")) {
        await Promise.all(Array.from({ length: TOGETHER }, () => this.send()));
      }
      if (this.jobs.some((job) => job.state === "in")) await this.measure();
    });
  }

  rowFor(file) {
    const row = document.createElement("li");
    row.innerHTML =
      '<span class="name"></span><progress value="0" max="1"></progress><span class="said"></span>';
    row.querySelector(".name").textContent = file.name;
    row.querySelector("progress").setAttribute("aria-label", file.name);
    this.box.querySelector("[data-files]").append(row);
    return row;
  }

  async send() {
    for (let job = this.next(); job; job = this.next()) {
      job.state = "going";
      this.count();
      try {
        const answer = await upload(this.address, job.file, (share) => {
          job.row.querySelector("progress").value = share;
        });
        job.state = answer.is_here ? "in" : "refused";
        this.settle(job, answer.problem ?? answer.said);
      } catch (lost) {
        job.state = "lost";
        this.settle(job, `${lost.message} Choose it again.`);
      }
      this.count();
    }
  }

  next() {
    return this.jobs.find((job) => job.state === "new");
  }

  settle(job, words) {
    job.row.dataset.state = job.state;
    job.row.querySelector("progress").hidden = true;
    job.row.querySelector(".said").textContent = words;
  }

  count() {
    const done = this.jobs.filter(({ state }) => state !== "new" && state !== "going").length;
    this.say(`${done} of ${this.jobs.length} photos sent…`, done / this.jobs.length);
  }

  async measure() {
    this.say("Measuring…", 0);
    const problem = await this.read();
    // Photos that were taken in are in the list below now; what was not keeps its line here.
    for (const { row, state } of this.jobs) if (state === "in") row.remove();
    this.jobs = this.jobs.filter(({ state }) => state !== "in");
    await this.refresh();
    this.say(problem || "Measured. The figures are below.", 1);
    if (!problem) this.here.querySelector("h2#cup")?.scrollIntoView({ block: "start" });
  }

  /* Asks for the cup and follows how it goes; answers the sentence of what went wrong. */
  async read() {
    try {
      const answer = await fetch(this.address, {
        method: "POST",
        body: new URLSearchParams({ do: "read" }),
        headers: { "X-CSRFToken": csrfToken(), Accept: "application/json" },
        credentials: "same-origin",
        redirect: "manual",
      });
      const isOurs = answer.headers.get("Content-Type")?.startsWith("application/x-ndjson");
      if (!isOurs) return TROUBLE[withoutAnswer(answer.type, answer.status).trouble] ?? BROKEN;
      for await (const told of lines(answer.body)) {
        if (told.problem) return told.problem;
        if (told.done) return "";
        this.say(wordsFor(told), (told.seen / told.of) * LOOKED_SHARE);
      }
    } catch {
      // Told below; the photos are in, so nothing is lost.
    }
    return BROKEN;
  }

  async refresh() {
    try {
      const answer = await fetch(`${this.address}&part`);
      if (answer.ok && !answer.redirected) this.here.innerHTML = await answer.text();
    } catch {
      // The list as it was is still true.
    }
  }
}

const BROKEN = "The connection broke off. The photos are in: measure them again.";

function wordsFor({ seen, of }) {
  return seen < of ? `Looked at ${seen} of ${of} photos…` : "All looked at. Working out the cup…";
}

/* The lines of a body as they come, each an object. */
async function* lines(body) {
  const reader = body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    const parts = (rest + value).split("\n");
    rest = parts.pop();
    for (const part of parts) yield JSON.parse(part);
  }
}

const box = document.querySelector("[data-turned]");
if (box) new Turned(box, document.querySelector("[data-turned-here]"));
