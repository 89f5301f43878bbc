// The drawing of the setting that is on the controls, at the day of the time slider.
"use strict";

/** A course at an entry that need not be whole. */
function valueAt(course, entry) {
  const i = Math.max(0, Math.min(course.length - 1, Math.floor(entry))), next = Math.min(course.length - 1, i + 1);
  return course[i] + (course[next] - course[i]) * Math.min(1, entry - i);
}

/**
 * Rows to draw: what lies on top and what is buried, of opened and of closed pieces, each with the share of its tissue
 * that nothing has reached and the share of its mass that is left. `cohorts` are those of the cut component:
 * [{ pieces, placement, every_d, closed, mass }], g/m2 every few days.
 */
function rowsAt(settings, cohorts, shape, day) {
  const s = tidied(settings);
  const kinds = !s.spacing || s.opened >= 100 ? [{ pieces: undefined, share: 1, spacing: s.spacing }]
    : [{ pieces: "opened", share: s.opened / 100, spacing: s.spacing }, { pieces: "closed", share: 1 - s.opened / 100, spacing: 0 }];
  const rows = [], entry = day / (cohorts[0]?.every_d ?? 1);
  for (const place of ["surface", "buried"]) {
    for (const kind of kinds) {
      const mine = cohorts.filter((c) => kind.pieces === undefined || c.pieces === kind.pieces);
      const here = mine.find((c) => c.placement === place);
      if (!here) continue;
      const first = here.mass.findIndex((m) => m > 0);
      if (first < 0 || first > entry) continue;
      const all = mine.reduce((sum, c) => sum + c.closed[first], 0), whole = Math.max(...mine.map((c) => c.closed[0]));
      const wholeMass = Math.max(...mine.map((c) => c.mass[0]));
      let part = all > 0 ? here.closed[first] / all : 1;
      if (place === "surface") {
        const moved = mine.find((c) => c.placement === "buried"), at = moved ? moved.mass.findIndex((m) => m > 0) : -1;
        if (at >= 0 && at <= entry) part = here.closed[at] / (here.closed[at] + moved.closed[at]);
      }
      if (part < 0.005) continue;
      rows.push({
        place, share: kind.share, part, kind: kind.spacing ? "opened" : "closed",
        closed: Math.min(1, valueAt(here.closed, entry) / (whole * part)),
        left: Math.min(1, valueAt(here.mass, entry) / (wholeMass * part)),
        piece: { length: s.cut, diameter: shape.diameter, rind: shape.rind, spacing: kind.spacing, opening: s.opening / 100 },
      });
    }
  }
  return rows;
}

/** "7/8 in", "2.3 in", "22 mm". */
function lengthWords(mm, units) {
  if (units !== "us") return `${Math.round(mm)} mm`;
  let part = Math.round((mm / INCH) * 16), of = 16;
  if (part >= 16) return `${Math.round((mm / INCH) * 10) / 10} in`;
  if (part === 0) return "less than 1/16 in";
  for (; part % 2 === 0; part /= 2) of /= 2;
  return `${part}/${of} in`;
}
const percent = (share) => `${Math.round(100 * share)} %`;

/** Draws it and says in words what is seen. */
function showScene(settings, cohorts, shape, day, units) {
  const target = document.getElementById("stalks"), words = document.getElementById("scene-words");
  const rows = rowsAt(settings, cohorts, shape, day);
  if (!rows.length) return;
  const several = rows.some((r) => r.place === "buried") && rows.some((r) => r.place === "surface");
  const two = rows.some((r) => r.kind === "opened") && rows.some((r) => r.kind === "closed");
  const narrow = target.clientWidth < 520;
  for (const row of rows) {
    const what = row.kind === "opened" ? "opened" : two ? "closed" : "not opened";
    row.words = `${what}${two && !narrow ? ` (${percent(row.share)})` : ""}: ${narrow ? "" : `${percent(1 - row.closed)} reached, `}${percent(row.left)} left`;
  }
  const drawn = drawStalks(target, { rows, depth: tidied(settings).depth, units, width: target.clientWidth || 700, depthWords: `${valueWords(sliderOf("depth"), settings, units)} deep`, compact: narrow });
  const sentences = drawn.map(({ row, reach }) => {
    const where = several ? (row.place === "buried" ? "In the soil" : "On top") : row.place === "buried" ? "In the soil" : "On the ground";
    const which = two ? `, ${row.kind} pieces` : "";
    const far = row.closed < 0.005 ? "decay has reached all of the tissue" : `decay has got ${lengthWords(reach, units)} deep from each ${row.kind === "opened" ? "cut end and opening" : "cut end"}; ${percent(1 - row.closed)} of the tissue is reached`;
    return `${where}${which}: ${far}, ${percent(row.left)} of the weight is left.`;
  });
  words.className = rows.length > 2 ? "unseen" : "";
  words.textContent = `${day === 0 ? "At harvest" : dateWords(dateAfter(settings.harvest, day))}. ${sentences.join(" ")}`;
}

/** "1 year 2 months after harvest, 20 Dec 2027". */
function dayWords(day, harvest) {
  const months = Math.round(day / 30.44), years = Math.floor(months / 12), rest = months % 12;
  const count = (n, word) => (n ? `${n} ${word}${n > 1 ? "s" : ""}` : "");
  const past = day === 0 ? "at harvest" : day < 45 ? `${count(day, "day")} after harvest` : `${[count(years, "year"), count(rest, "month")].filter(Boolean).join(" ")} after harvest`;
  return `${past}, ${dateWords(dateAfter(harvest, day))}`;
}

if (typeof module !== "undefined") module.exports = { rowsAt, dayWords, lengthWords };
