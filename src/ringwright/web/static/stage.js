// The stage: one or two positions, and beside them, on the same heights, the rails in time; below, tension and speed.

const PLAIN = '"Sofia Sans", "Segoe UI", system-ui, sans-serif';

function palette() {
  const style = getComputedStyle(document.documentElement);
  const get = (name) => style.getPropertyValue(`--${name}`).trim();
  return Object.fromEntries(["paper", "wash", "ink", "ink2", "line", "hair", "woad", "woadwash", "madder"].map((n) => [n, get(n)]));
}

function path(pen, points) {
  pen.beginPath();
  for (const [x, y] of points) pen.lineTo(x, y);
}

function hatch(pen, x, y, width, height) {
  pen.save();
  pen.beginPath();
  pen.rect(x, y, width, height);
  pen.clip();
  pen.beginPath();
  for (let k = -height; k < width; k += 7) {
    pen.moveTo(x + k, y + height);
    pen.lineTo(x + k + height, y);
  }
  pen.stroke();
  pen.restore();
}

export function draw(canvas, shown) {
  const box = canvas.parentElement.clientWidth;
  const narrow = box < 720;
  const drawings = shown.other ? 2 : 1;
  const sheet = narrow ? Math.min(box, drawings * 190) : drawings * 230;
  const [heights, tension] = narrow ? [380, 190] : [470, 190];
  const size = { width: box, height: narrow ? heights + 320 + tension + 60 : heights + tension + 60 };
  const ratio = window.devicePixelRatio || 1;
  if (canvas.width !== Math.round(size.width * ratio) || canvas.height !== Math.round(size.height * ratio)) {
    canvas.width = Math.round(size.width * ratio);
    canvas.height = Math.round(size.height * ratio);
    canvas.style.height = `${size.height}px`;
  }
  const pen = canvas.getContext("2d");
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, size.width, size.height);
  const colour = palette();
  const { a } = shown;
  const top = Math.max(...[a, shown.other].filter(Boolean).flatMap((one) => one.guide)) + 60;
  const low = a.frame.tube_foot - 120;
  const scale = (heights - 40) / (top - low);
  const y = (height) => 30 + (top - height) * scale;
  const plot = { left: narrow ? 44 : sheet + 60, right: box - (narrow ? 78 : 110) };
  canvas.plot = [plot.left, plot.right];
  const x = (time) => plot.left + ((plot.right - plot.left) * time) / a.doffTime;
  pen.lineJoin = "round";
  position(pen, colour, { one: a, now: shown.here, axis: sheet / drawings / 2, y, scale, kind: "a", words: shown.other ? "A" : "" });
  if (shown.other) position(pen, colour, { one: shown.other, now: shown.there, axis: (sheet * 3) / 4, y, scale, kind: "b", words: shown.name });
  const down = narrow ? heights + 10 : 0;
  const yRails = narrow ? (height) => y(height) * 0.8 + down : y;
  rails(pen, colour, { shown, x, y: yRails, plot, join: narrow ? null : sheet });
  tracks(pen, colour, { shown, x, plot, top: narrow ? heights + 330 : heights + 16, high: tension, from: narrow ? down + 20 : 24 });
}

function position(pen, colour, { one, now, axis, y, scale, kind, words }) {
  const f = one.frame;
  const at = (r, height) => [axis + r * scale, y(height)];
  pen.lineWidth = 1.15;
  pen.strokeStyle = colour.ink;
  if (f.plates) {
    pen.strokeStyle = colour.ink2;
    for (const side of [-1, 1]) {
      path(pen, [at(side * f.wall, now.ring + 120), at(side * f.wall, now.guide - 100)]);
      pen.stroke();
    }
  }
  pen.strokeStyle = colour.ink;
  pen.fillStyle = colour.paper;
  path(pen, [at(-f.tube_bottom / 2, f.tube_foot), at(-f.tube_top / 2, f.tube_tip), at(f.tube_top / 2, f.tube_tip), at(f.tube_bottom / 2, f.tube_foot)]);
  pen.closePath();
  pen.fill();
  pen.stroke();
  cop(pen, colour, one, now, at);
  balloon(pen, colour, one, now, at, kind);
  ringAndRail(pen, colour, f, now, at, scale, y);
  if (f.control && now.control !== null) {
    pen.lineWidth = 0.8;
    path(pen, [at(-f.control / 2, now.control), at(f.control / 2, now.control)]);
    pen.stroke();
    for (const side of [-1, 1]) dot(pen, at((side * f.control) / 2, now.control), 3, colour.ink);
  }
  pen.lineWidth = 1.15;
  path(pen, [at(0, now.guide), [axis + 30, y(now.guide)]]);
  pen.stroke();
  pen.strokeRect(axis + 30, y(now.guide) - 6, 10, 12);
  dot(pen, at(0, now.guide), 3, colour.ink);
  pen.fillStyle = kind === "b" ? colour.madder : colour.woad;
  pen.font = `640 14px ${PLAIN}`;
  pen.textAlign = "center";
  pen.fillText(words, axis, 16);
  pen.textAlign = "left";
}

