// The rows of one piece: a criterion each, with its levels, its note and its question.

import {
  allSaved,
  askLate,
  decide,
  EXCUSED,
  isSaving,
  MarkView,
  NONE,
  put,
  startMarks,
  wantsWhy,
} from "./judge-marks.js";
import { isAsking } from "./judge-question.js";
import { told } from "./judge-status.js";

export const page = document.querySelector("[data-judge-piece]");
const code = page.dataset.code;

class RowView extends MarkView {
  get name() {
    return this.box.dataset.name;
  }

  get suggested() {
    return Number(this.box.dataset.suggested) || null;
  }

  get url() {
    return this.box.dataset.save;
  }

  get note() {
    return this.box.querySelector("[data-note]");
  }

  get hasOwn() {
    return this.note.value.trim() !== this.mark.note.trim();
  }

  place() {
    return this.box.querySelector("[data-question-here]");
  }

  pend(word, words) {
    const states = { [NONE]: this.suggested ? "suggested" : "open", [EXCUSED]: "excused" };
    this.box.dataset.state = states[word] ?? "placed";
    this.pending(true);
    this.state(words);
    this.#press(word);
    this.#sayWhy(false);
    count();
  }

  chosen() {
    return this.box.querySelector('[data-pick][aria-pressed="true"]')?.dataset.pick ?? NONE;
  }

  show(mark, { keepsNote = false } = {}) {
    const isNoteShown = this.note.value === this.mark.note;
    this.heed(mark);
    this.box.dataset.state = mark.state;
    this.box.toggleAttribute("data-unsaved", false);
    this.pending(false);
    this.state(mark.words);
    this.#press(this.standing);
    // What was typed since is newer than the answer.
    if (isNoteShown && !keepsNote) this.note.value = mark.note;
    const words = this.box.querySelector("[data-reason-words]");
    words.hidden = !mark.reason_words;
    words.lastElementChild.textContent = mark.reason_words;
    this.#sayWhy(mark.wants_reason && !isAsking(this.key));
    count();
  }

  wasPutOff() {
    this.#sayWhy(wantsWhy(this));
  }

  #press(word) {
    for (const button of this.box.querySelectorAll("[data-pick]")) {
      button.setAttribute("aria-pressed", String(word !== NONE && button.dataset.pick === word));
    }
    this.box.querySelector('[data-pick="none"]').hidden = word === NONE || this.mark.sent;
  }

  #sayWhy(isWanted) {
    this.box.querySelector("[data-say-why]").hidden = !isWanted;
  }
}

const views = [...page.querySelectorAll("[data-criterion]")].map((row) => new RowView(row));
export const viewOf = (node) => views.find((view) => view.box === node.closest("[data-criterion]"));
export const rows = views;

let ring = null;
export const current = () => ring;

function count() {
  // What is stored counts, not what is still on its way.
  const decided = views.filter((view) => view.standing !== NONE).length;
  page.querySelector("[data-progress]").textContent = `${decided} of ${views.length}`;
}

// Put the ring on a row; on none where the next key belongs to something else.
export function go(view, { focus = true } = {}) {
  ring = view;
  for (const each of views) {
    each.box.classList.toggle("is-current", each === view);
    each.box.tabIndex = each === view ? 0 : -1;
  }
  if (!view || !focus) return;
  view.box.focus({ preventScroll: true });
  view.box.scrollIntoView({ block: "nearest" });
}

export function onward(view) {
  const after = views.indexOf(view) + 1;
  const next = [...views.slice(after), ...views.slice(0, after - 1)].find((each) => each.isOpen);
  if (next) return go(next);
  // All criteria are decided: the next key leads to the next piece.
  go(null);
  if (views.length) views[0].box.tabIndex = 0;
  page.querySelector("[data-walk=open]")?.focus();
  told(`${code}: every criterion is decided. Press Enter for the next.`);
}

export function choose(view, word) {
  const goesOn = view === ring && word !== NONE;
  decide(view, word, () => (goesOn ? onward(view) : go(view)));
}

export function accept(view) {
  if (!view.isOpen) return onward(view);
  if (!view.suggested) return told(`No check speaks to ${view.name}: choose 1 to 4.`);
  choose(view, String(view.suggested));
}

// -- the note ---------------------------------------------------------------------------------

export function openNote(view) {
  const form = view.box.querySelector("[data-note-form]");
  form.classList.remove("only-no-js");
  view.box.querySelector("[data-note-open]").setAttribute("aria-expanded", "true");
  view.note.focus();
}

// A note is saved by its button and when the cursor leaves it, so that nothing typed is lost.
export function saveNote(view) {
  const text = view.note.value.trim();
  if (text === view.mark.note.trim()) return;
  if (!view.mark.sent) return put(view, { note: text });
  askLate(view, {
    words: `${view.name}: this was sent. Why does the note change?`,
    fields: () => ({ note: text }),
    back() {
      view.note.value = view.mark.note;
    },
  });
}

// Leaving waits for what is on its way, so that nobody is asked whether to leave unsaved.
page.addEventListener("click", async (event) => {
  const link = event.target.closest("[data-walk]");
  if (!link || !isSaving() || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  told("Saving, then on.");
  if (await allSaved()) location.assign(link.href);
});

startMarks({
  store: page.dataset.store,
  now: page.dataset.now,
  views: () => views,
  undo: page.dataset.undo,
  criterion: "",
  seen: () => [page.dataset.judgePiece],
  current,
  go,
});
