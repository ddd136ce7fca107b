/* A photo with the phone: a reduced copy is looked at by the site, and the answer stands here before
   the next cup is set down; the photo itself follows. Works with the file chooser's own camera. */

import { upload } from "./photo-upload.js";
import { send } from "./send.js";

const LOOK_PX = 1600; // what the site looks at; a smaller copy is there in a moment on a slow line
const LOOK_QUALITY = 0.9;
const READING_MS = 120000;

const form = document.querySelector("[data-shoot]");

/* The photo at most LOOK_PX long; as it came where this browser cannot open it (some HEIC). */
async function reduced(file) {
  try {
    const picture = await createImageBitmap(file);
    const share = Math.min(1, LOOK_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * share);
    canvas.height = Math.round(picture.height * share);
    const pen = canvas.getContext("2d");
    pen.imageSmoothingQuality = "high";
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", LOOK_QUALITY));
    return blob ? new File([blob], file.name, { type: "image/jpeg" }) : file;
  } catch {
    return file;
  }
}

class Shoot {
  constructor() {
    this.input = form.querySelector("[data-shot]");
    this.told = document.querySelector("[data-told]");
    form.querySelector("[data-without-script]").hidden = true;
    this.input.addEventListener("change", () => this.take());
    this.part("again").addEventListener("click", () => this.input.click());
    this.part("keep").addEventListener("click", () => this.keep());
    addEventListener("beforeunload", (event) => {
      if (this.isSending) event.preventDefault();
    });
  }

  part(name) {
    return this.told.querySelector(`[data-${name}]`);
  }

  say(words, kind = "") {
    this.told.hidden = false;
    this.part("said").textContent = words;
    this.part("said").className = `notice ${kind}`;
  }

  offer(...names) {
    for (const name of ["again", "keep", "next"]) this.part(name).hidden = !names.includes(name);
  }

  async take() {
    [this.file] = this.input.files;
    if (!this.file) return;
    this.list([]);
    this.part("seen").textContent = "";
    this.offer();
    this.say("Looking at it…");
    try {
      const copy = await reduced(this.file);
      const answer = await upload(`${form.dataset.shoot}&look`, copy, () => {});
      if (answer.problem) return this.refuse(answer.problem);
      this.list([...answer.advice, ...answer.hints]);
      this.part("seen").textContent = answer.seen;
      if (answer.will_do) {
        this.say("This one will do.", "good");
        return await this.keep();
      }
      this.refuse("Better take this one again:");
    } catch (lost) {
      this.refuse(lost.message);
    }
  }

  refuse(words) {
    this.say(words, "warn");
    this.offer("again", "keep");
    this.part("again").focus();
  }

  list(sentences) {
    const rows = sentences.map((sentence) => {
      const row = document.createElement("li");
      row.textContent = sentence;
      return row;
    });
    this.part("advice").replaceChildren(...rows);
  }

  async keep() {
    this.isSending = true;
    this.offer();
    try {
      const answer = await upload(form.dataset.shoot, this.file, () => {});
      if (answer.problem) return this.refuse(answer.problem);
      this.say(`This one is in. ${answer.said}`, "good");
      const next = this.part("next");
      next.href = answer.next;
      this.offer("next");
      next.focus();
      // The sizes follow by themselves; nobody waits for them here.
      if (answer.read) {
        send(answer.read, null, { signal: AbortSignal.timeout(READING_MS), keepalive: true });
      }
    } catch (lost) {
      this.refuse(lost.message);
    } finally {
      this.isSending = false;
    }
  }
}

if (form) new Shoot();
