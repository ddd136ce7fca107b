// A form that came back with something wrong: the title says so first, and reading goes on there.

const wrong = document.querySelector("main .notice.bad[role=alert]");
if (wrong) {
  document.title = `Not saved: ${document.title}`;
  wrong.tabIndex = -1;
  wrong.focus();
}
