/* The seam on a photo: [data-seam-box] turns clicks into a line and drags along it into marked
   parts. What it measures comes from the site; nothing is kept before "Keep the seam". */

const box = document.querySelector("[data-confirm]");
const panel = box?.querySelector("[data-seam-box]");

if (panel) {
  const svg = box.querySelector("[data-svg]");
  const layer = svg.querySelector("[data-seam-layer]");
  const view = svg.viewBox.baseVal;
  const token = document.querySelector('meta[name="csrf-token"]').content;
  const said = panel.querySelector("[data-seam-said]");
  const list = panel.querySelector("[data-seam-parts]");
  const button = (name) => panel.querySelector(`[data-seam-${name}]`);
  const kept = JSON.parse(panel.querySelector("[data-seam-kept]").textContent || "{}");
  const line = kept.line ?? [];
  const parts = kept.parts ?? [];
  let mode = "points";
  let drag = null;

  function setMode(name) {
    mode = name;
    svg.dataset.mode = name;
    for (const one of panel.querySelectorAll("[data-mode]")) {
      one.setAttribute("aria-pressed", String(one.dataset.mode === name));
    }
  }

  panel.addEventListener("click", (event) => {
    const chosen = event.target.closest("[data-mode]");
    if (chosen) setMode(chosen.dataset.mode);
    const typed = event.target.closest("[data-seam-add]");
    if (typed) addTyped(typed.dataset.seamAdd);
    const gone = event.target.closest("[data-remove]");
    if (gone) {
      parts.splice(Number(gone.dataset.remove), 1);
      changed();
    }
  });
  panel.addEventListener("toggle", () => setMode(panel.open && !points() ? "line" : "points"));

  const points = () => svg.querySelector("[data-point]");

  function place(event) {
    const rect = svg.getBoundingClientRect();
    const by = view.width / rect.width;
    return [view.x + (event.clientX - rect.left) * by, view.y + (event.clientY - rect.top) * by].map(
      (c) => Math.round(c * 100) / 100,
    );
  }

  /* Share of the line's length at its place nearest to a point of the picture. */
  function shareAt([x, y]) {
    let walked = 0;
    let best = [Infinity, 0];
    for (let k = 1; k < line.length; k += 1) {
      const [ax, ay] = line[k - 1];
      const [dx, dy] = [line[k][0] - ax, line[k][1] - ay];
      const length = Math.hypot(dx, dy) || 1e-9;
      const t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / length ** 2));
      const far = Math.hypot(ax + t * dx - x, ay + t * dy - y);
      if (far < best[0]) best = [far, walked + t * length];
      walked += length;
    }
    return walked ? best[1] / walked : 0;
  }

  function pointsBetween(from, to) {
    const steps = [];
    const lengths = line.slice(1).map((p, k) => Math.hypot(p[0] - line[k][0], p[1] - line[k][1]));
    const total = lengths.reduce((sum, one) => sum + one, 0);
    const at = (share) => {
      let left = share * total;
      for (let k = 0; k < lengths.length; k += 1) {
        if (left <= lengths[k] || k === lengths.length - 1) {
          const t = lengths[k] ? left / lengths[k] : 0;
          return [line[k][0] + t * (line[k + 1][0] - line[k][0]), line[k][1] + t * (line[k + 1][1] - line[k][1])];
        }
        left -= lengths[k];
      }
      return line[0];
    };
    let walked = 0;
    steps.push(at(from));
    for (let k = 0; k < lengths.length; k += 1) {
      walked += lengths[k];
      if (walked / total > from && walked / total < to) steps.push(line[k + 1]);
    }
    steps.push(at(to));
    return steps;
  }

  svg.addEventListener("pointerdown", (event) => {
    if (mode === "points") return;
    event.preventDefault();
    if (mode === "line") {
      line.push(place(event));
      changed();
    } else if (line.length > 1) {
      svg.setPointerCapture(event.pointerId);
      const share = shareAt(place(event));
      drag = { from: share, to: share };
    } else {
      said.textContent = "Draw the seam first.";
    }
  });
  svg.addEventListener("pointermove", (event) => {
    if (!drag) return;
    drag.to = shareAt(place(event));
    draw();
  });
  svg.addEventListener("pointerup", () => {
    if (!drag) return;
    const part = [Math.min(drag.from, drag.to), Math.max(drag.from, drag.to), mode];
    drag = null;
    if (part[1] - part[0] > 0.002) parts.push(part);
    changed();
  });

  function addTyped(kind) {
    const read = (id) => Number(panel.querySelector(id).value.replace(",", ".")) / 100;
    const [from, to] = [read("#seam-from"), read("#seam-to")];
    if (!(from >= 0 && to <= 1 && from < to)) {
      said.textContent = "Write where it begins and ends, in per cent of the seam from the foot up: 0 to 100.";
      return;
    }
    parts.push([from, to, kind]);
    changed();
  }

  button("undo").addEventListener("click", () => {
    if (mode === "line" || !parts.length) line.pop();
    else parts.pop();
    changed();
  });
  button("clear").addEventListener("click", () => {
    line.length = 0;
    parts.length = 0;
    changed();
  });
  button("keep").addEventListener("click", () => ask(true));

  /* With the keyboard alone: Insert sets a corner above the last, arrows move the last one. */
  svg.addEventListener("keydown", keys);
  panel.addEventListener("keydown", keys);
  function keys(event) {
    if (mode !== "line" || event.target.matches("input")) return;
    const step = event.shiftKey ? 10 : 1;
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (event.key === "Insert" || event.key === "+") {
      const [x, y] = line.at(-1) ?? [view.x + view.width / 2, view.y + view.height * 0.75];
      line.push([x, Math.max(0, y - view.height / 12)]);
    } else if (by && line.length) {
      const last = line.at(-1);
      line[line.length - 1] = [last[0] + by[0], last[1] + by[1]];
    } else {
      return;
    }
    event.preventDefault();
    changed();
  }

  function draw() {
    layer.replaceChildren();
    const add = (name, attributes) => {
      const element = document.createElementNS("http://www.w3.org/2000/svg", name);
      for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
      layer.append(element);
    };
    const text = (corners) => corners.map((p) => p.join(",")).join(" ");
    if (line.length) {
      add("polyline", { class: "seam-ground", points: text(line) });
      add("polyline", { class: "seam-line", points: text(line) });
    }
    const marks = drag ? [...parts, [Math.min(drag.from, drag.to), Math.max(drag.from, drag.to), mode]] : parts;
    if (line.length > 1) {
      for (const [from, to, kind] of marks) {
        if (to > from) add("polyline", { class: `seam-part ${kind}`, points: text(pointsBetween(from, to)) });
      }
    }
    const radius = (4 * view.width) / svg.getBoundingClientRect().width;
    for (const [x, y] of line) add("circle", { class: "seam-corner", cx: x, cy: y, r: radius });
  }

  let timer = 0;
  function changed() {
    draw();
    button("keep").disabled = line.length < 2;
    button("undo").disabled = button("clear").disabled = !line.length;
    if (!line.length) {
      said.textContent = "";
      list.replaceChildren();
      return;
    }
    clearTimeout(timer);
    timer = setTimeout(() => ask(false), 150);
  }

  async function ask(keep) {
    if (line.length < 2) return;
    clearTimeout(timer);
    try {
      const answer = await fetch(box.dataset.seam, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token },
        body: JSON.stringify({ line, parts, keep }),
      });
      if (!answer.ok) throw new Error(String(answer.status));
      const told = await answer.json();
      said.textContent = told.problem || (told.kept ? `Kept. ${told.said}` : told.said);
      if (!told.problem) tell(told.parts);
    } catch {
      said.textContent = "The site did not answer; the drawing is still here. Check the connection.";
    }
  }

  function tell(told) {
    // Overlapping marks come back as one: they are shown as they count.
    parts.splice(0, parts.length, ...told.map((one) => [one.from, one.to, one.kind]));
    list.replaceChildren(
      ...told.map((one, k) => {
        const row = document.createElement("li");
        row.append(`${one.text} `);
        const gone = document.createElement("button");
        gone.type = "button";
        gone.className = "button small quiet";
        gone.dataset.remove = k;
        gone.textContent = "Take away";
        row.append(gone);
        return row;
      }),
    );
    draw();
  }

  setMode(points() ? "points" : panel.open ? "line" : "points");
  if (line.length) changed();
  new ResizeObserver(draw).observe(svg);
  svg.addEventListener("zoomed", draw);
}
