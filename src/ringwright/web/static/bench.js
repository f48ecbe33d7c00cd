// The bench: fields and parts on one side, answers on the other, and the address between them.

import { Balloon } from "./balloon.js";
import { Field, plain } from "./fields.js";
import { Teller, fill as refill } from "./focus.js";
import { Asker, Link } from "./live.js";
import { Steps } from "./steps.js";

const form = document.getElementById("bench");
const at = `/${encodeURIComponent(document.body.dataset.frame)}/${encodeURIComponent(document.body.dataset.yarn)}`;
const link = new Link(document.getElementById("late"));
const balloon = new Balloon(document.getElementById("balloon"), document.getElementById("turn"), document.getElementById("tilt"));
const fields = new Map();
const switches = [...form.querySelectorAll(".switch")];
let part = document.body.dataset.part;
let kept = [...form.querySelectorAll('input[type=hidden][name^="b"]')].map((one) => [one.name, one.value]);
const units = form.querySelector("input[name=u]").value;

for (const control of form.querySelectorAll(".control:not(.switch)")) {
  const key = control.dataset.key;
  const field = new Field(control, () => touch(key, () => moved(key)), () => touch(key, settled));
  fields.set(field.key, field);
}
for (const one of switches) {
  one.addEventListener("change", () => touch(one.dataset.key, settled));
}

function touch(key, act) {
  touched = key;
  act();
}

function chosen(one) {
  return one.querySelector("input:checked").value;
}

function tried() {
  const pairs = [...fields.values()].filter((f) => f.changed && !isMoment(f.key)).map((f) => [f.key, f.value]);
  for (const one of switches) if (chosen(one) !== one.dataset.usual) pairs.push([one.dataset.key, chosen(one)]);
  return pairs;
}

function isMoment(key) {
  return key === "doff" || key === "chase";
}

function query(changes = {}) {
  const { a = tried(), b = kept, u = units } = changes;
  const moment = [...fields.values()].filter((f) => f.changed && isMoment(f.key)).map((f) => [f.key, f.value]);
  const pairs = [...a, ...moment, ...b, ["part", part]];
  if (u) pairs.push(["u", u]);
  return pairs.map((pair) => pair.map(encodeURIComponent).join("=")).join("&");
}

const place = new Asker(`/answer/place${at}`, showPlace, link);
const doff = new Asker(`/answer/doff${at}`, (answer, asked) => put(answer.html, asked !== doff.wanted), link);
const rooms = new Asker(`/answer/rooms${at}`, showRooms, link);
const ends = new Asker(`/answer/ends${at}`, showEnds, link);
const paler = new Map();
const filled = new Map();
const teller = new Teller(document.getElementById("outcome"));
let later = 0;
let roomsLater = 0;
let touched = "";
let refused = false;

function moved(key) {
  const now = query();
  teller.hush();
  document.body.dataset.fresh = "no";
  place.ask(key ? `${now}&m=${key}` : now);
  doff.ask(`${now}&w=${wide()}`);
  rooms.wanted = now;
  clearTimeout(roomsLater);
  roomsLater = setTimeout(askRooms, 100);
  wait("rooms", !rooms.fresh);
  askEnds();
}

// The rooms are asked for once the drawing has its answer, so that they do not take the processor from it.
function askRooms() {
  clearTimeout(roomsLater);
  if (!rooms.fresh) rooms.ask(rooms.wanted);
}

// The forbidden ends are of no haste: asked for when the slider rests.
function askEnds() {
  clearTimeout(later);
  later = setTimeout(() => ends.ask(query()), 400);
}

function showEnds(answer) {
  for (const [key, found] of Object.entries(answer.ends)) fields.get(key)?.hatch(found.spans, found.words);
}

function settled() {
  steps.push(query());
  moved();
}

const steps = new Steps(at, apply);

function apply(text) {
  const given = new URLSearchParams(text);
  for (const field of fields.values()) field.set(given.get(field.key));
  for (const one of switches) {
    const word = given.get(one.dataset.key) ?? one.dataset.usual;
    for (const input of one.querySelectorAll("input")) input.checked = input.value === word;
  }
  kept = [...given].filter(([key]) => key === "b" || key.startsWith("b_"));
  choose(given.get("part") ?? part, false);
  touch("undo", moved);
}

function wide() {
  return Math.min(900, Math.max(260, Math.round(document.getElementById("doff").clientWidth / 20) * 20));
}

// What has not come after half a second is shown paler; what comes sooner is not drawn twice.
function wait(id, on) {
  const box = document.getElementById(id);
  if (on === (box.getAttribute("aria-busy") === "true")) return;
  box.setAttribute("aria-busy", String(on));
  clearTimeout(paler.get(id));
  if (on) paler.set(id, setTimeout(() => box.classList.add("waiting"), 500));
  else box.classList.remove("waiting");
}

// Words that stand there already are not laid out again.
function fill(id, words) {
  if (filled.get(id) === words) return;
  filled.set(id, words);
  refill(document.getElementById(id), words);
}

