// Every change is a step in the browser's own history: undo and redo, back and forward are the same thing.

import { keepFocus, takeFocus } from "./focus.js";

const STORE = "ringwright-steps";

export class Steps {
  constructor(at, apply) {
    this.path = location.pathname;
    this.at = at;
    const goesOn = sessionStorage.getItem(STORE);
    sessionStorage.removeItem(STORE);
    const start = history.state?.step ?? (goesOn === null ? 0 : Number(goesOn) + 1);
    this.now = start;
    this.top = Math.max(start, history.state?.top ?? start);
    history.replaceState({ step: this.now, top: this.top }, "");
    window.addEventListener("popstate", (event) => {
      if (event.state?.step === undefined) return;
      this.now = event.state.step;
      this.show();
      apply(location.search.slice(1));
    });
    document.getElementById("undo").addEventListener("click", () => this.undo());
    document.getElementById("redo").addEventListener("click", () => this.redo());
    document.addEventListener("keydown", (event) => this.press(event));
    this.show();
    this.taken = takeFocus();
  }

  // The page has grown: show what has had the focus since it was read anew
  toFocus() {
    if (this.taken && this.taken === document.activeElement) this.taken.scrollIntoView({ block: "center" });
    this.taken = null;
  }

  press(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey) this.undo(event);
    else if (key === "y" || (key === "z" && event.shiftKey)) this.redo(event);
  }

  // Units switched: the same place in other words, asked anew; words: the units now chosen
  switchUnits(buttons, units, query) {
    for (const one of buttons) {
      one.addEventListener("click", (event) => {
        event.preventDefault();
        const now = units ? units.split(",") : [];
        const word = one.dataset.unitSwitch;
        this.go(query((now.includes(word) ? now.filter((unit) => unit !== word) : [...now, word]).join(",")));
      });
    }
  }

  push(query) {
    this.now += 1;
    this.top = this.now;
    history.pushState({ step: this.now, top: this.top }, "", `${this.path}?${query}`);
    this.show();
  }

  replace(query) {
    history.replaceState({ step: this.now, top: this.top }, "", `${this.path}?${query}`);
  }

  go(query) {
    keepFocus();
    sessionStorage.setItem(STORE, String(this.now));
    location.assign(`${this.path}?${query}`);
  }

  undo(event) {
    event?.preventDefault();
    if (this.now > 0) history.back();
  }

  redo(event) {
    event?.preventDefault();
    if (this.now < this.top) history.forward();
  }

  show() {
    document.getElementById("undo").disabled = this.now === 0;
    document.getElementById("redo").disabled = this.now >= this.top;
  }
}
