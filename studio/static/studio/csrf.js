// The token by which the site knows a form of its own.

// Read at the moment of sending: whoever signs in again in another tab gets a new one in the
// cookie, and what this page was given when it was opened is refused from then on.
export function csrfToken() {
  const cookie = document.cookie.split("; ").find((part) => part.startsWith("csrftoken="));
  if (cookie) return cookie.slice("csrftoken=".length);
  return document.querySelector('meta[name="csrf-token"]').content;
}

// The same for what this page sends without a script of its own: fragments and plain forms.
document.addEventListener("htmx:configRequest", ({ detail }) => {
  detail.headers["X-CSRFToken"] = csrfToken();
});
document.addEventListener(
  "submit",
  ({ target }) => {
    const field = target.querySelector('input[name="csrfmiddlewaretoken"]');
    if (field) field.value = csrfToken();
  },
  { capture: true },
);
