/* Photos in, one request a file: [data-intake] holds the form, the list and the progress.

   A file that cannot be taken is told and stops nothing. A request that got lost is sent again by
   itself, then by the button; the site knows a photo it has, so sending twice does no harm. */

import { measure, waiting } from "./photo-measuring.js";
import { upload } from "./photo-upload.js";

const TOGETHER = 2; // the site decodes on few cores: more at once would only wait there
const TRIES = 4;
const FIRST_WAIT_MS = 1500;
const SENT_SHARE = 0.9; // of a photo's work; the rest is the site's look at it

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
    this.board.addEventListener("submit", (event) => this.measureAll(event));
    addEventListener("online", () => this.retryLost());
    addEventListener("beforeunload", (event) => {
      if (this.count("waiting") || this.count("going")) event.preventDefault();
    });
  }

  /* The button that measures everything, photo by photo in sight. */
  async measureAll(event) {
    if (!event.target.matches("[data-measure-all]")) return;
    event.preventDefault();
    event.target.querySelector("button").disabled = true;
    await this.measure(waiting(this.board));
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

  /* When all are in: measure the pieces that photos came for, then show the lists anew. */
  async settle() {
    if (this.isSettling) return;
    this.isSettling = true;
    try {
      await this.refresh();
      const mine = new Map(this.jobs.map((job) => [job.answer?.photo, job]));
      const isNew = ({ id }) => mine.has(id) && !mine.get(id).isMeasured;
      const groups = waiting(this.board).filter(({ photos }) => photos.some(isNew));
      await this.measure(groups, mine);
    } finally {
      this.isSettling = false;
    }
  }

  async measure(groups, mine = new Map()) {
    if (!groups.length) return;
    const told = (id, words) => {
      const job = mine.get(id);
      if (!job) return;
      job.isMeasured = true;
      say(job, `${job.answer.said} ${words}`);
    };
    await measure(groups, document.querySelector("[data-measuring]"), told);
    await this.refresh();
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
