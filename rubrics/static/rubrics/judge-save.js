// Saves marks one after another for each piece, keeps what could not be saved and tries again.

const FIRST_WAIT_MS = 2000, LONGEST_WAIT_MS = 30000, GIVE_UP_MS = 15000;
// Signing in again in another tab changes the cookie, not what this page was given.
const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? document.querySelector("meta[name=csrf-token]").content;
const versions = new Map(); // piece -> the version of its assessment that this page has seen
const lines = new Map(); // piece -> entries waiting, the first one on its way

export class Refusal extends Error {}

export function knowVersion(piece, version) {
  versions.set(String(piece), Number(version));
}

// One request at a time: keys reach the site in the order in which they were pressed.
let turn = Promise.resolve();
function inTurn(work) {
  const done = turn.then(work);
  turn = done.catch(() => {});
  return done;
}

// What acts on many marks waits until each of them is saved.
export async function postAfterAll(url, fields) {
  if (!(await saved())) throw new Error("Something is not saved yet; settle that first.");
  return inTurn(() => post(url, fields));
}

// Send a form's fields; the answer's JSON, or an error that says whether it may be tried again.
async function post(url, fields) {
  const body = new URLSearchParams(fields);
  const response = await fetch(url, {
    method: "POST", body, redirect: "manual", credentials: "same-origin",
    signal: AbortSignal.timeout(GIVE_UP_MS),
    headers: { "X-CSRFToken": token(), Accept: "application/json" },
  }).catch(() => { throw new Error("The site cannot be reached."); });
  if (response.type === "opaqueredirect" || response.status === 403) {
    throw new Error("You seem to be signed out. Sign in again in another tab; then this is saved.");
  }
  const isJson = (response.headers.get("content-type") || "").includes("json");
  if (!isJson) {
    if (response.status === 404) throw new Refusal("This piece is not there any more. Reload the page.");
    throw new Error("The site gave no answer that can be used.");
  }
  const answer = await response.json();
  if (answer.problem) throw new Refusal(answer.problem);
  return answer;
}

// entry: {piece, url, fields, onSaved(answer), onStale(answer), onWaiting(error), onRefused(error)}
export function save(entry) {
  const piece = String(entry.piece);
  const line = lines.get(piece) || [];
  line.push(entry);
  lines.set(piece, line);
  if (line.length === 1) run(piece);
}

export function unsaved() {
  return [...lines.values()].reduce((sum, line) => sum + line.length, 0);
}

const idle = []; // who waits until everything is saved

// Whether all is saved, as soon as it is; false when a person has to look first.
export function saved() {
  return unsaved() ? new Promise((tell) => idle.push(tell)) : Promise.resolve(true);
}

function tellIdle(clean) {
  for (const tell of idle.splice(0)) tell(clean);
}

// Send again at once what is waiting.
export function tryNow() {
  for (const line of lines.values()) if (line[0]?.wake) line[0].wake();
}

async function run(piece) {
  const line = lines.get(piece);
  while (line.length) {
    const entry = line[0];
    let wait = FIRST_WAIT_MS;
    for (;;) {
      try {
        const answer = await inTurn(() => {
          const version = entry.version ?? versions.get(piece) ?? 0;
          return post(entry.url, { ...entry.fields, version });
        });
        if (answer.stale) {
          line.length = 0; // what was pressed after it stands on ground that moved
          tellIdle(false);
          entry.onStale(answer);
        } else {
          if (answer.mark) versions.set(piece, answer.mark.version);
          line.shift();
          entry.onSaved(answer, line.length);
        }
        break;
      } catch (error) {
        if (error instanceof Refusal) {
          line.shift();
          tellIdle(false);
          entry.onRefused(error);
          break;
        }
        tellIdle(false);
        entry.onWaiting(error);
        await new Promise((go) => {
          entry.wake = go;
          setTimeout(go, wait);
        });
        entry.wake = null;
        wait = Math.min(2 * wait, LONGEST_WAIT_MS);
      }
    }
  }
  lines.delete(piece);
  if (!unsaved()) tellIdle(true);
}

addEventListener("online", tryNow);
addEventListener("beforeunload", (event) => {
  if (unsaved()) event.preventDefault();
});