function cop(pen, colour, one, now, at) {
  const f = one.frame;
  const tube = (height) => (f.foot_diameter + ((f.top_diameter - f.foot_diameter) * height) / f.lift) / 2;
  const shoulder = (height) => (f.foot_diameter + (f.cop - f.foot_diameter) * Math.min(height / f.base, 1)) / 2;
  const foot = now.foot ?? 0;
  const right = [[tube(0), 0], [shoulder(Math.min(f.base, foot)), Math.min(f.base, foot)], [shoulder(foot), foot], [tube(foot + f.chase), foot + f.chase]];
  path(pen, [...right.map(([r, h]) => at(r, h)), ...right.reverse().map(([r, h]) => at(-r, h))]);
  pen.closePath();
  pen.fillStyle = colour.wash;
  pen.fill();
  pen.stroke();
}

function balloon(pen, colour, one, now, at, kind) {
  if (!now.shape) {
    pen.fillStyle = colour.ink;
    pen.font = `640 13px ${PLAIN}`;
    pen.textAlign = "center";
    pen.fillText("no steady balloon", at(0, 0)[0], at(0, now.guide)[1] - 14);
    pen.textAlign = "left";
    return;
  }
  const [radius, azimuth] = now.shape;
  const depth = (k) => now.guide - (now.height * k) / (radius.length - 1);
  const side = (way) => radius.map((r, k) => at(way * r, depth(k)));
  pen.fillStyle = kind === "a" ? colour.woadwash : colour.wash;
  pen.globalAlpha = 0.6;
  path(pen, [...side(-1), ...side(1).reverse()]);
  pen.fill();
  pen.globalAlpha = 1;
  const ink = kind === "a" ? colour.woad : colour.madder;
  pen.strokeStyle = ink;
  pen.lineWidth = 0.8;
  for (const way of [-1, 1]) {
    path(pen, side(way));
    pen.stroke();
  }
  pen.lineWidth = Math.max(0.9, 0.55 + now.below / 170);
  if (kind === "b") pen.setLineDash([6, 4]);
  path(pen, radius.map((r, k) => at(r * Math.cos(azimuth[k] / 1000), depth(k))));
  pen.stroke();
  pen.lineWidth = Math.max(0.9, 0.55 + now.winding / 170);
  const ring = one.frame.ring / 2;
  path(pen, [at(ring, now.ring), at((now.wound * now.wound) / 4 / ring, now.ring)]);
  pen.stroke();
  pen.setLineDash([]);
  dot(pen, at(ring, now.ring), 3.2, ink);
  pen.strokeStyle = colour.ink;
  pen.lineWidth = 1.15;
}

function ringAndRail(pen, colour, f, now, at, scale, y) {
  pen.strokeStyle = colour.ink;
  for (const side of [-1, 1]) {
    const [inner] = at((side * f.ring) / 2 + side * 65, 0);
    const [outer] = at(side * 430, 0);
    const [left, width] = [Math.min(inner, outer), Math.abs(outer - inner)];
    pen.lineWidth = 0.8;
    hatch(pen, left, y(now.ring - 50), width, 100 * scale);
    pen.lineWidth = 1.15;
    pen.strokeRect(left, y(now.ring - 50), width, 100 * scale);
    pen.fillStyle = colour.ink;
    pen.fillRect(at(side > 0 ? f.ring / 2 : -f.ring / 2 - 50, 0)[0], y(now.ring + 10), 50 * scale, 100 * scale);
  }
}

function dot(pen, [x, y], radius, colour) {
  pen.beginPath();
  pen.arc(x, y, radius, 0, 7);
  pen.fillStyle = colour;
  pen.fill();
}

function rails(pen, colour, { shown, x, y, plot, join }) {
  const { a, other, here, time } = shown;
  pen.font = `13px ${PLAIN}`;
  pen.fillStyle = colour.ink2;
  const [unit, step, by] = shown.inches ? ["in", 508, 254] : ["mm", 500, 10];
  pen.fillText(`Height of each rail, ${unit}`, plot.left, y(Math.max(...a.guide)) - 22);
  for (let height = 0; height <= Math.max(...a.guide); height += step) {
    pen.strokeStyle = colour.hair;
    pen.lineWidth = 1;
    path(pen, [[plot.left, y(height)], [plot.right, y(height)]]);
    pen.stroke();
    pen.fillStyle = colour.ink2;
    pen.textAlign = "right";
    pen.fillText(String(Math.round(height / by)), plot.left - 6, y(height) + 4);
    pen.textAlign = "left";
  }
  for (const [key, words] of [["guide", "lappet"], ["control", "control ring"], ["ring", "ring rail"]]) {
    const rows = a.envelope(a[key]).filter(([, low]) => low !== null);
    if (!rows.length) continue;
    band(pen, colour.wash, colour.ink, rows, x, y);
    pen.fillStyle = colour.ink;
    pen.fillText(words, plot.right + 8, y((rows.at(-1)[1] + rows.at(-1)[2]) / 2) + 4);
    dot(pen, [x(time), y(here[key])], 4, colour.ink);
    if (join === null) continue;
    pen.strokeStyle = colour.line;
    pen.setLineDash([1.5, 4]);
    path(pen, [[join - 60, y(here[key])], [x(time), y(here[key])]]);
    pen.stroke();
    pen.setLineDash([]);
  }
  if (other && other.guide.at(-1) !== a.guide.at(-1)) {
    pen.strokeStyle = colour.madder;
    pen.setLineDash([6, 4]);
    pen.lineWidth = 1.8;
    path(pen, other.envelope(other.guide).map(([t, , most]) => [x(t), y(most)]));
    pen.stroke();
    pen.setLineDash([]);
  }
}

