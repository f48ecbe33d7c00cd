// A number field with its slider and its two buttons: one value, three ways to hold it.

const NARROW = "\u202f";
const BARE = /^[\d\s.,]*\d$/;

export function written(number, step, unit) {
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  let text = Math.abs(number).toFixed(decimals).replace(/(\.\d*?)0+$/, "$1").replace(/\.$/, "");
  const [whole, part] = text.split(".");
  text = whole.replace(/\B(?=(\d{3})+$)/g, NARROW) + (part ? `.${part}` : "");
  return (number < 0 ? "\u2212" : "") + text + (unit ? ` ${unit}` : "");
}

export function plain(text) {
  return text.trim().replaceAll(NARROW, "").replaceAll("\u00a0", " ");
}

function figure(text, unit) {
  const found = plain(text).match(/^(-?[\d ]*\.?\d+)\s*(.*)$/);
  if (!found || (found[2] && found[2] !== unit)) return null;
  return Number(found[1].replaceAll(" ", ""));
}

export class Field {
  // moved(): while it moves; settled(): when a change is done
  constructor(control, moved, settled) {
    this.control = control;
    this.key = control.dataset.key;
    this.input = control.querySelector("input[name]");
    this.slider = control.querySelector("input[type=range]");
    this.fault = control.querySelector(".fault");
    this.passed = control.querySelector(".passed");
    this.ends = control.querySelector(".ends");
    this.usual = this.input.dataset.usual;
    this.unit = this.slider.dataset.unit;
    this.step = Number(this.slider.step);
    this.last = this.input.value;
    this.slider.setAttribute("aria-valuetext", this.input.value);
    this.slider.addEventListener("input", () => this.take(Number(this.slider.value), moved));
    this.slider.addEventListener("change", () => this.done(settled));
    this.input.addEventListener("change", () => this.typed(settled));
    this.input.addEventListener("keydown", (event) => this.press(event, moved, settled));
    for (const button of control.querySelectorAll(".step")) {
      button.addEventListener("click", () => {
        this.nudge(Number(button.dataset.step), moved);
        this.done(settled);
      });
    }
  }

  get changed() {
    return plain(this.input.value) !== plain(this.usual);
  }

  get value() {
    return plain(this.input.value);
  }

  set(text) {
    this.input.value = text ?? this.usual;
    this.last = this.input.value;
    this.follow();
  }

  // A bare number is of the unit that stood in the field: it is written out, so that it can be seen and changed.
  typed(settled) {
    const text = this.input.value.trim();
    if (this.unit && BARE.test(text)) this.input.value = `${text} ${this.unit}`;
    this.follow();
    this.done(settled);
  }

  follow() {
    const number = figure(this.input.value, this.unit);
    if (number !== null) this.slider.value = String(number);
    this.slider.setAttribute("aria-valuetext", this.input.value);
  }

  // share: where a value stands that the page cannot read itself, as "9 in" in a field of mm
  stand(share) {
    if (share === undefined || figure(this.input.value, this.unit) !== null) return;
    const [low, high] = [Number(this.slider.min), Number(this.slider.max)];
    this.slider.value = String(low + share * (high - low));
  }

  take(number, moved) {
    this.input.value = written(number, this.step, this.unit);
    this.slider.setAttribute("aria-valuetext", this.input.value);
    moved();
  }

  nudge(steps, moved) {
    const now = figure(this.input.value, this.unit) ?? Number(this.slider.value);
    const [low, high] = [Number(this.slider.min), Number(this.slider.max)];
    const next = Math.min(high, Math.max(low, Math.round((now + steps * this.step) / this.step) * this.step));
    this.slider.value = String(next);
    this.take(next, moved);
  }

  press(event, moved, settled) {
    const steps = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (steps) {
      event.preventDefault();
      this.nudge(steps * (event.shiftKey ? 10 : 1), moved);
      this.done(settled);
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.typed(settled);
    } else if (event.key === "Escape") {
      this.set(this.last);
      moved();
    }
  }

  done(settled) {
    if (this.input.value === this.last) return;
    this.last = this.input.value;
    settled();
  }

  // share: where the other setting stands on the slider, 0 to 1; undefined for none
  mark(share) {
    this.passed.querySelector(".other")?.remove();
    if (share === undefined) return;
    const mark = document.createElement("i");
    mark.className = "other";
    mark.style.left = `${100 * share}%`;
    this.passed.append(mark);
  }

  // spans: parts of the slider, 0 to 1, where a limit is passed; words: which, and from where
  hatch(spans, words) {
    for (const old of this.passed.querySelectorAll(".end")) old.remove();
    for (const [from, to] of spans) {
      const end = document.createElement("i");
      end.className = `end${from > 0 ? " from" : ""}${to < 1 ? " to" : ""}`;
      end.style.left = `${100 * from}%`;
      end.style.width = `${100 * (to - from)}%`;
      this.passed.prepend(end);
    }
    this.ends.textContent = words;
  }

  tell(faults) {
    const words = (faults ?? []).join(" ");
    if (this.fault.textContent !== words) this.fault.textContent = words; // the same words are not said twice
    this.fault.hidden = !faults?.length;
    if (faults?.length) this.input.setAttribute("aria-invalid", "true");
    else this.input.removeAttribute("aria-invalid");
  }
}
