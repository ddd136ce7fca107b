/* Photos in, one request a file: [data-intake] holds the form, the list and the progress.

   A file that cannot be taken is told and stops nothing. A request that got lost is sent again by
   itself, then by the button; the site knows a photo it has, so sending twice does no harm. */

import { upload } from "./photo-upload.js";
import { send } from "./send.js";

const TOGETHER = 2; // the site decodes on few cores: more at once would only wait there
const TRIES = 4;
const FIRST_WAIT_MS = 1500;
const SENT_SHARE = 0.9; // of a photo's work; the rest is the site's look at it
const READING_MS = 120000; // so long the site may look for the mat in one piece's photos

class Intake {
  constructor(box, board) {
    Object.assign(this, { box, board });
    this.form = box.querySelector("[data-drop]");
    this.tally = box.querySelector("[data-tally]");
    this.again = box.querySelector("[data-again]");
    this.jobs = [];
    this.running = 0;
    this.isSettling = false;
    this.form.querySelector("[data-without-script]").hidden = true;
    this.form.querySelector("[data-phone]").hidden = !matchMedia("(pointer: coarse)").matches;
    this.listen();
  }

  listen() {
    const { form } = this;
    const input = form.querySelector('input[type="file"][name="files"]');
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.take(input);
    });
    for (const from of [input, form.querySelector("[data-camera]")]) {
      from.addEventListener("change", () => this.take(from));
    }
    for (const name of ["dragenter", "dragover", "dragleave", "drop"]) {
      form.addEventListener(name, (event) => {
        event.preventDefault();
        form.classList.toggle("is-over", name.startsWith("drage") || name === "dragover");
      });
    }
    form.addEventListener("drop", (event) => this.add([...event.dataTransfer.files]));
    this.again.addEventListener("click", () => this.retryLost());
    addEventListener("online", () => this.retryLost());
    addEventListener("beforeunload", (event) => {
      if (this.count("waiting") || this.count("going")) event.preventDefault();
    });
  }

  count(state) {
    return this.jobs.filter((job) => job.state === state).length;
  }

  take(from) {
    this.add([...from.files]);
    from.value = "";
  }

  add(files) {
    for (const file of files) {
      const row = rowFor(file);
      this.box.querySelector("[data-files]").append(row);
      this.jobs.push({ file, row, state: "waiting", sent: 0, tries: 0 });
    }
    if (files.length) this.box.querySelector("[data-run]").hidden = false;
    this.tell();
    this.pump();
  }

  pump() {
    while (this.running < TOGETHER) {
      const job = this.jobs.find((one) => one.state === "waiting");
      if (!job) break;
      this.running += 1;
      job.state = "going";
      this.send(job).finally(() => {
        this.running -= 1;
        this.tell();
        this.pump();
      });
    }
    if (!this.running && !this.count("waiting")) this.settle();
  }

  async send(job) {
    for (;;) {
      job.tries += 1;
      try {
        const answer = await upload(this.box.dataset.intake, job.file, (share) =>
          this.sent(job, share),
        );
        job.state = answer.problem ? "refused" : "in";
        job.answer = answer;
        return say(job, answer.problem || answer.said);
      } catch (lost) {
        if (lost.isFinal || job.tries >= TRIES) {
          job.state = lost.isFinal ? "refused" : "lost";
          return say(job, lost.message);
        }
        say(job, "The connection was lost. Trying again…");
        await new Promise((done) => setTimeout(done, FIRST_WAIT_MS * 2 ** (job.tries - 1)));
      }
    }
  }

  sent(job, share) {
    job.sent = share;
    job.row.querySelector("progress").value = share;
    if (share === 1) say(job, "Looking at it…");
    this.tell();
  }

  tell() {
    const words = [`${this.count("in")} of ${this.jobs.length} in`];
    if (this.count("refused")) words.push(`${this.count("refused")} not taken`);
    if (this.count("lost")) words.push(`${this.count("lost")} lost on the way`);
    this.tally.textContent = `${words.join(", ")}.`;
    const done = (job) =>
      job.state === "going" ? job.sent * SENT_SHARE : Number(job.state !== "waiting");
    const sum = this.jobs.reduce((total, job) => total + done(job), 0);
    this.box.querySelector("[data-all]").value = sum / (this.jobs.length || 1);
    this.again.hidden = !this.count("lost");
  }

  retryLost() {
    for (const job of this.jobs) {
      if (job.state !== "lost") continue;
      Object.assign(job, { state: "waiting", tries: 0, sent: 0 });
      say(job, "");
    }
    this.tell();
    this.pump();
  }

  /* When all are in: measure one piece and stage at a time, then show the lists anew. */
  async settle() {
    if (this.isSettling) return;
    this.isSettling = true;
    try {
      await this.refresh();
      const groups = new Map();
      for (const job of this.jobs) {
        if (job.answer?.read && !job.isMeasured) groups.set(job.answer.group, job);
      }
      await this.measure([...groups.values()]);
      if (groups.size) await this.refresh();
      this.tell();
    } finally {
      this.isSettling = false;
    }
  }

  /* As many pieces at once as the site measures at once; the count goes on photo by photo. */
  async measure(waiting) {
    const inGroup = (group) => this.jobs.filter((one) => one.answer?.group === group);
    const total = waiting.reduce((sum, job) => sum + inGroup(job.answer.group).length, 0);
    const bar = this.box.querySelector("[data-all]");
    let done = 0;
    const tell = () => {
      this.tally.textContent = `Measuring: ${done} of ${total} photos done…`;
      bar.value = done / (total || 1);
    };
    const work = async () => {
      for (let job = waiting.shift(); job; job = waiting.shift()) {
        const { group, read } = job.answer;
        for (const one of inGroup(group)) say(one, "Measuring…");
        // What fails stays "not measured yet", with a button of its own on the page.
        const { answer } = await send(read, null, { signal: AbortSignal.timeout(READING_MS) });
        const told = answer?.photos ? "Measured." : "Not measured yet.";
        for (const one of inGroup(group)) {
          one.isMeasured = true;
          say(one, `${one.answer.said} ${told}`);
          done += 1;
        }
        tell();
      }
    };
    if (total) tell();
    await Promise.all(Array.from({ length: TOGETHER }, work));
  }

  async refresh() {
    try {
      const answer = await fetch(this.box.dataset.board);
      if (answer.ok && !answer.redirected) this.board.innerHTML = await answer.text();
      showTicks(this.board);
    } catch {
      // The list as it was is still true; the next photo brings it up to date.
    }
  }
}

function rowFor(file) {
  const row = document.createElement("li");
  row.innerHTML =
    '<span class="name"></span><progress value="0" max="1"></progress><span class="said"></span>';
  row.querySelector(".name").textContent = file.name;
  row.querySelector("progress").setAttribute("aria-label", file.name);
  return row;
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

// -- the boxes that choose photos of the list -------------------------------------------------

function showTicks(board) {
  const all = board.querySelector("[data-board-all]");
  if (all) all.closest("label").hidden = false;
}

function ticked({ target, currentTarget: board }) {
  const all = board.querySelector("[data-board-all]");
  const ticks = [...board.querySelectorAll("[data-board-tick]")];
  if (target === all) for (const tick of ticks) tick.checked = all.checked;
  const count = ticks.filter((tick) => tick.checked).length;
  if (!all) return;
  all.checked = count === ticks.length && count > 0;
  all.indeterminate = count > 0 && count < ticks.length;
}

const box = document.querySelector("[data-intake]");
const board = document.querySelector("[data-board-here]");
if (board) {
  board.addEventListener("change", ticked);
  showTicks(board);
}
if (box) new Intake(box, board);
