// The doff player: plays what was solved, on the clock of the doff.

import { Teller } from "./focus.js";
import { draw } from "./stage.js";
import { Asker, Link } from "./live.js";
import { Doff } from "./played.js";
import { Steps } from "./steps.js";

const body = document.body.dataset;
const at = `/${encodeURIComponent(body.frame)}/${encodeURIComponent(body.yarn)}`;
const canvas = document.getElementById("stage");
const play = document.getElementById("play");
const slider = document.getElementById("at");
const moment = document.getElementById("moment");
const still = matchMedia("(prefers-reduced-motion: reduce)");
let [a, other, name] = [null, null, ""];
let [time, running, last] = [60 * Number(body.minute), false, 0];
const teller = new Teller(document.getElementById("outcome"));
const inches = body.units.split(",").includes("in");

const link = new Link(document.getElementById("late"));
const asker = new Asker(`/answer/player${at}`, (answer) => {
  a = new Doff(answer.a);
  other = answer.other ? new Doff(answer.other) : null;
  name = answer.name;
  play.disabled = false;
  const notes = document.getElementById("notes");
  notes.replaceChildren();
  for (const [who, one] of [["A", a], [name, other]]) {
    for (const note of one?.notes ?? []) {
      const line = document.createElement("p");
      line.className = "told";
      line.textContent = `${who}: ${note}`;
      notes.append(line);
    }
  }
  show(true);
}, link);
asker.ask(body.ask);

// The moment is part of the address once a person has chosen it: a step that can be taken back.
const steps = new Steps(at, (text) => {
  time = 60 * Number(new URLSearchParams(text).get("minute") ?? body.minute);
  show(true);
});

function query(ask = body.ask) {
  return `${ask}&minute=${(time / 60).toFixed(2)}`;
}

function chosen() {
  if (a && !running) steps.push(query());
}

steps.switchUnits(document.querySelectorAll("[data-unit-switch]"), body.units, (u) => {
  const given = new URLSearchParams(body.ask);
  given.delete("u");
  if (u) given.set("u", u);
  return query(given.toString());
});

function pace() {
  return Number(document.querySelector("input[name=pace]:checked").value);
}

function show(speak) {
  if (!a) return;
  time = Math.min(Math.max(time, 0), a.doffTime);
  slider.value = String(Math.round((1000 * time) / a.doffTime));
  const here = a.at(time);
  const there = other ? other.at(Math.min(time, other.doffTime)) : null;
  draw(canvas, { a, other, here, there, time, name, inches });
  const minute = Math.floor(time / 60);
  const words = `Minute ${minute} of ${Math.round(a.doffTime / 60)}, stroke ${here.stroke} of ${Math.round(a.strokes)}, cop ${here.cop.toFixed(1)} g`;
  slider.setAttribute("aria-valuetext", words);
  if (speak || !running) moment.textContent = words;
  if (running) teller.hush();
  else if (speak) teller.tell(() => words);
  numbers(here, there);
}

const ROWS = [
  ["Winding tension", "winding", 10, 1, "cN"],
  ["Tension below the lappet", "below", 10, 1, "cN"],
  ["Most at the triangle in a turn", "triangle", 10, 1, "cN"],
  ["Balloon height", "height", 10, 0, "mm"],
  ["Largest radius", "radius", 10, 1, "mm"],
  ["Press on the control ring", "press", 10, 1, "cN"],
  ["Wound on", "wound", 10, 1, "mm"],
  ["Spindle speed", "rpm", 1, 0, "rpm"],
];

function numbers(here, there) {
  const table = document.getElementById("now");
  if (!table.children.length) {
    for (const [words] of ROWS) {
      const row = table.insertRow();
      const head = document.createElement("th");
      head.scope = "row";
      head.textContent = words;
      row.append(head);
      for (const kind of other ? ["v", "v b"] : ["v"]) row.insertCell().className = kind;
    }
  }
  ROWS.forEach(([, key, by, digits, unit], k) => {
    [here, there].forEach((one, side) => {
      const cell = table.rows[k].cells[side + 1];
      if (!cell || !one) return;
      cell.textContent = one[key] === null ? "no steady balloon" : told(one[key] / by, digits, unit);
    });
  });
}

function told(value, digits, unit) {
  if (unit === "mm" && inches) return `${(value / 25.4).toFixed(digits + 2)}\u202fin`;
  return `${value.toFixed(digits).replace(/\B(?=(\d{3})+$)/g, digits ? "" : "\u202f")}\u202f${unit}`;
}

function step(now) {
  if (!running) return;
  const passed = Math.min(now - last, 100) / 1000;
  last = now;
  time += passed * pace();
  if (time >= a.doffTime) stop();
  show(false);
  requestAnimationFrame(step);
}

function start() {
  if (time >= a.doffTime) time = 0;
  running = true;
  play.textContent = "Pause";
  if (still.matches) {
    strokes(1);
    return;
  }
  last = performance.now();
  requestAnimationFrame(step);
}

function strokes(by) {
  if (!a) return;
  time = a.timeOfStroke(a.at(time).stroke - 1 + by);
  show(true);
  if (running && still.matches) setTimeout(() => running && strokes(20), 700);
  if (time >= a.doffTime) stop();
}

function stop() {
  running = false;
  play.textContent = "Play";
  show(true);
}

function go(seconds) {
  time += seconds;
  show(true);
}

play.addEventListener("click", () => (running ? stop() : start()));
for (const [id, by] of [["back", -1], ["on", 1]]) {
  document.getElementById(id).addEventListener("click", () => {
    strokes(by);
    chosen();
  });
}
document.getElementById("transport").addEventListener("submit", (event) => event.preventDefault());
slider.addEventListener("input", () => {
  if (!a) return;
  time = (Number(slider.value) / 1000) * a.doffTime;
  show(true);
});
slider.addEventListener("change", chosen);
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !a) return;
  if (event.target.closest("input, select, a, button")) return;
  if (event.key === " ") {
    event.preventDefault();
    if (running) stop();
    else start();
  } else if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
    event.preventDefault();
    const way = event.key === "ArrowRight" ? 1 : -1;
    if (event.shiftKey) strokes(way);
    else go(60 * way);
    chosen();
  }
});
canvas.addEventListener("click", (event) => {
  const box = canvas.getBoundingClientRect();
  const share = (event.clientX - box.left - canvas.plot[0]) / (canvas.plot[1] - canvas.plot[0]);
  if (!a || share < 0 || share > 1) return;
  time = share * a.doffTime;
  show(true);
  chosen();
});
new ResizeObserver(() => show(false)).observe(canvas.parentElement);
for (const look of ["(prefers-color-scheme: dark)", "(forced-colors: active)", "print"]) {
  matchMedia(look).addEventListener("change", () => show(false));
}
document.fonts.ready.then(() => show(false));
