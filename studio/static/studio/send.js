// One way to send something to the site and to tell apart what can come of it.

import { csrfToken } from "./csrf.js";

const PATIENCE_MS = 15000;

export const UNREACHED = "connection";
export const SIGNED_OUT = "signed out";
export const UNUSABLE = "refused";

export const TROUBLE = {
  [UNREACHED]: "The site cannot be reached.",
  [SIGNED_OUT]: "You seem to be signed out. Sign in again in another tab, or reload this page.",
  [UNUSABLE]: "The site gave no answer that can be used.",
};

const GONE = "This is not there any more, or not for who is signed in now. Reload the page.";

// Send fields (URLSearchParams or FormData) or an object as JSON. The answer is
// {answer, trouble: ""} where the site answered, however it decided, and {trouble} with one of the
// words above where it did not and the same may be sent again.
export async function send(url, content, { signal } = {}) {
  const isFields = content instanceof URLSearchParams || content instanceof FormData;
  const headers = { "X-CSRFToken": csrfToken(), Accept: "application/json" };
  if (content && !isFields) headers["Content-Type"] = "application/json";
  let response;
  try {
    response = await fetch(url, {
      method: "POST",
      body: isFields || !content ? content : JSON.stringify(content),
      headers,
      credentials: "same-origin",
      redirect: "manual",
      signal: signal ?? AbortSignal.timeout(PATIENCE_MS),
    });
    return await read(response);
  } catch (error) {
    // Who stopped it knows; a timeout is a connection that is too slow.
    if (error.name === "AbortError") throw error;
    return { trouble: UNREACHED };
  }
}

async function read(response) {
  if (response.headers.get("Content-Type")?.startsWith("application/json")) {
    return { answer: await response.json(), trouble: "", status: response.status };
  }
  return { ...withoutAnswer(response.type, response.status), status: response.status };
}

// What an answer means that is not the site's own: a page of sign-in, a fault, nothing at all.
export function withoutAnswer(type, status) {
  if (type === "opaqueredirect" || status === 403) return { trouble: SIGNED_OUT };
  if (status === 404) return { answer: { state: "problem", sentence: GONE }, trouble: "" };
  return { trouble: UNUSABLE };
}
