// What other computers saved, for a page that is open: asked for when the page comes back into
// view and now and then while it is seen. A page that cannot ask shows what it knew; what it
// saves is still held against what is stored.

const EVERY_MS = 20000; // two people at one batch talk about a piece for longer than this
const PATIENCE_MS = 15000;

// take(answer) is given what the site holds now: {marks, done, of}.
export function watchOthers(url, take) {
  let isAsking = false;
  const look = async () => {
    if (isAsking || document.visibilityState !== "visible") return;
    isAsking = true;
    try {
      const response = await fetch(url, {
        headers: { Accept: "application/json" },
        redirect: "manual",
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      if (response.ok) take(await response.json());
    } catch {
      // The next look asks again; a save that fails says so itself.
    } finally {
      isAsking = false;
    }
  };
  document.addEventListener("visibilitychange", look);
  addEventListener("focus", look);
  setInterval(look, EVERY_MS);
}
