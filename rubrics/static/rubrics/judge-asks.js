// What is said beside the work, without stopping the hand: two answers, not saved yet, sure?

const box = () => document.querySelector("[data-asks]");

function put(kind, key) {
  withdraw(kind, key);
  const template = document.querySelector(`template[data-ask-${kind}]`);
  const node = template.content.firstElementChild.cloneNode(true);
  node.dataset.ask = `${kind} ${key}`;
  box().prepend(node);
  return node;
}

const say = (node, part, words) => {
  node.querySelector(`[data-ask-${part}]`).textContent = words;
};

export function withdraw(kind, key) {
  box()
    .querySelector(`[data-ask="${CSS.escape(`${kind} ${key}`)}"]`)
    ?.remove();
}

// Two answers to one question: both stand until one is chosen.
export function askStale({ key, words, detail, theirs, mine, takeTheirs, takeMine }) {
  const node = put("stale", key);
  say(node, "words", words);
  say(node, "detail", detail);
  const choices = {
    "[data-take-theirs]": [theirs, takeTheirs],
    "[data-take-mine]": [mine, takeMine],
  };
  for (const [part, [label, then]] of Object.entries(choices)) {
    const button = node.querySelector(part);
    button.textContent = label;
    button.addEventListener("click", () => {
      withdraw("stale", key);
      then();
    });
  }
}

// Something is not saved; again: what the button does, or nothing to try.
export function tellUnsaved({ key, words, detail, again }) {
  const node = put("unsaved", key);
  say(node, "words", words);
  say(node, "detail", detail);
  const button = node.querySelector("[data-try-again]");
  button.textContent = again ? "Try now" : "Close";
  button.addEventListener("click", again ?? (() => withdraw("unsaved", key)));
}

// Ask before something is done to more than can be seen; resolves to whether it is wanted.
export function askSure({ words, detail, yes }) {
  const node = put("sure", "many");
  const before = document.activeElement;
  say(node, "words", words);
  say(node, "detail", detail);
  node.querySelector("[data-sure-yes]").textContent = yes;
  node.querySelector("[data-sure-yes]").focus();
  return new Promise((tell) => {
    const answer = (isSure) => {
      withdraw("sure", "many");
      before?.focus?.({ preventScroll: true });
      tell(isSure);
    };
    node.querySelector("[data-sure-yes]").addEventListener("click", () => answer(true));
    node.querySelector("[data-sure-no]").addEventListener("click", () => answer(false));
    node.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      event.preventDefault();
      answer(false);
    });
  });
}
