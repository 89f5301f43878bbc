// The stalk, drawn from the physics: pieces in true proportion, cut open lengthwise, with their openings and how far in
// decay has got. The engine says which share of the tissue nothing has reached yet (Z of docs/model.md, Eq. 4 and 7); the
// drawing advances from every cut face and opening by one depth, and through the rind by that depth times the rind's
// permeability (the two terms of Eq. 3), so that the share of the picture that is still pale is the share computed.
"use strict";

/** Places of the openings along a piece, mm from its left end. */
function openingsAt(piece) {
  const places = [];
  if (piece.spacing) for (let at = piece.spacing; at < piece.length - 0.01 * piece.spacing; at += piece.spacing) places.push(at);
  return places;
}

/**
 * Rectangles [x, y, width, height] in mm of what is not reached when decay has got `reach` mm in from each face. A piece
 * has `length`, `diameter`, `rind`, and openings every `spacing` that cut `opening` (0 to 1) of the way across.
 */
function closedCore(piece, reach) {
  const { length, diameter } = piece;
  const rim = piece.rind * reach;
  const places = openingsAt(piece);
  const cut = places.length ? Math.max(piece.opening * diameter, rim) : rim;
  const core = [];
  const add = (x, y, width, height) => width > 0 && height > 0 && core.push([x, y, width, height]);
  add(reach, cut, length - 2 * reach, diameter - rim - cut);
  const ends = [0, ...places, length];
  if (places.length) for (let i = 0; i + 1 < ends.length; ++i) add(ends[i] + reach, rim, ends[i + 1] - ends[i] - 2 * reach, Math.min(cut, diameter - rim) - rim);
  return core;
}

/** How deep decay has got from each face, mm, when `share` (0 to 1) of the tissue is not reached. */
function reachOf(piece, share) {
  const whole = piece.length * piece.diameter;
  const left = (reach) => closedCore(piece, reach).reduce((sum, [, , w, h]) => sum + w * h, 0) / whole;
  if (share >= 1) return 0;
  let low = 0, high = Math.max(piece.length, piece.diameter / piece.rind);
  for (let i = 0; i < 50; ++i) {
    const middle = (low + high) / 2;
    if (left(middle) > share) low = middle;
    else high = middle;
  }
  return high;
}

/** A number from 0 to 1 for a whole number, alike each time and without a pattern (an integer hash). */
function scatter(i) {
  let x = Math.imul(i + 1, 0x9e3779b1);
  x = Math.imul(x ^ (x >>> 15), 0x85ebca6b);
  x = Math.imul(x ^ (x >>> 13), 0xc2b2ae35);
  return ((x ^ (x >>> 16)) >>> 0) / 4294967296;
}

const SVG = "http://www.w3.org/2000/svg";
function svg(name, attributes, ...children) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}
const box = ([x, y, w, h], ox, oy, k) => `M${(ox + x * k).toFixed(2)} ${(oy + y * k).toFixed(2)}h${(w * k).toFixed(2)}v${(h * k).toFixed(2)}h${(-w * k).toFixed(2)}z`;

