/* Points over a photo: [data-confirm] holds the picture, its points and the table of sizes.

   A point moves by mouse, finger or arrow keys; the site answers with the sizes. The loupe shows
   the picture's own pixels under the point and can itself be dragged, four times as fine. */

import { Loupe } from "./photo-loupe.js";

const RING_CSS_PX = 8; // how large a point's ring is on the screen
const NEAR_CSS_PX = 30; // a finger takes the nearest point within this
const ASK_EVERY_MS = 90;

const box = document.querySelector("[data-confirm]");
const svg = box?.querySelector("[data-svg]");
const form = box?.querySelector("[data-form]");

if (svg && form) {
  const token = document.querySelector('meta[name="csrf-token"]').content;
  const view = svg.viewBox.baseVal;
  const field = form.querySelector("[data-points-field]");
  const points = JSON.parse(field.value);
  const start = structuredClone(points);
  const groups = new Map([...svg.querySelectorAll("[data-point]")].map((g) => [g.dataset.point, g]));
  const word = box.querySelector("[data-point-name]");
  const nudge = box.querySelector("[data-nudge]");
  const loupe = new Loupe(box.querySelector("[data-loupe]"), svg, move);
  let active = null;
  let drag = null;
  let asked = 0;
  let timer = 0;

  const [width, height] = [Number(svg.dataset.width), Number(svg.dataset.height)];
  const scale = () => view.width / svg.getBoundingClientRect().width;

  function draw(name) {
    const [x, y] = points[name];
    groups.get(name).setAttribute("transform", `translate(${x} ${y}) scale(${(RING_CSS_PX / 1.25) * scale()})`);
  }

  function activate(name) {
    if (active === name) return;
    if (active) groups.get(active).classList.remove("is-active");
    active = name;
    box.classList.toggle("has-active", Boolean(name));
    nudge.hidden = !name;
    if (!name) {
      word.textContent = "";
      loupe.hide();
      return;
    }
    groups.get(name).classList.add("is-active");
    word.textContent = groups.get(name).getAttribute("aria-label");
    loupe.show(points[name]);
  }

  function move(dx, dy) {
    if (!active) return;
    const [x, y] = points[active];
    points[active] = [
      Math.min(Math.max(x + dx, 0), width - 1),
      Math.min(Math.max(y + dy, 0), height - 1),
    ].map((c) => Math.round(c * 100) / 100);
    draw(active);
    groups.get(active).classList.remove("is-unplaced");
    loupe.show(points[active]);
    field.value = JSON.stringify(points);
    ask();
  }

  function place(event) {
    const rect = svg.getBoundingClientRect();
    const by = view.width / rect.width;
    return [view.x + (event.clientX - rect.left) * by, view.y + (event.clientY - rect.top) * by];
  }

  function nearest([x, y]) {
    let best = [NEAR_CSS_PX * scale(), null];
    for (const [name, [px, py]] of Object.entries(points)) {
      // The active point is easier to take again than its neighbours.
      const far = Math.hypot(px - x, py - y) * (name === active ? 0.6 : 1);
      if (far < best[0]) best = [far, name];
    }
    return best[1];
  }

  svg.addEventListener("pointerdown", (event) => {
    if (svg.dataset.mode && svg.dataset.mode !== "points") return;
    const at = place(event);
    const name = nearest(at);
    if (!name) return activate(null);
    event.preventDefault();
    activate(name);
    groups.get(name).focus({ preventScroll: true });
    svg.setPointerCapture(event.pointerId);
    drag = { id: event.pointerId, at };
  });
  svg.addEventListener("pointermove", (event) => {
    if (!drag || drag.id !== event.pointerId) return;
    const at = place(event);
    move(at[0] - drag.at[0], at[1] - drag.at[1]);
    drag.at = at;
    loupe.keepClearOf(event);
  });
  for (const name of ["pointerup", "pointercancel"]) {
    svg.addEventListener(name, (event) => {
      if (drag?.id === event.pointerId) drag = null;
    });
  }
  // A finger on a point moves the point, not the page; elsewhere on the photo it scrolls.
  svg.addEventListener(
    "touchstart",
    (event) => {
      if (event.touches.length === 1 && nearest(place(event.touches[0]))) event.preventDefault();
    },
    { passive: false },
  );

  for (const [name, g] of groups) {
    g.addEventListener("focus", () => activate(name));
    g.addEventListener("keydown", (event) => {
      const step = event.shiftKey ? 10 : 1;
      const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
      if (by) {
        event.preventDefault();
        move(...by);
      } else if (event.key === "Escape") {
        putBack();
      }
    });
  }

  nudge.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.dataset.move) move(...button.dataset.move.split(" ").map(Number));
    else if ("nextPoint" in button.dataset) step(1);
    else if ("back" in button.dataset) putBack();
  });

  function step(by) {
    const names = [...groups.keys()];
    activate(names[(names.indexOf(active) + by + names.length) % names.length]);
  }

  function putBack() {
    if (!active) return;
    move(start[active][0] - points[active][0], start[active][1] - points[active][1]);
  }

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const typing = event.target.closest("input:not([type=checkbox]), select, textarea");
    const acting = event.target.closest("a, button, summary, input[type=checkbox]");
    if (event.key === "Enter" && !typing && !acting) {
      event.preventDefault();
      const go = form.querySelector("[data-go]");
      if (!go.disabled) form.requestSubmit(go);
    } else if ((event.key === "s" || event.key === "S") && !typing) {
      box.querySelector("[data-skip]")?.click();
    }
  });

  /* The sizes follow: one question under way at a time, the newest points asked last. */
  function ask() {
    clearTimeout(timer);
    timer = setTimeout(send, Math.max(0, asked + ASK_EVERY_MS - Date.now()));
  }

  let under = false;
  let stale = false;

  async function send() {
    if (under) {
      stale = true;
      return;
    }
    under = true;
    asked = Date.now();
    try {
      const answer = await fetch(box.dataset.sizes, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token },
        body: JSON.stringify({ points }),
      });
      if (!answer.ok) throw new Error(String(answer.status));
      const said = await answer.json();
      tell(said.problem);
      if (!said.problem) show(said.lines);
    } catch {
      tell("The sizes could not be worked out just now; the points are still here. Check the connection.");
    } finally {
      under = false;
      if (stale) {
        stale = false;
        ask();
      }
    }
  }

  function tell(problem) {
    const line = form.querySelector("[data-problem]");
    line.textContent = problem;
    line.hidden = !problem;
    form.classList.toggle("is-stale", Boolean(problem));
  }

  function show(lines) {
    const body = form.querySelector("[data-lines]");
    const rows = new Map([...body.querySelectorAll("[data-line]")].map((row) => [row.dataset.line, row]));
    if (lines.length && !rows.size) body.replaceChildren();
    form.querySelector("[data-unsure-all]").hidden = lines.some((line) => line.trusted);
    const told = new Set(lines.map((line) => line.key));
    for (const [key, row] of rows) if (!told.has(key)) row.remove();
    for (const line of lines) fill(rows.get(line.key) ?? append(body), line);
  }

  function append(body) {
    const row = form.querySelector("[data-row]").content.firstElementChild.cloneNode(true);
    body.append(row);
    return row;
  }

  function fill(row, line) {
    const put = (name, text) => {
      row.querySelector(`[data-${name}]`).textContent = text;
    };
    const isNew = row.dataset.line !== line.key;
    row.dataset.line = line.key;
    row.classList.toggle("unsure", !line.trusted);
    row.toggleAttribute("data-disagrees", line.disagrees);
    put("label", line.label);
    put("note", line.note);
    row.querySelector("[data-note]").hidden = !line.note;
    put("value", line.value);
    put("unit", line.unit);
    put("doubt", line.doubt);
    put("hand", line.hand ?? "–");
    row.querySelector("[data-differs]").hidden = !line.disagrees;
    row.querySelector("[data-unsure]").hidden = line.trusted;
    const keep = row.querySelector("[data-keep]");
    // A size that a hand has just made sure is kept unless the teacher says otherwise.
    if (isNew || row.dataset.sure !== String(line.trusted)) keep.checked = line.keep;
    row.dataset.sure = String(line.trusted);
    row.querySelector("[data-keep-box]").hidden = !line.may_keep;
    keep.value = line.key;
    keep.disabled = !line.may_keep;
  }

  const zoom = box.querySelector("[data-zoom]");
  zoom?.addEventListener("click", () => {
    const close = zoom.getAttribute("aria-pressed") === "true";
    zoom.setAttribute("aria-pressed", String(!close));
    svg.setAttribute("viewBox", close ? svg.dataset.close : svg.dataset.whole);
    for (const name of groups.keys()) draw(name);
    svg.dispatchEvent(new Event("zoomed"));
  });

  new ResizeObserver(() => {
    for (const name of groups.keys()) draw(name);
  }).observe(svg);
}
