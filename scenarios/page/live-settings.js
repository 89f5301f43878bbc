// What can be set on the live page: one row a control, with its stops in both systems of units. A setting is a plain
// object of these keys; lengths in mm, dry matter in t/ha, nitrogen in kg/ha, shares in %, dates in days after harvest.
"use strict";

const POUND_KG = 0.45359237, ACRE_HA = 0.40468564224; // by definition
const INCH = 25.4, LB_ACRE = POUND_KG / ACRE_HA, BUSHEL = (56 * LB_ACRE) / 1000; // mm; kg/ha; t/ha of corn at 15.5 % moisture
const steps = (from, to, step) => Array.from({ length: Math.round((to - from) / step) + 1 }, (_, i) => from + i * step);

const UNITS = {
  length: { us: { unit: "in", scale: INCH, words: ["inch", "inches"] }, si: { unit: "mm", scale: 1, words: ["millimetre", "millimetres"] } },
  nitrogen: { us: { unit: "lb N/acre", scale: LB_ACRE, words: ["pound of nitrogen an acre", "pounds of nitrogen an acre"] },
    si: { unit: "kg N/ha", scale: 1, words: ["kilogram of nitrogen a hectare", "kilograms of nitrogen a hectare"] } },
  grain: { us: { unit: "bu/acre", scale: BUSHEL, words: ["bushel an acre", "bushels an acre"] },
    si: { unit: "t/ha", scale: 1, words: ["tonne a hectare", "tonnes a hectare"] } },
  residue: { us: { unit: "lb/acre", scale: LB_ACRE / 1000, words: ["pound an acre", "pounds an acre"] },
    si: { unit: "t/ha", scale: 1, words: ["tonne a hectare", "tonnes a hectare"] } },
  share: { us: { unit: "%", scale: 1, words: ["percent", "percent"] }, si: { unit: "%", scale: 1, words: ["percent", "percent"] } },
  ratio: { us: { unit: "", scale: 1, words: ["to 1", "to 1"] }, si: { unit: "", scale: 1, words: ["to 1", "to 1"] } },
};

/** Sliders, in the order of the page. `zero`: words for 0, where 0 means that there is none. `needs`: a setting without
 * which this one does nothing. `lower`, `upper`: what is taken from links and files. */
const SLIDERS = [
  { key: "cut", kind: "length", label: "Cut length", lower: 5, upper: 3000,
    stops: { us: [0.5, 1, 2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 30, 36], si: [10, 20, 50, 75, 100, 150, 200, 250, 300, 400, 500, 600, 750, 900] } },
  { key: "spacing", kind: "length", label: "Openings: one every", zero: "none, stalks left closed", lower: 2, upper: 1000,
    stops: { us: [0, 12, 8, 6, 4, 3, 2, 1.5, 1, 0.5], si: [0, 300, 200, 150, 100, 75, 50, 40, 25, 12] } },
  { key: "opened", kind: "share", label: "Share of pieces opened", needs: "spacing", lower: 0, upper: 100, stops: { us: steps(0, 100, 10), si: steps(0, 100, 10) } },
  { key: "opening", kind: "share", label: "How far an opening cuts across", needs: "spacing", lower: 5, upper: 100, stops: { us: steps(10, 100, 10), si: steps(10, 100, 10) } },
  { key: "buried", kind: "share", label: "Share worked into the soil", zero: "none, all lies on top", lower: 0, upper: 100, stops: { us: steps(0, 100, 5), si: steps(0, 100, 5) } },
  { key: "depth", kind: "length", label: "How deep", needs: "buried", lower: 10, upper: 400, stops: { us: steps(1, 12, 1), si: steps(20, 300, 20) } },
  { key: "buried_day", kind: "day", label: "When worked in", needs: "buried", lower: 0, upper: 364, stops: { us: steps(0, 294, 7), si: steps(0, 294, 7) } },
  { key: "nitrogen", kind: "nitrogen", label: "Nitrogen spread", zero: "none", needs: "product", lower: 0, upper: 300, stops: { us: steps(0, 120, 5), si: steps(0, 140, 5) } },
  { key: "nitrogen_day", kind: "day", label: "When spread", needs: "product", lower: 0, upper: 364, stops: { us: steps(0, 294, 7), si: steps(0, 294, 7) } },
  { key: "grain", kind: "grain", label: "Grain yield", corn: true, lower: 1, upper: 35, stops: { us: steps(40, 320, 5), si: steps(2.5, 20, 0.5) } },
  { key: "residue", kind: "residue", label: "Residue, dry", corn: false, lower: 0.1, upper: 40, stops: { us: steps(500, 14000, 500), si: steps(0.5, 16, 0.5) } },
  { key: "cn", kind: "ratio", label: "Carbon to nitrogen of the residue", zero: "as usual for it", lower: 10, upper: 300,
    stops: { us: [0, ...steps(20, 120, 5)], si: [0, ...steps(20, 120, 5)] } },
  { key: "crop_nitrogen", kind: "nitrogen", label: "Nitrogen the next crop would take", zero: "no crop", lower: 0, upper: 600, stops: { us: steps(0, 260, 10), si: steps(0, 300, 10) } },
];

/** Texts that are chosen or typed. `choices` come from the engine's lists where they are not here. */
const CHOICES = [
  { key: "material", label: "Residue of" },
  { key: "product", label: "Product" },
  { key: "climate", label: "Climate" },
  { key: "texture", label: "Soil", choices: ["sand", "loamy sand", "sandy loam", "loam", "silt loam", "silt", "clay loam", "silty clay loam", "silty clay", "clay"] },
];

