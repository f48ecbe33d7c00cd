// Ask the server, one question at a time, the newest last; an answer is taken only if it belongs to its question.

export function echo(text) {
  let mark = 0x811c9dc5;
  for (const byte of new TextEncoder().encode(text)) mark = Math.imul(mark ^ byte, 0x01000193) >>> 0;
  return mark.toString(16).padStart(8, "0");
}

const LATE_AFTER = 5000;
const TRY_AGAIN = 1000;

export class Asker {
  // path: where to ask; show(answer, query): draws it; link: the Link that tells when the server is away
  constructor(path, show, link) {
    Object.assign(this, { path, show, link, wanted: null, shown: null, busy: false });
    link.askers.push(this);
  }

  ask(query) {
    this.wanted = query;
    if (!this.busy && !this.link.outdated) this.run();
  }

  get fresh() {
    return this.wanted === this.shown;
  }

  async run() {
    this.busy = true;
    while (this.wanted !== this.shown) {
      const query = this.wanted;
      try {
        const reply = await fetch(`${this.path}?${query}`, { signal: AbortSignal.timeout(LATE_AFTER), cache: "no-store" });
        if (reply.status === 401) location.assign(`/login?to=${encodeURIComponent(location.pathname + location.search)}`);
        if (this.link.isOutdated(reply)) break;
        if (reply.status === 422) {
          this.link.lost((await reply.json()).refused.join(" "));
        } else if (!reply.ok) {
          throw new Error(`status ${reply.status}`);
        } else {
          const answer = await reply.json();
          if (answer.echo !== echo(query)) throw new Error("an answer to another question");
          this.shown = query;
          this.show(answer, query);
          this.link.found();
          continue;
        }
      } catch {
        this.link.lost("");
      }
      await new Promise((done) => setTimeout(done, TRY_AGAIN));
    }
    this.busy = false;
  }
}

export class Link {
  // banner: the element that says that what is shown is not up to date
  constructor(banner) {
    Object.assign(this, { banner, askers: [], since: null, outdated: false });
    setInterval(() => this.look(), 4000);
  }

  async look() {
    if (this.outdated || document.hidden || this.askers.some((one) => one.busy)) return;
    try {
      const reply = await fetch("/alive", { signal: AbortSignal.timeout(3000), cache: "no-store" });
      if (this.isOutdated(reply)) return;
      if (reply.ok) this.found();
      else this.lost("");
    } catch {
      this.lost("");
    }
  }

  // The mill's files have changed since the page was loaded: what it shows of them no longer belongs to the answers.
  isOutdated(reply) {
    const [now, here] = [reply.headers.get("x-mill-state"), document.body.dataset.millState];
    if (!now || !here || now === here) return this.outdated;
    this.outdated = true;
    const anew = document.createElement("a");
    Object.assign(anew, { href: "", textContent: "Load it anew" });
    this.banner.replaceChildren("The mill's files have changed since this page was loaded. ", anew, "; what you set stands in its address.");
    this.banner.hidden = false;
    document.body.dataset.late = "yes";
    return true;
  }

  lost(why) {
    if (this.outdated) return;
    this.since ??= new Date();
    const at = this.since.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    const reason = why || "The server does not answer.";
    const words = `Not up to date since ${at}. ${reason} Trying again; what you changed is kept here.`;
    if (this.banner.textContent !== words) this.banner.textContent = words;
    this.banner.hidden = false;
    document.body.dataset.late = "yes";
  }

  found() {
    if (this.outdated || this.since === null || !this.askers.every((one) => one.fresh || one.busy)) return;
    this.since = null;
    this.banner.hidden = true;
    delete document.body.dataset.late;
  }
}
