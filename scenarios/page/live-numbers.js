// Key numbers in plain words: a small table, one column a setting, and the one sentence that the page says after a change.
"use strict";

/** Rows of the table in this order: what the engine calls it (at what), and the words for it. */
const NUMBER_ROWS = [
  { name: "days_to_half", words: "Half of it is gone after" },
  { name: "mass_left_at", at: "planting 1", words: "Left when the next crop is planted" },
  { name: "soil_cover_at", at: "planting 1", words: "Ground covered at planting" },
  { name: "mass_left_at", at: "year 1", words: "Left after one year" },
  { name: "mass_left_at", at: "year 5", words: "Left after five years" },
  { name: "tie_up_deepest", words: "Most nitrogen tied up at once", positive: true },
  { name: "tie_up_deepest_day", words: "Tied up most" },
  { name: "nitrogen_released_at", at: "planting 1", words: "Nitrogen by planting" },
  { name: "stage_nitrogen_released", at: "V6", words: "Nitrogen from planting to V6" },
  { name: "stage_nitrogen_released", at: "silking", words: "Nitrogen from planting to silking" },
  { name: "nitrogen_released_at", at: "year 1", words: "Nitrogen by the year's end" },
  { name: "nitrogen_released_at", at: "year 5", words: "Nitrogen by the end of five years" },
  { name: "potassium_released_at", at: "planting 1", words: "Potassium given back by planting" },
  { name: "nitrogen_volatilised_at", at: "year 1", words: "Nitrogen lost to the air as ammonia in the first year" },
  { name: "nitrogen_leached_at", at: "year 1", words: "Nitrate washed below 1 m in the first year" },
];

const TERMS_OF_CHART = {
  "mass-left": "Exact term: dry matter of the first harvest that is left, decomposers included, as a share of that harvest; docs/model.md, Eq. 6 to 8.",
  "nitrogen-back": "Exact term: net nitrogen mineralisation since harvest (below zero: net immobilisation); docs/model.md, Eq. 9 to 11 and 35.",
  "phosphorus-back": "Exact term: net phosphorus mineralisation and leaching from residue; docs/model.md, Eq. 8 and 36. Not calibrated.",
  "potassium-back": "Exact term: potassium leached from residue; docs/model.md, Eq. 8.",
  "sulfur-back": "Exact term: net sulfur mineralisation; docs/model.md, Eq. 36. Not calibrated.",
  "soil-cover": "Exact term: share of the ground under flat residue, 1 - exp(-A mass); docs/model.md, Eq. 34.",
  "residue-temperature": "Exact term: temperature of the residue by its placement; docs/model.md, Eq. 22 and 31.",
  "residue-wetness": "Exact term: water content of the residue over its capacity; docs/model.md, Eq. 22 and 28.",
};

/** The number of an answer with that name, at that time, of that treatment. */
function numberOf(answer, treatment, row) {
  return answer.numbers.find((n) => n.name === row.name && (!row.at || n.at === row.at) && n.treatment === treatment);
}

/** Words of a number and its range apart: "48 lb/acre (45 to 52)". */
function splitRange(text) {
  const found = /^(.*) \(([^()]* to [^()]*)\)$/.exec(text);
  return found ? { words: found[1], range: found[2] } : { words: text, range: "" };
}

function monthsWords(days) {
  if (days < 75) return `${Math.round(days)} days`;
  const months = Math.round(days / 30.44);
  if (months < 24) return `${months} months`;
  return `${Math.floor(months / 12)} years${months % 12 ? ` ${months % 12} months` : ""}`;
}

/** "-25 to -5" as "5 to 25 tied up", "-39 to 4" as "39 tied up to 4 given back". */
function directionRange(range) {
  const ends = range.split(" to ");
  if (ends.length !== 2) return "";
  const [low, high] = ends.map((end) => ({ size: end.replace("-", ""), tied: end.startsWith("-") }));
  if (low.tied && high.tied) return `${high.size} to ${low.size} tied up`;
  return low.tied ? `${low.size} tied up to ${high.size} given back` : `${low.size} to ${high.size} given back`;
}

/** What a cell says: text and range as the engine wrote them; days as months and dates; nitrogen with its direction. */
function cellWords(number, row, units, harvest) {
  const { words, range } = splitRange(number[units]);
  const value = number.value;
  if (value === null) return { words, range };
  if (row.name === "tie_up_deepest_day") return { words: "in " + dateWords(dateAfter(harvest, Math.round(value))).replace(/^\d+ /, ""), range: "" };
  if (row.name === "days_to_half") return { words: monthsWords(value), range: range ? `${range} days` : "" };
  const plain = (text) => text.replaceAll("-", "");
  if (row.positive) {
    const ends = range.split(" to ").map(plain);
    return { words: value > -1e-9 ? "none" : plain(words), range: range ? ends.reverse().join(" to ") : "" };
  }
  if (/^(stage_)?nitrogen_released/.test(row.name)) {
    const size = plain(words);
    return { words: /^0 /.test(size) ? size : value < 0 ? `${size} tied up` : `${size} given back`, range: directionRange(range) };
  }
  return { words, range };
}

/** Fills the table, a column a treatment; harvestOf(treatment) is its day of harvest. */
function fillNumbers(host, answer, units, harvestOf) {
  const treatments = [...new Set(answer.numbers.map((n) => n.treatment))];
  const cell = (tag, text, scope) => {
    const element = document.createElement(tag);
    element.textContent = text;
    if (scope) element.scope = scope;
    return element;
  };
  const head = document.createElement("tr");
  head.append(cell("td", ""), ...treatments.map((name) => cell("th", name, "col")));
  const rows = [];
  for (const row of NUMBER_ROWS) {
    const numbers = treatments.map((treatment) => numberOf(answer, treatment, row));
    if (!numbers.some(Boolean)) continue;
    if (row.name === "nitrogen_volatilised_at" && numbers.every((n) => !n || !(Math.abs(n.value) > 1e-3))) continue;
    const line = document.createElement("tr");
    line.append(cell("th", row.words, "row"));
    numbers.forEach((number, i) => {
      const { words, range } = number ? cellWords(number, row, units, harvestOf(treatments[i])) : { words: "-", range: "" };
      const td = cell("td", words);
      td.dataset.number = row.at ? `${row.name} ${row.at}` : row.name;
      if (range) {
        const span = cell("span", range);
        span.className = "range";
        td.append(span);
      }
      line.append(td);
    });
    rows.push(line);
  }
  const table = document.createElement("table"), thead = document.createElement("thead"), tbody = document.createElement("tbody");
  thead.append(head);
  tbody.append(...rows);
  table.append(thead, tbody);
  host.replaceChildren(table);
}

/** One sentence of what a setting does. */
function outcomeWords(answer, treatment, units, harvest) {
  const say = (name, at) => {
    const row = NUMBER_ROWS.find((r) => r.name === name && r.at === at);
    const number = numberOf(answer, treatment, row);
    return number ? cellWords(number, row, units, harvest).words : "";
  };
  const half = numberOf(answer, treatment, { name: "days_to_half" });
  const first = half && half.value === null ? "More than half is still there after five years" : `Half is gone after ${say("days_to_half")}`;
  const most = say("tie_up_deepest");
  const tied = most === "none" ? "no nitrogen is tied up" : `at the most about ${most} are tied up, ${say("tie_up_deepest_day").replace(/^in /, "about ")}`;
  return `${first}; ${tied}; ${say("soil_cover_at", "planting 1")} of the ground is covered at planting.`;
}

if (typeof module !== "undefined") module.exports = { splitRange, cellWords, outcomeWords, NUMBER_ROWS };
