// The page's state as the fragment of its address: what is as at the start is left out. Nothing is sent anywhere; the
// part after # stays in the browser.
"use strict";

const PAGE_TEXTS = ["material", "product", "climate", "texture", "harvest", "planting"];
const isDate = (text) => {
  const day = new Date(text + "T00:00:00Z"); // 30 February becomes 1 March
  return /^\d{4}-\d\d-\d\d$/.test(text) && !Number.isNaN(day.getTime()) && day.toISOString().slice(0, 10) === text;
};

function settingsToParams(settings) {
  const tidy = tidied(settings), params = new URLSearchParams();
  for (const s of SLIDERS) if (tidy[s.key] !== START[s.key]) params.set(s.key, String(round(tidy[s.key], 10)));
  for (const key of PAGE_TEXTS) if (tidy[key] !== START[key]) params.set(key, tidy[key]);
  return params;
}

/** Settings of params; what is unknown or out of bounds is left at its start value and told in `mistakes`. */
function settingsOfParams(params, lists, mistakes) {
  const settings = { ...START };
  const allowed = { material: lists.materials.map((m) => m.name), product: ["", ...lists.products.map((p) => p.name)],
    climate: lists.climates.map((c) => c.name), texture: lists.textures.map((t) => t.name) };
  for (const [key, text] of params) {
    const slider = SLIDERS.find((s) => s.key === key);
    if (slider) {
      const value = Number(text);
      const fine = text.trim() !== "" && Number.isFinite(value) && ((value === 0 && slider.zero) || (value >= slider.lower && value <= slider.upper));
      if (fine) settings[key] = value;
      else mistakes.push(`${slider.label}: found '${text}'; left as at the start`);
    } else if (allowed[key]) {
      if (allowed[key].includes(text)) settings[key] = text;
      else if (text.startsWith("file:") && key === "climate") mistakes.push(`The weather file ${text.slice(5)} is not in the link; choose it again`);
      else mistakes.push(`${key}: '${text}' is not known; left as at the start`);
    } else if (key === "harvest" && isDate(text)) settings.harvest = text;
    else if (key === "planting" && isDate("2000-" + text)) settings.planting = text;
    else if (!["units", "day", "pin", "name"].includes(key)) mistakes.push(`'${key}' is not known and was passed over`);
  }
  return settings;
}

/** `page` is { units, day, now, pins: [{ name, named, settings }] }; pins of scenario files stay out. */
function linkOf(page) {
  const params = settingsToParams(page.now);
  params.set("units", page.units);
  params.set("day", String(page.day));
  for (const pin of page.pins) {
    if (!pin.settings) continue;
    const own = settingsToParams(pin.settings);
    if (pin.named) own.set("name", pin.name);
    params.append("pin", own.toString());
  }
  return "#" + params.toString();
}

/** The state in a fragment: { units, day, now, pins, mistakes }; undefined where there is none. */
function pageOfLink(hash, lists) {
  if (hash.length < 2) return undefined;
  const params = new URLSearchParams(hash.slice(1)), mistakes = [];
  const now = settingsOfParams(params, lists, mistakes);
  const pins = params.getAll("pin").slice(0, 4).map((text) => {
    const own = new URLSearchParams(text);
    const name = (own.get("name") ?? "").slice(0, 80);
    return { name, named: Boolean(name), settings: settingsOfParams(own, lists, mistakes) };
  });
  const day = Number(params.get("day") ?? NaN);
  return { units: params.get("units") === "si" ? "si" : "us", day: day >= 0 && day <= 1826 ? Math.round(day) : 365, now, pins, mistakes };
}

if (typeof module !== "undefined") module.exports = { linkOf, pageOfLink };