/** Paths of one piece at (x, y) px with `k` px a mm: body, what is unreached, what has crumbled, the openings. */
function piecePaths(piece, x, y, k, share, left, into, seed) {
  const { length, diameter } = piece;
  into.rind += box([0, 0, length, diameter], x, y, k);
  const skin = Math.min(1.4, diameter / 8);
  into.hollow += box([0, skin, length, diameter - 2 * skin], x, y, k);
  into.reached += box([0, skin, length, diameter - 2 * skin], x, y, k);
  const reach = reachOf(piece, share);
  for (const part of closedCore(piece, reach)) {
    const top = Math.max(part[1], skin), bottom = Math.min(part[1] + part[3], diameter - skin);
    if (bottom <= top) continue;
    into.closed += box([part[0], top, part[2], bottom - top], x, y, k);
    for (let at = Math.ceil(top / 2.6) * 2.6; at < bottom - 0.6; at += 2.6) into.fibre += `M${(x + part[0] * k + 2).toFixed(1)} ${(y + at * k).toFixed(1)}h${Math.max(0, part[2] * k - 4).toFixed(1)}`;
  }
  // Crumbled: what is gone of the tissue that was reached, as gaps; none in what is closed.
  const gone = Math.max(0, Math.min(1, (1 - left) / Math.max(1e-6, 1 - share)));
  const dot = into.dot, core = closedCore(piece, reach);
  const spots = Math.min(1500, Math.round((-Math.log(1 - 0.6 * gone) * length * diameter * k * k) / (0.7 * dot * dot)));
  for (let i = 0; i < spots; ++i) {
    const px = scatter(2 * i + seed) * length, py = scatter(2 * i + 1 + seed) * diameter, edge = dot / 2 / k;
    if (core.some(([cx, cy, w, h]) => px > cx - edge && px < cx + w + edge && py > cy - edge && py < cy + h + edge)) continue;
    into.gone += `M${(x + px * k).toFixed(1)} ${(y + py * k).toFixed(1)}h.1`;
  }
  for (const at of openingsAt(piece)) {
    const half = Math.max(0.9, 1.3 * k), px = x + at * k, depth = piece.opening * diameter * k;
    into.slit += `M${(px - half).toFixed(1)} ${(y - 1.5).toFixed(1)}L${px.toFixed(1)} ${(y + depth).toFixed(1)}L${(px + half).toFixed(1)} ${(y - 1.5).toFixed(1)}z`;
  }
  return reach;
}

/** A row of like pieces from x to `end`, resting on or around y; the last is cut off where the row ends. */
function drawRow(row, x, end, y, k, ground) {
  const dot = Math.max(2.2, 1.5 * k);
  const paths = { rind: "", hollow: "", reached: "", closed: "", fibre: "", gone: "", slit: "", dot };
  const gap = 5;
  let reach = 0, seed = 0;
  for (let at = x; at < end - 4; at += row.piece.length * k + gap) {
    const visible = Math.min(row.piece.length, (end - at) / k);
    reach = piecePaths(row.piece, at, y, k, row.closed, row.left, paths, (seed += 7919));
    if (visible < row.piece.length) break;
  }
  const clip = `clip-${Math.round(x)}-${Math.round(y)}`;
  const group = svg("g", { "clip-path": `url(#${clip})` });
  const gone = Math.max(0, Math.min(1, (1 - row.left) / Math.max(1e-6, 1 - row.closed)));
  const extra = { gone: { "stroke-width": dot.toFixed(1) }, reached: { "fill-opacity": (1 - 0.45 * gone).toFixed(2) } };
  for (const [part, d] of Object.entries(paths)) {
    if (d && part !== "dot") group.append(svg("path", { class: `stalk-${part} on-${ground}`, d, ...extra[part] }));
  }
  const edge = svg("clipPath", { id: clip }, svg("rect", { x: x - 2, y: y - 4, width: end - x + 2, height: row.piece.diameter * k + 8 }));
  const cutOff = row.piece.length * k > end - x + 1;
  const parts = [edge, group];
  if (cutOff) {
    const high = row.piece.diameter * k, n = 4;
    let d = `M${end} ${y - 1}`;
    for (let i = 1; i <= n; ++i) d += `L${end - (i % 2 ? 5 : 0)} ${y + (i * high) / n}`;
    parts.push(svg("path", { class: `stalk-torn on-${ground}`, d: d + `V${y - 1}z` }), svg("path", { class: "stalk-break", d }));
  }
  return { parts, reach };
}

/** Crumbs of soil. */
function crumbs(width, top, bottom) {
  let d = "";
  for (let i = 0; i < (width * (bottom - top)) / 900; ++i) {
    const size = 2 + 4 * scatter(9 * i + 2);
    d += `M${(scatter(9 * i) * width).toFixed(0)} ${(top + scatter(9 * i + 1) * (bottom - top)).toFixed(0)}l${size.toFixed(1)} ${(-size / 2).toFixed(1)}l${(size / 2).toFixed(1)} ${size.toFixed(1)}z`;
  }
  return svg("path", { class: "crumb", d });
}