function band(pen, fill, line, rows, x, y) {
  path(pen, [...rows.map(([t, , most]) => [x(t), y(most)]), ...[...rows].reverse().map(([t, least]) => [x(t), y(least)])]);
  pen.fillStyle = fill;
  pen.fill();
  pen.strokeStyle = line;
  for (const k of [1, 2]) {
    pen.lineWidth = k === 2 ? 1.8 : 0.8;
    path(pen, rows.map((row) => [x(row[0]), y(row[k])]));
    pen.stroke();
  }
}

function tracks(pen, colour, { shown, x, plot, top, high, from }) {
  const { a, other, here, there, time } = shown;
  const rows = a.envelope(a.winding).filter(([, low]) => low !== null);
  const rowsOther = other ? other.envelope(other.winding).filter(([, low]) => low !== null) : [];
  const most = Math.max(100, ...rows.map((row) => row[2]), ...rowsOther.map((row) => row[2]));
  const inSight = a.limit && a.limit < 2.2 * most;
  const ceiling = inSight ? Math.max(1.12 * a.limit, 1.1 * most) : 1.15 * most;
  const y = (value) => top + 24 + (high - 24) * (1 - value / ceiling);
  pen.font = `640 14px ${PLAIN}`;
  pen.fillStyle = colour.ink;
  pen.fillText("Tension in the yarn, cN", plot.left, top + 12);
  pen.font = `13px ${PLAIN}`;
  const step = ceiling > 1600 ? 500 : ceiling > 400 ? 200 : 50;
  for (let value = 0; value < ceiling; value += step) {
    pen.strokeStyle = value ? colour.hair : colour.ink2;
    pen.lineWidth = 1;
    path(pen, [[plot.left, y(value)], [plot.right, y(value)]]);
    pen.stroke();
    pen.fillStyle = colour.ink2;
    pen.textAlign = "right";
    pen.fillText(String(value / 10), plot.left - 6, y(value) + 4);
    pen.textAlign = "left";
  }
  if (inSight) {
    pen.strokeStyle = colour.ink;
    hatch(pen, plot.left, top + 24, plot.right - plot.left, y(a.limit) - top - 24);
    pen.lineWidth = 1.6;
    path(pen, [[plot.left, y(a.limit)], [plot.right, y(a.limit)]]);
    pen.stroke();
    pen.fillStyle = colour.ink2;
    pen.fillText(`limit ${Math.round(a.limit / 10)}`, plot.right + 8, y(a.limit) + 4);
  }
  if (rows.length) {
    band(pen, colour.woadwash, colour.woad, rows, x, y);
    pen.fillStyle = colour.woad;
    pen.fillText("A winding", plot.right + 8, y(rows.at(-1)[2]) + 4);
  }
  if (rowsOther.length) {
    pen.strokeStyle = colour.madder;
    pen.setLineDash([6, 4]);
    for (const k of [1, 2]) {
      path(pen, rowsOther.map((row) => [x(row[0]), y(row[k])]));
      pen.stroke();
    }
    pen.setLineDash([]);
  }
  cursor(pen, colour, { x: x(time), top: from, bottom: top + high, time });
  if (here.winding !== null) dot(pen, [x(time), y(here.winding)], 4.5, colour.woad);
  if (there && there.winding !== null) ringMark(pen, [x(time), y(there.winding)], colour.madder);
  pen.fillStyle = colour.ink2;
  for (let minute = 0; minute <= a.doffTime / 60; minute += a.doffTime > 12000 ? 50 : 20) {
    if (Math.abs(x(minute * 60) - x(time)) > 30) pen.fillText(String(minute), x(minute * 60) - 8, top + high + 22);
  }
  pen.fillText("minutes", plot.right + 8, top + high + 22);
}

function ringMark(pen, [x, y], colour) {
  pen.beginPath();
  pen.arc(x, y, 4.5, 0, 7);
  pen.strokeStyle = colour;
  pen.lineWidth = 2;
  pen.stroke();
}

function cursor(pen, colour, { x, top, bottom, time }) {
  pen.strokeStyle = colour.ink;
  pen.lineWidth = 1.6;
  path(pen, [[x, top], [x, bottom]]);
  pen.stroke();
  pen.fillStyle = colour.ink;
  pen.fillRect(x - 20, bottom + 5, 40, 24);
  pen.fillStyle = colour.paper;
  pen.textAlign = "center";
  pen.font = `640 14px ${PLAIN}`;
  pen.fillText(String(Math.floor(time / 60)), x, bottom + 22);
  pen.textAlign = "left";
  pen.font = `13px ${PLAIN}`;
}