// Said once all has come: the number of the chosen part, and the limit that is nearest.
function outcome() {
  const words = (name) => document.querySelector(name)?.textContent.replace(/\s+/g, " ").trim() ?? "";
  const part = `${words(".label.chosen .part-name")}: ${words(".label.chosen .part-number")}.`;
  const nearest = `Nearest limit: ${words("#rooms .walls b")}, ${words("#rooms .walls .gap b")}.`;
  const moment = isMoment(touched) ? `${words("#moment-words")}.` : "";
  return [moment, words("#about .told"), part, words("#rooms .walls") && nearest].filter(Boolean).join(" ");
}

function tell() {
  if (touched && !refused && place.fresh && rooms.fresh) teller.tell(outcome);
}

// old: a newer question is on its way, so that what is put is not yet of the inputs shown
function put(html, old = false) {
  for (const [id, words] of Object.entries(html ?? {})) {
    fill(id, words);
    if (id === "doff" || id === "rooms") wait(id, old);
  }
  tell();
}

function showRooms(answer, asked) {
  put(answer.html, asked !== rooms.wanted);
  steps.toFocus(); // what was taken up again after the page was read anew is in sight again
}

function showPlace(answer, asked) {
  askRooms();
  for (const field of fields.values()) field.tell(answer.faults[field.key]);
  document.body.dataset.echo = answer.echo;
  document.getElementById("inputs").textContent = answer.echo;
  document.body.dataset.fresh = asked.replace(/&m=\w+$/, "") === query() ? "yes" : "no";
  for (const one of document.querySelectorAll(".strip nav a[data-page]")) one.href = `/${one.dataset.page}${at}?${query()}`;
  refused = !answer.pieces; // its sentence is an alert of its own
  if (refused) return;
  for (const [id, words] of Object.entries(answer.pieces)) fill(id, words);
  for (const [name, y, words] of answer.labels) {
    const label = form.querySelector(`.label[data-part="${name}"]`);
    label.setAttribute("transform", `translate(0 ${y.toFixed(1)})`);
    label.querySelector(".part-number").textContent = words;
    form.querySelector(`.parts a[data-part="${name}"] span`).textContent = words;
  }
  document.getElementById("kept")?.remove();
  put(answer.html);
  for (const field of fields.values()) {
    field.mark(answer.marks_b[field.key]);
    field.stand(answer.marks_a[field.key]);
  }
  document.getElementById("cell-b").classList.toggle("empty", !kept.length);
  balloon.show(answer.line, answer.line_b);
}

function choose(name, ask = true) {
  part = name;
  document.body.dataset.part = name;
  form.querySelector("input[name=part]").value = name;
  for (const one of form.querySelectorAll("a[data-part]")) {
    one.classList.toggle("chosen", one.dataset.part === name);
    if (one.dataset.part === name) one.setAttribute("aria-current", "true");
    else one.removeAttribute("aria-current");
  }
  let any = false;
  for (const control of document.querySelectorAll("#controls .control")) {
    const here = control.dataset.parts.split(" ").includes(name);
    control.hidden = !here;
    any ||= here;
  }
  document.getElementById("no-control").hidden = any;
  document.getElementById("turned").hidden = name !== "balloon";
  if (ask) {
    touched = "part";
    steps.replace(query());
    document.body.dataset.fresh = "no";
    place.ask(query());
    askEnds();
  }
}

form.addEventListener("click", (event) => {
  const named = event.target.closest("[data-part]");
  if (named && form.contains(named)) {
    event.preventDefault();
    choose(named.dataset.part);
  }
});
form.addEventListener("keydown", (event) => {
  const label = event.target.closest(".label, .parts a");
  const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  if (!label || !step) return;
  const all = [...label.parentNode.querySelectorAll("a")];
  event.preventDefault();
  all[(all.indexOf(label) + step + all.length) % all.length].focus();
});
form.addEventListener("submit", (event) => event.preventDefault());

function go(event, changes) {
  event.preventDefault();
  steps.go(query(changes));
}

const asB = (pairs) => [["b", "1"], ...pairs.map(([key, word]) => [`b_${key}`, word])];
document.getElementById("keep").addEventListener("click", (event) => go(event, { b: asB(tried()) }));
document.getElementById("as-set").addEventListener("click", (event) => go(event, { b: asB([]) }));
document.getElementById("drop")?.addEventListener("click", (event) => {
  document.getElementById("keep").focus(); // this button will not be there any more
  go(event, { b: [] });
});
document.getElementById("swap")?.addEventListener("click", (event) => {
  const other = kept.filter(([key]) => key !== "b").map(([key, word]) => [key.slice(2), plain(word)]);
  go(event, { a: other, b: asB(tried()) });
});
steps.switchUnits(form.querySelectorAll("[data-unit-switch]"), units, (u) => query({ u }));
document.getElementById("doff").addEventListener("click", (event) => {
  const chart = event.target.closest("svg");
  if (!chart) return;
  const box = chart.getBoundingClientRect();
  const [left, right] = [40 * 1.12, 84 * 1.12];
  const share = (event.clientX - box.left - left) / (box.width - left - right);
  if (share < 0 || share > 1) return;
  const field = fields.get("doff");
  field.set(`${Math.round(share * 100)} %`);
  touch("doff", settled);
});
choose(part, false);
moved();