const START = Object.freeze({
  cut: 12 * INCH, spacing: 0, opened: 100, opening: 60, buried: 0, depth: 4 * INCH, buried_day: 21,
  nitrogen: 40 * LB_ACRE, nitrogen_day: 14, product: "", grain: 200 * BUSHEL, residue: 5, cn: 0, crop_nitrogen: 160 * LB_ACRE,
  material: "corn", climate: "central Iowa", texture: "silt loam", harvest: "2026-10-20", planting: "05-05",
});

const round = (value, digits = 6) => Number(value.toPrecision(digits));
const sliderOf = (key) => SLIDERS.find((s) => s.key === key);
const shownValue = (slider, value, units) => (slider.kind === "day" ? value : round(value / UNITS[slider.kind][units].scale));

/** Days after harvest as a date, "2026-11-10". */
function dateAfter(harvest, days) {
  return new Date(Date.parse(harvest + "T00:00:00Z") + days * 86400000).toISOString().slice(0, 10);
}
function dateWords(date, withYear = true) {
  const [year, month, day] = date.split("-").map(Number);
  const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  return `${day} ${months[month - 1]}` + (withYear ? ` ${year}` : "");
}

const thousands = (value) => {
  const [whole, part] = String(value).split(".");
  return whole.replace(/\B(?=(\d{3})+$)/g, ",") + (part ? "." + part : "");
};

/** A value as the page shows it, "6 in"; `long` as a screen reader says it, "6 inches". */
function valueWords(slider, settings, units, long = false) {
  const value = settings[slider.key];
  if (slider.kind === "day") return dateWords(dateAfter(settings.harvest, value)) + (value ? `, ${value} days after harvest` : ", at harvest");
  if (value === 0 && slider.zero) return slider.zero;
  const { unit, words } = UNITS[slider.kind][units];
  const exact = value / UNITS[slider.kind][units].scale;
  const shown = thousands(exact >= 20 ? Math.round(exact) : round(exact, 3));
  if (slider.kind === "ratio") return `${shown} to 1`;
  if (long) return `${shown} ${words[shown === "1" ? 0 : 1]}`;
  return unit === "%" ? `${shown} %` : `${shown} ${unit}`;
}

/** The stop nearest to a setting's value. */
function nearestStop(slider, value, units) {
  const shown = shownValue(slider, value, units);
  let best = 0;
  slider.stops[units].forEach((stop, i) => {
    if (Math.abs(stop - shown) < Math.abs(slider.stops[units][best] - shown)) best = i;
  });
  return best;
}
const stopValue = (slider, index, units) =>
  slider.kind === "day" ? slider.stops[units][index] : slider.stops[units][index] * UNITS[slider.kind][units].scale;

/** Whether a slider says something in these settings: openings need a spacing, a rate a product. */
function isUsed(slider, settings) {
  if (slider.corn !== undefined) return slider.corn === (settings.material === "corn");
  return !slider.needs || Boolean(settings[slider.needs]);
}

/** The same settings with what does nothing at its start value, so that equal curves have equal settings. */
function tidied(settings) {
  const tidy = { ...START, ...settings };
  if (!(tidy.nitrogen > 0)) tidy.product = "";
  if (!(tidy.opened > 0)) tidy.spacing = 0;
  for (const s of SLIDERS) if (!isUsed(s, tidy)) tidy[s.key] = START[s.key];
  return tidy;
}
const sameSettings = (a, b) => JSON.stringify(tidied(a)) === JSON.stringify(tidied(b));

/** A short name in words, of what is not as it was at the start; always with the cut length. */
function nameOf(settings, units) {
  const s = tidied(settings);
  const say = (key) => valueWords(sliderOf(key), s, units);
  const words = [`${say("cut")} pieces`];
  if (s.material !== "corn") words.unshift(s.material);
  if (s.spacing) words.push(`${s.opened < 100 ? say("opened") + " of them " : ""}opened every ${say("spacing")}`);
  if (s.buried) words.push(`${s.buried < 100 ? say("buried") + " " : ""}worked in ${say("depth")} deep`);
  if (s.product) words.push(`${say("nitrogen")} as ${s.product}`);
  if (s.cn) words.push(`C:N ${say("cn")}`);
  if (s.material === "corn" ? s.grain !== START.grain : true) words.push(say(s.material === "corn" ? "grain" : "residue"));
  if (s.climate !== START.climate) words.push(s.climate);
  if (s.texture !== START.texture) words.push(s.texture);
  return words.join(", ");
}

/** What else holds for a setting, for those who read its numbers on paper. */
function assumedWords(settings, units) {
  const s = tidied(settings), say = (key) => valueWords(sliderOf(key), s, units);
  const weather = s.climate.startsWith("file:") ? `weather of ${s.climate.slice(5)}` : `weather made for ${s.climate}, no real years`;
  const spread = s.product ? `; ${say("nitrogen")} as ${s.product} on ${dateWords(dateAfter(s.harvest, s.nitrogen_day))}` : "; no nitrogen spread";
  const worked = s.buried ? `; ${say("buried")} worked in ${say("depth")} deep on ${dateWords(dateAfter(s.harvest, s.buried_day))}` : "";
  return `Assumed for the setting on the controls: ${s.material}, ${say(s.material === "corn" ? "grain" : "residue")}, harvested ${dateWords(s.harvest)}, carbon to nitrogen ${say("cn")}${worked}${spread}; ` +
    `${weather}; ${s.texture}; next crop planted ${dateWords("2000-" + s.planting, false)}, taking up to ${say("crop_nitrogen")}.`;
}

if (typeof module !== "undefined") module.exports = { SLIDERS, START, UNITS, nameOf, tidied, valueWords, sameSettings, dateAfter, stopValue, nearestStop };
