// One photo on its way to the site, with how much of it was sent.

import { csrfToken } from "./csrf.js";
import { SIGNED_OUT, TROUBLE, withoutAnswer } from "./send.js";

const PATIENCE_MS = 180000;
const TOO_LARGE = 413;

// Send a file; the answer's JSON, or an error with a sentence: `isFinal` where sending it again
// would change nothing.
export function upload(address, file, onProgress) {
  return new Promise((resolve, reject) => {
    const body = new FormData();
    body.append("files", file, file.name);
    const request = new XMLHttpRequest(); // fetch does not tell how much was sent
    request.open("POST", address);
    request.setRequestHeader("Accept", "application/json");
    request.setRequestHeader("X-CSRFToken", csrfToken());
    request.responseType = "json";
    request.timeout = PATIENCE_MS;
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) onProgress(event.loaded / event.total);
    });
    request.addEventListener("load", () => {
      const isSignIn =
        new URL(request.responseURL).pathname !== new URL(address, location).pathname;
      if (request.response && !isSignIn) resolve(request.response);
      else reject(lost(isSignIn ? 403 : request.status));
    });
    for (const name of ["error", "timeout", "abort"]) {
      request.addEventListener(name, () => reject(lost(0)));
    }
    request.send(body);
  });
}

function lost(status) {
  const error = new Error(wordsFor(status));
  error.isFinal = status === TOO_LARGE;
  return error;
}

function wordsFor(status) {
  if (!status) return "The connection was lost. The photo is not in yet.";
  if (status === TOO_LARGE)
    return "The photo is too large for the way here. Send a smaller version.";
  const { trouble } = withoutAnswer("basic", status);
  if (trouble === SIGNED_OUT) return `${TROUBLE[SIGNED_OUT]} Then try again.`;
  return "The site could not take it just now. Try again.";
}
