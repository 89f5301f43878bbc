// A scenario file from settings: what the page itself runs, and what `stoverturn run` reads. Same settings, same bytes.
"use strict";

/** A TOML text in quotes. */
function tomlText(text) {
  const escapes = { '"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r" };
  return '"' + text.replace(/["\\\u0000-\u001f\u007f]/g, (c) => escapes[c] ?? "\\u" + c.charCodeAt(0).toString(16).padStart(4, "0")) + '"';
}

/** A setting as a quantity of the scenario file, `"6 in"`, in the units of the page. */
function quantity(settings, key, units) {
  const { unit, scale } = UNITS[sliderOf(key).kind][units];
  return `"${round(settings[key] / scale, 10)} ${unit}"`;
}

/** Lines of [component.X] under `path`: how stalks are cut and opened, and their nitrogen. */
function componentLines(settings, units, path, material) {
  const lines = [];
  for (const part of material.components) {
    const own = [];
    if (part.name === material.cut) {
      own.push(`cut_length = ${quantity(settings, "cut", units)}`);
      if (settings.spacing) {
        const opened = `entry_spacing = ${quantity(settings, "spacing", units)}, opening = "${round(settings.opening)} %"`;
        if (settings.opened >= 100) own.push(...opened.split(", "));
        else {
          own.push("pieces = [", `  { name = "opened", share = "${round(settings.opened)} %", ${opened} },`,
            `  { name = "closed", share = "${round(100 - settings.opened)} %" },`, "]");
        }
      }
    }
    if (settings.cn) own.push(`nitrogen = "${round((1000 * part.nitrogen * material.cn) / settings.cn, 10)} g/kg"`);
    if (own.length) lines.push("", `[${path}component.${/^[\w-]+$/.test(part.name) ? part.name : tomlText(part.name)}]`, ...own);
  }
  return lines;
}

function eventLines(settings, units, path) {
  const lines = [];
  if (settings.buried) {
    lines.push("", `[[${path}]]`, 'kind = "tillage"', `after_harvest = "${round(settings.buried_day)} d"`, `bury = "${round(settings.buried)} %"`);
  }
  if (settings.product) {
    lines.push("", `[[${path}]]`, 'kind = "fertiliser"', `after_harvest = "${round(settings.nitrogen_day)} d"`, `product = ${tomlText(settings.product)}`,
      `nitrogen = ${quantity(settings, "nitrogen", units)}`);
  }
  return lines;
}

/**
 * The scenario of one setting. `treatments` are { name, settings } that share climate, soil depth, harvest and crop with
 * the first; `weather` is { name, latitude, columns_in } of a file in place of a climate, `fit` { name, as_in_trial, draws }.
 */
function scenarioText(treatments, { units, title, materials, weather, fit, draws }) {
  const [first] = treatments.map((t) => tidied(t.settings));
  const amount = first.material === "corn" ? `grain_yield = ${quantity(first, "grain", units)}` : `residue = ${quantity(first, "residue", units)}`;
  const lines = [
    "# Made on the live page of stoverturn; nothing in it depends on when. Rates and dates on a field are between you, your",
    "# licensed adviser and local rules.",
    `title = ${tomlText(title)}`,
    `units = "${units}"`,
    'duration = "5 years"',
  ];
  if (fit) lines.push(`parameters = ${tomlText(fit.name)}`);
  if (draws) lines.push(`draws = ${draws}`);
  lines.push("", "[weather]", weather ? `file = ${tomlText(weather.name)}` : `climate = ${tomlText(first.climate)}`);
  if (weather && weather.columns_in) lines.push(`columns_in = "${weather.columns_in}"`);
  if (weather && weather.latitude !== undefined) lines.push(`latitude = ${weather.latitude}`);
  lines.push("", "[soil]", `texture = ${tomlText(first.texture)}`, `burial_depth = ${quantity(first, "depth", units)}`);
  lines.push("", "[harvest]", `date = ${first.harvest}`, amount);
  if (first.material !== "corn") lines.push(`material = ${tomlText(first.material)}`);
  lines.push("", "[next_crop]", `planting = "${first.planting}"`);
  if (first.crop_nitrogen) lines.push(`nitrogen = ${quantity(first, "crop_nitrogen", units)}`);
  treatments.forEach(({ name, settings }, i) => {
    const s = tidied(settings);
    const path = `treatment.setting_${i + 1}`;
    lines.push("", `[${path}]`, `label = ${tomlText(name)}`);
    if (fit && fit.as_in_trial) lines.push(`as_in_trial = ${tomlText(fit.as_in_trial)}`);
    if (s.depth !== first.depth) lines.push(`soil.burial_depth = ${quantity(s, "depth", units)}`);
    lines.push(...componentLines(s, units, path + ".", materials.find((m) => m.name === s.material)));
    lines.push(...eventLines(s, units, path + ".add_event"));
  });
  return lines.join("\n") + "\n";
}

/** Whether two settings can stand in one scenario file: what differs between treatments is how stalks are handled. */
function inOneFile(a, b) {
  const [x, y] = [tidied(a), tidied(b)];
  return ["climate", "texture", "material", "harvest", "planting", "grain", "residue", "crop_nitrogen"].every((key) => x[key] === y[key]);
}

if (typeof module !== "undefined") module.exports = { scenarioText, inOneFile, tomlText };
