// A lesson: one part to move; the drawing, the numbers and the reason follow, and the value stands in the address.

import { Field } from "./fields.js";
import { Asker, Link } from "./live.js";
import { Steps } from "./steps.js";

const { lesson, frame, yarn, units } = document.body.dataset;
const at = `/${[lesson, frame, yarn].map(encodeURIComponent).join("/")}`;
const form = document.getElementById("lesson");
const asker = new Asker(`/answer/lesson${at}`, show, new Link(document.getElementById("late")));
const field = new Field(form.querySelector(".control"), moved, settled);
const FILLED = "ringwright-lesson-fills";
const COVERED = "ringwright-lesson-covers";

function query(u = units) {
  return `${u ? `u=${encodeURIComponent(u)}&` : ""}at=${encodeURIComponent(field.value)}`;
}

function moved() {
  document.body.dataset.fresh = "no";
  asker.ask(query());
}

function settled() {
  steps.push(query());
  moved();
}

function show(answer, asked) {
  field.tell(answer.faults);
  document.body.dataset.echo = answer.echo;
  document.getElementById("inputs").textContent = answer.echo;
  document.body.dataset.fresh = asked === query() ? "yes" : "no";
  document.body.classList.toggle("refused", answer.faults.length > 0);
  for (const [id, words] of Object.entries(answer.html ?? {})) document.getElementById(id).innerHTML = words;
  document.getElementById("pdf").href = `/lesson${at}/lesson.pdf?${query()}`;
  if (answer.said) document.getElementById("said").textContent = answer.said;
}

const steps = new Steps(at, (text) => {
  field.set(new URLSearchParams(text).get("at"));
  moved();
});
steps.switchUnits(document.querySelectorAll("[data-unit-switch]"), units, query);
form.addEventListener("submit", (event) => event.preventDefault());

// A button that changes how the lesson is shown, kept for the next lesson.
function switched(button, name, on, words, store) {
  document.body.classList.toggle(name, on);
  button.setAttribute("aria-pressed", String(on));
  button.textContent = words;
  if (on) sessionStorage.setItem(store, "yes");
  else sessionStorage.removeItem(store);
}

const fill = document.getElementById("fill");

function filled(on) {
  switched(fill, "filled", on, on ? "Leave the large view" : "Fill the screen", FILLED);
  if (on) window.scrollTo(0, 0);
}

fill.addEventListener("click", async () => {
  const on = !document.body.classList.contains("filled");
  filled(on);
  if (on) await document.documentElement.requestFullscreen?.().catch(() => undefined);
  else if (document.fullscreenElement) await document.exitFullscreen();
});
document.addEventListener("fullscreenchange", () => {
  if (!document.fullscreenElement) filled(false);
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !document.fullscreenElement && event.target.tagName !== "INPUT") filled(false);
});

// The class says first what it expects: drawing, numbers and reason stay covered until they are wanted.
const cover = document.getElementById("cover");

function covered(on) {
  switched(cover, "covered", on, on ? "Show the answer" : "Cover the answer", COVERED);
}

cover.addEventListener("click", () => covered(!document.body.classList.contains("covered")));
document.getElementById("print").addEventListener("click", () => window.print());
if (sessionStorage.getItem(FILLED)) filled(true);
if (sessionStorage.getItem(COVERED)) covered(true);
moved();
