// A solved doff, read at any moment: between the solved places by straight lines, in stroke and in phase.

function between(low, high, share) {
  if (low === null || high === null || low === undefined || high === undefined) return null;
  return low + (high - low) * share;
}

function span(list, value) {
  let k = 0;
  while (k < list.length - 2 && list[k + 1] <= value) k += 1;
  const share = (value - list[k]) / (list[k + 1] - list[k]);
  return [k, Math.min(Math.max(share, 0), 1)];
}

export class Doff {
  constructor(given) {
    Object.assign(this, given);
    [this.sampled, this.row] = given.grid;
    this.doffTime = given.doff_time;
    this.feet = Array.from({ length: this.sampled }, (_, k) => given.time[k * this.row] / 10);
    this.numbers = Array.from({ length: this.sampled }, (_, k) => given.share[k] * given.strokes);
  }

  // The share of the yarn wound at a time (s), from the times of the sampled strokes.
  shareAt(time) {
    const times = [...this.feet, this.doffTime];
    const [k, part] = span(times, time);
    return between(this.share[k], this.share[k + 1] ?? 1, part);
  }

  timeOfStroke(number) {
    const share = Math.min(Math.max(number, 0), this.strokes) / this.strokes;
    const shares = [...this.share, 1];
    const [k, part] = span(shares, share);
    return between(this.feet[k], this.feet[k + 1] ?? this.doffTime, part) + 1e-6;
  }

  at(time) {
    const share = this.shareAt(time);
    const counted = Math.min(share * this.strokes, this.strokes - 1e-6);
    const whole = Math.floor(counted);
    const phase = counted - whole;
    const [stroke, part] = span(this.numbers, whole);
    const [place, along] = span([...this.phase, 1], phase);
    const next = (place + 1) % this.row;
    const value = (run) => {
      const at = (s, p) => run[Math.min(s, this.sampled - 1) * this.row + p];
      return between(between(at(stroke, place), at(stroke, next), along), between(at(stroke + 1, place), at(stroke + 1, next), along), part);
    };
    const here = { stroke: whole + 1, phase, cop: share * this.content, foot: between(this.foot[stroke], this.foot[stroke + 1], part) };
    for (const key of ["ring", "guide", "control", "wound", "rpm", "winding", "below", "triangle", "radius", "press"]) here[key] = value(this[key]);
    here.height = here.guide - here.ring;
    here.shape = here.winding === null ? null : this.shapeAt(whole, phase);
    return here;
  }

  shapeAt(whole, phase) {
    const { strokes, places, lines } = this.shapes;
    const [s, part] = span(strokes.map((k) => this.numbers[k]), whole);
    const [p, along] = span([...places.map((k) => this.phase[k]), 1], phase);
    const next = (p + 1) % places.length;
    const get = (i, j) => lines[Math.min(i, strokes.length - 1) * places.length + j];
    const corners = [get(s, p), get(s, next), get(s + 1, p), get(s + 1, next)];
    if (corners.some((one) => !one)) return null;
    return [0, 1].map((kind) => corners[0][kind].map((_, k) =>
      between(between(corners[0][kind][k], corners[1][kind][k], along), between(corners[2][kind][k], corners[3][kind][k], along), part)));
  }

  // Least and most of a run in each sampled stroke, with the stroke's time (s).
  envelope(run) {
    return this.feet.map((time, k) => {
      const values = run.slice(k * this.row, (k + 1) * this.row).filter((v) => v !== null);
      return values.length ? [time, Math.min(...values), Math.max(...values)] : [time, null, null];
    });
  }
}
