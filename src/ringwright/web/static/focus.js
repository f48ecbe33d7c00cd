// The focus is never lost: not where a piece of the page is replaced, and not where the page is read anew.

const STORE = "ringwright-focus";
const FOCUSABLE = "a[href], button, input, select, textarea, summary, [tabindex]";

// Put new words into a box; what had the focus in it has it again, or what stands in its place.
export function fill(box, words) {
  const held = box.contains(document.activeElement) ? document.activeElement : null;
  const place = held ? [...box.querySelectorAll(FOCUSABLE)].indexOf(held) : -1;
  box.innerHTML = words;
  if (!held) return;
  const all = [...box.querySelectorAll(FOCUSABLE)];
  const again = (held.id && box.querySelector(`#${CSS.escape(held.id)}`)) || all[Math.min(place, all.length - 1)] || box;
  if (again === box) box.tabIndex = -1;
  again.focus({ preventScroll: true });
}

// Note what has the focus before the page is read anew.
export function keepFocus() {
  const one = document.activeElement;
  const unit = one?.dataset.unitSwitch;
  const name = one?.id ? `#${CSS.escape(one.id)}` : unit ? `[data-unit-switch="${unit}"]` : "";
  if (name) sessionStorage.setItem(STORE, name);
}

export function takeFocus() {
  const name = sessionStorage.getItem(STORE);
  sessionStorage.removeItem(STORE);
  const one = name && document.querySelector(name);
  if (!one?.checkVisibility()) return null;
  one.focus();
  return one;
}

// Say something to who listens once nothing has moved for a while: the outcome, not each step.
export class Teller {
  constructor(box, after = 700) {
    Object.assign(this, { box, after, timer: 0 });
  }

  hush() {
    clearTimeout(this.timer);
  }

  tell(words) {
    this.hush();
    this.timer = setTimeout(() => {
      this.box.textContent = words();
    }, this.after);
  }
}
