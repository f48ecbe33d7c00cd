// The balloon in three dimensions: the solved yarn, turned by hand; ghosts show where it passes in one turn.

const GHOSTS = 12;

export class Balloon {
  constructor(canvas, turn, tilt) {
    Object.assign(this, { canvas, turn, tilt, a: null, b: null });
    for (const slider of [turn, tilt]) slider.addEventListener("input", () => this.draw());
    canvas.addEventListener("keydown", (event) => this.press(event));
    canvas.addEventListener("pointermove", (event) => {
      if (event.buttons !== 1) return;
      this.move(event.movementX, event.movementY);
    });
    for (const look of ["(prefers-color-scheme: dark)", "(forced-colors: active)"]) {
      matchMedia(look).addEventListener("change", () => this.draw());
    }
  }

  press(event) {
    const by = { ArrowLeft: [-5, 0], ArrowRight: [5, 0], ArrowUp: [0, -5], ArrowDown: [0, 5] }[event.key];
    if (!by) return;
    event.preventDefault();
    this.move(...by);
  }

  move(x, y) {
    this.turn.value = String((Number(this.turn.value) + x + 360) % 360);
    this.tilt.value = String(Number(this.tilt.value) + y);
    this.draw();
  }

  show(a, b) {
    this.a = a;
    this.b = b;
    if (!this.canvas.parentElement.hidden) this.draw();
  }

  draw() {
    const pen = this.canvas.getContext("2d");
    const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    const { width, height } = this.canvas;
    pen.clearRect(0, 0, width, height);
    if (!this.a) {
      pen.fillStyle = colour("--ink");
      pen.font = "15px sans-serif";
      pen.fillText("No steady balloon.", 20, 40);
      return;
    }
    const tall = this.a.z[this.a.z.length - 1];
    const scale = Math.min((height - 60) / tall, (width - 40) / (2.4 * Math.max(...this.a.r)));
    const tilt = (Number(this.tilt.value) * Math.PI) / 180;
    const spin = (Number(this.turn.value) * Math.PI) / 180;
    const seen = (r, angle, z) => [
      width / 2 + scale * r * Math.cos(angle),
      height / 2 + scale * ((z - tall / 2) * Math.cos(tilt) + r * Math.sin(angle) * Math.sin(tilt)),
    ];
    const yarn = (line, turned) => {
      pen.beginPath();
      line.z.forEach((z, k) => pen.lineTo(...seen(line.r[k], line.a[k] / 1000 + turned, z)));
      pen.stroke();
    };
    const round = (r, z) => {
      pen.beginPath();
      for (let k = 0; k <= 48; k += 1) pen.lineTo(...seen(r, (k * Math.PI) / 24, z));
      pen.stroke();
    };
    pen.strokeStyle = colour("--ink");
    pen.lineWidth = 2;
    round(this.a.ring, tall);
    pen.strokeStyle = colour("--line");
    pen.lineWidth = 0.7;
    for (let k = 1; k < GHOSTS; k += 1) yarn(this.a, spin + (k * 2 * Math.PI) / GHOSTS);
    if (this.b) {
      pen.strokeStyle = colour("--madder");
      pen.lineWidth = 2;
      pen.setLineDash([6, 4]);
      yarn(this.b, spin);
      pen.setLineDash([]);
    }
    pen.strokeStyle = colour("--woad");
    pen.lineWidth = 2.6;
    yarn(this.a, spin);
  }
}
