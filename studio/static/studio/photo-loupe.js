/* A round window on the photo's own pixels under a point. Drag in it to move the point finely. */

const TIMES = 4; // one pixel of the photo is so many of the screen

export class Loupe {
  constructor(canvas, svg, move) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d");
    this.image = new Image();
    this.view = svg.viewBox.baseVal;
    this.width = Number(svg.dataset.width);
    this.svg = svg;
    // The large file is fetched only when somebody first looks closely.
    this.full = svg.querySelector("image").dataset.full;
    this.image.addEventListener("load", () => {
      svg.querySelector("image").setAttribute("href", this.full);
      if (this.at) this.show(this.at);
    });
    // A desk shows the photo large and looks close anyway; a phone saves its data until asked.
    if (matchMedia("(pointer: fine)").matches) this.image.src = this.full;
    let from = null;
    canvas.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      canvas.setPointerCapture(event.pointerId);
      from = [event.clientX, event.clientY];
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!from) return;
      // The picture moves under the cross, so the point goes the other way.
      move((from[0] - event.clientX) / TIMES, (from[1] - event.clientY) / TIMES);
      from = [event.clientX, event.clientY];
    });
    for (const name of ["pointerup", "pointercancel"]) {
      canvas.addEventListener(name, () => {
        from = null;
      });
    }
  }

  show(at) {
    this.at = at;
    if (!this.image.src) this.image.src = this.full;
    this.canvas.hidden = false;
    // Away from the point: it would cover what it shows.
    const [x, y] = [
      (at[0] - this.view.x) / this.view.width,
      (at[1] - this.view.y) / this.view.height,
    ];
    this.canvas.classList.toggle("at-right", x < 0.5);
    this.canvas.classList.toggle("at-bottom", y < 0.35);
    this.draw();
  }

  keepClearOf(event) {
    const rect = this.svg.getBoundingClientRect();
    this.canvas.classList.toggle("at-right", event.clientX < rect.left + rect.width / 2);
  }

  hide() {
    this.at = null;
    this.canvas.hidden = true;
  }

  draw() {
    const { context, canvas, image } = this;
    const ink = getComputedStyle(canvas);
    const ratio = devicePixelRatio || 1;
    const side = Math.round(canvas.clientWidth * ratio);
    if (canvas.width !== side && side) canvas.width = canvas.height = side;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, canvas.width, canvas.height);
    const middle = canvas.width / 2;
    if (image.complete && image.naturalWidth) {
      const times = TIMES * ratio * (this.width / image.naturalWidth);
      context.imageSmoothingEnabled = false;
      // Pixel centres are whole numbers: the first pixel reaches from -0.5 to 0.5.
      context.setTransform(times, 0, 0, times, middle, middle);
      const to = image.naturalWidth / this.width;
      context.drawImage(image, -(this.at[0] + 0.5) * to, -(this.at[1] + 0.5) * to);
      context.setTransform(1, 0, 0, 1, 0, 0);
    }
    for (const [colour, width] of [
      [ink.backgroundColor, 3 * ratio],
      [ink.color, ratio],
    ]) {
      context.strokeStyle = colour;
      context.lineWidth = width;
      context.beginPath();
      for (const [dx, dy] of [
        [1, 0],
        [-1, 0],
        [0, 1],
        [0, -1],
      ]) {
        context.moveTo(middle + dx * 6 * ratio, middle + dy * 6 * ratio);
        context.lineTo(middle + dx * 30 * ratio, middle + dy * 30 * ratio);
      }
      context.stroke();
    }
  }
}
