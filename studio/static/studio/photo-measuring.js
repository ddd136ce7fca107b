/* Measures photos that wait, as many pieces at once as the site does; told photo by photo. */

import { send, TROUBLE } from "./send.js";

const READING_MS = 240000; // longer than the site allows one piece to take, and to wait for a place

/* The pieces of the list whose photos wait: [{piece, photos: [{id, read}]}]. */
export function waiting(board) {
  const kept = board.querySelector("#photos-waiting");
  return kept ? JSON.parse(kept.textContent) : [];
}

/* Measure groups with a line and a bar in `box`; `told(id, words)` hears of each photo. */
export async function measure(groups, box, told) {
  const line = box.querySelector("[data-measuring-said]");
  const bar = box.querySelector("progress");
  const problems = box.querySelector("[data-measuring-problems]");
  const total = groups.reduce((sum, { photos }) => sum + photos.length, 0);
  let done = 0;
  const show = () => {
    line.textContent =
      done < total ? `Measuring: ${done} of ${total} photos done…` : `${done} photos looked at.`;
    bar.value = done / total;
  };
  const tick = (id, words) => {
    done += 1;
    told(id, words);
    show();
  };
  problems.replaceChildren();
  box.hidden = false;
  show();
  const queue = [...groups];
  const work = async () => {
    for (let group = queue.shift(); group; group = queue.shift()) {
      const problem = await measurePiece(group, told, tick);
      if (problem) problems.append(row(`${group.piece}: ${problem}`));
    }
  };
  await Promise.all(Array.from({ length: Number(box.dataset.together) }, work));
}

/* One piece's photos, in as many requests as it takes; answers the sentence of what failed. */
async function measurePiece({ photos }, told, tick) {
  const left = new Map(photos.map((photo) => [photo.id, photo]));
  for (const id of left.keys()) told(id, "Measuring…");
  while (left.size) {
    const [first] = left.values();
    const { measured, problem } = await read(first);
    // What fails stays "not measured yet" in the list, with its sentence.
    const over = problem ? [...left.keys()] : [first.id, ...measured];
    for (const id of over) {
      if (left.delete(id)) tick(id, measured.includes(id) ? "Measured." : "Not measured yet.");
    }
    if (problem) return problem;
  }
  return "";
}

/* The photos that the site measured with this one, or the sentence why it did not. */
async function read(photo) {
  const signal = AbortSignal.timeout(READING_MS);
  const { answer, trouble } = await send(photo.read, null, { signal });
  const problem = answer ? answer.problem || answer.sentence : TROUBLE[trouble];
  return { measured: answer?.photos ?? [], problem: problem ?? "" };
}

function row(words) {
  const line = document.createElement("li");
  line.textContent = words;
  return line;
}