/** A ruler along the bottom, in inches or centimetres. */
function drawRuler(x, end, y, k, units) {
  const unit = units === "us" ? 25.4 : 10;
  const every = [1, 2, 5, 10].find((n) => n * unit * k >= 34) ?? 20;
  const group = svg("g", { class: "ruler" }, svg("path", { d: `M${x} ${y}H${end}` }));
  let d = "";
  for (let i = 0; i * unit * k <= end - x + 0.5; ++i) {
    const at = x + i * unit * k, labelled = i % every === 0;
    d += `M${at.toFixed(1)} ${y}v${labelled ? 9 : 5}`;
    if (labelled && at < end - 40) group.append(svg("text", { x: at.toFixed(1), y: y + 22, "text-anchor": i ? "middle" : "start" }, String(i)));
  }
  group.append(svg("path", { d }), svg("text", { x: end, y: y + 22, "text-anchor": "end" }, units === "us" ? "in" : "cm"));
  return group;
}

/**
 * Draws the scene into an <svg>: rows = [{ place: "surface"|"buried", share, piece, closed, left, words }], depth in mm,
 * `width` px of the drawing. Gives back the depth that decay has reached in each row, mm.
 */
function drawStalks(target, { rows, depth, units, width, depthWords, compact }) {
  const pad = 10, text = compact ? 16 : 22;
  const buried = rows.filter((r) => r.place === "buried"), surface = rows.filter((r) => r.place === "surface");
  const diameter = Math.max(...rows.map((r) => r.piece.diameter));
  const window_mm = Math.min(width / 1.15, Math.max(120, (width / 1000) * 460)); // of ground
  let k = (width - 2 * pad) / window_mm;
  if (diameter < 8) k *= 2.2;
  if (buried.length) k = Math.min(k, (compact ? 80 : 0.1 * width + 70) / (depth + diameter));
  const top = text + 6, high = diameter * k, surfaceTop = top;
  const groundY = surfaceTop + (surface.length ? high : 6);
  const buriedY = groundY + depth * k - high / 2;
  const buriedTop = Math.max(buriedY, groundY + text + 8);
  const bottom = buried.length ? buriedTop + high + 16 : groundY + (compact ? 10 : 26);
  const height = bottom + 34;
  target.setAttribute("viewBox", `0 0 ${width} ${height.toFixed(0)}`);
  target.setAttribute("height", height.toFixed(0));
  target.replaceChildren(svg("rect", { class: "sky", x: 0, y: 0, width, height: groundY }),
    svg("rect", { class: "soil", x: 0, y: groundY, width, height: height - groundY }),
    crumbs(width, groundY + 6, bottom),
    svg("rect", { class: "ruler-strip", x: 0, y: bottom, width, height: 34 }), svg("path", { class: "ground", d: `M0 ${groundY}H${width}` }));
  const reached = [];
  const across = (list, y, ground) => {
    const total = list.reduce((sum, r) => sum + r.share, 0), room = width - 2 * pad - 16 * (list.length - 1);
    let x = pad;
    for (const row of list) {
      const end = x + Math.max(64, Math.min(room - 64 * (list.length - 1), (room * row.share) / total));
      const { parts, reach } = drawRow(row, x, list.length > 1 && row === list[0] ? end : width - pad, y, k, ground);
      reached.push({ row, reach });
      target.append(...parts, svg("text", { class: `row-words on-${ground}`, x, y: y - 7 }, row.words));
      x = end + 16;
    }
  };
  if (surface.length) across(surface, surfaceTop, "sky");
  if (buried.length) {
    across(buried, buriedTop, "soil");
    const mark = width - pad - 8;
    target.append(svg("path", { class: "depth-mark", d: `M${mark} ${groundY + 2}V${(buriedTop - text - 5).toFixed(1)}m-4 -6l4 6l4 -6` }),
      svg("text", { class: "depth-words", x: mark - 8, y: groundY + Math.max(16, (buriedTop - text - groundY) / 2 + 6), "text-anchor": "end" }, depthWords));
  }
  target.append(drawRuler(pad, width - pad, bottom + 4, k, units));
  return reached;
}

if (typeof module !== "undefined") module.exports = { closedCore, openingsAt, reachOf };
