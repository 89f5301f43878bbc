// The live page: state, and what follows from it. One setting moves with the controls; up to four are pinned beside it.
"use strict";

const MOVING = "now, as set", MOST_PINS = 4;

const state = { units: "us", day: 365, now: { ...START }, pins: [], weather: new Map(), fit: null };
let engine, lists, runs, controls, wall, theme;
let shown = [];      // runs on the charts: { name, answer, treatment, harvest, settings }
let turn = 0;        // of the newest refresh
let rangesTimer = 0, wordsTimer = 0;

const byId = (id) => document.getElementById(id);
const materialOf = (name) => lists.materials.find((m) => m.name === name);

/** What a run of settings asks of the engine. */
function requestOf(settings, label = "setting", treatments = [{ name: label, settings }]) {
  const file = settings.climate.startsWith("file:") ? settings.climate.slice(5) : "";
  const files = {}, context = { units: state.units, title: "Stalks after harvest", materials: lists.materials };
  if (file) {
    const weather = state.weather.get(file);
    files[file] = weather.text;
    context.weather = { name: file, latitude: weather.latitude };
  }
  if (state.fit) {
    files[state.fit.name] = state.fit.text;
    context.fit = { name: state.fit.name, as_in_trial: state.fit.as_in_trial };
  }
  return { scenario: scenarioText(treatments, context), files, units: state.units };
}
const requestOfPin = (pin) => (pin.settings ? requestOf(pin.settings) : { ...pin.source.request, units: state.units });

function startOf(answer) {
  const chart = answer.charts.find((c) => c.si.fields.some((f) => f.type === "temporal"));
  if (!chart) return START.harvest;
  const first = chart.columns[chart.si.fields.find((f) => f.type === "temporal").name].reduce((a, b) => Math.min(a, b));
  return new Date(first * 86400000).toISOString().slice(0, 10);
}

const pinName = (pin) => (pin.named || !pin.settings ? pin.name : nameOf(pin.settings, state.units));

/** Names of the pins, each once. */
function pinNames() {
  const names = [];
  for (const pin of state.pins) {
    let name = pinName(pin);
    for (let n = 2; names.includes(name) || name === MOVING; ++n) name = `${pinName(pin)} (${n})`;
    names.push(name);
  }
  return names;
}

/** Runs what is missing and redraws. Charts beyond the first follow when the first is drawn. */
async function refresh() {
  const mine = ++turn;
  const answer = await runs.now(requestOf(state.now));
  if (mine !== turn) return;
  if (!answer.ok) {
    showMessage("This setting cannot be run; the curves show the last one that could.", mistakeWords(answer));
    return;
  }
  const names = pinNames();
  const list = [{ name: MOVING, answer, treatment: answer.treatments[0], harvest: state.now.harvest, settings: state.now }];
  for (const [i, pin] of state.pins.entries()) {
    const own = await runs.now(requestOfPin(pin));
    if (own.ok) list.push({ name: names[i], answer: own, treatment: pin.settings ? own.treatments[0] : pin.source.treatment, harvest: pin.settings ? pin.settings.harvest : startOf(own), settings: pin.settings });
  }
  if (mine !== turn) return;
  shown = list;
  drawScene();
  await drawCharts(mine);
  rangesLater();
}

function drawScene() {
  const [{ answer }] = shown;
  const material = materialOf(state.now.material);
  byId("day-words").textContent = dayWords(state.day, state.now.harvest);
  byId("day").setAttribute("aria-valuetext", dayWords(state.day, state.now.harvest));
  showScene(state.now, answer.cohorts.filter((c) => c.component === material.cut), material.shape, state.day, state.units);
}

async function drawCharts(mine) {
  const charts = mergeCharts(shown.map((run) => ({ name: run.name, treatment: run.treatment, charts: run.answer.charts })));
  const phone = matchMedia("(max-width: 820px)").matches;
  await wall.draw(charts[0], state.units, byId("first-chart"), phone ? 120 : undefined);
  fillNumbers(byId("number-table"), shown, state.units);
  const ranged = shown.some((run) => run.answer.draws);
  byId("range-words").textContent = ranged
    ? "Small: nine of ten new places like this lie between these. Other weather is not in it. " : "Ranges follow in a moment.";
  clearTimeout(wordsTimer);
  wordsTimer = setTimeout(() => (byId("outcome").textContent = outcomeWords(shown[0], state.units)), 350);
  for (const chart of charts.slice(1)) {
    if (mine !== turn) return;
    await new Promise(requestAnimationFrame);
    await wall.draw(chart, state.units, byId("charts"), phone ? 200 : undefined);
  }
  const notes = [...new Set(shown.flatMap((run) => [...run.answer.warnings, ...run.answer.notes]))];
  byId("notes").replaceChildren(...notes.map((note) => Object.assign(document.createElement("p"), { textContent: note })));
  document.body.dataset.turn = String(mine);
}

/** Has the worker find ranges once nothing moves. */
function rangesLater() {
  clearTimeout(rangesTimer);
  rangesTimer = setTimeout(async () => {
    const mine = turn;
    for (const request of [requestOf(state.now), ...state.pins.map(requestOfPin)]) {
      if (mine !== turn) return;
      if (runs.isRanged(request)) continue;
      const fresh = await runs.ranges(request);
      if (fresh && mine === turn) return refresh();
    }
    document.body.dataset.ranged = String(mine);
  }, 350);
}

/** Shows the state on the controls and the pins, then runs it. */
function update() {
  controls.show(state.now, state.units);
  for (const radio of document.querySelectorAll("[name=units]")) radio.checked = radio.value === state.units;
  byId("latitude-control").hidden = !state.now.climate.startsWith("file:");
  byId("day").value = state.day;
  showPins();
  return refresh();
}

function showPins() {
  const names = pinNames(), list = byId("pin-list");
  const line = (i) => {
    const sample = svg("svg", { class: "line", viewBox: "0 0 52 18", "aria-hidden": "true" });
    sample.append(svg("path", { d: "M2 9H50", stroke: theme.range.category[i], "stroke-width": 3.5, fill: "none", "stroke-dasharray": i ? LINE_DASHES[i].map((n) => n * 1.3).join(" ") : "none" }));
    return sample;
  };
  const button = (words, label, act) => {
    const made = Object.assign(document.createElement("button"), { type: "button", textContent: words });
    made.setAttribute("aria-label", label);
    made.addEventListener("click", act);
    return made;
  };
  const text = (words) => Object.assign(document.createElement("span"), { className: "name", textContent: words });
  const items = [Object.assign(document.createElement("li"), { id: "moving" })];
  items[0].append(line(0), text(`${MOVING}: ${nameOf(state.now, state.units)}`));
  state.pins.forEach((pin, i) => {
    const item = document.createElement("li");
    item.append(line(i + 1), text(names[i]));
    if (pin.settings) item.append(button("Set", `Set the controls to ${names[i]}`, () => { state.now = { ...pin.settings }; update(); }));
    item.append(button("Rename", `Rename ${names[i]}`, () => renamePin(item, pin, names[i])), button("Remove", `Remove ${names[i]}`, () => {
      state.pins.splice(i, 1);
      update();
      byId("pin").focus();
    }));
    items.push(item);
  });
  list.replaceChildren(...items);
  const full = state.pins.length >= MOST_PINS, there = state.pins.some((pin) => pin.settings && sameSettings(pin.settings, state.now));
  byId("pin").disabled = full || there;
  byId("pin-help").textContent = full ? "Four are pinned; remove one to pin another." : there ? "This setting is pinned. Move a control to compare." : "Up to four settings stay on the charts while you move on.";
}

function renamePin(item, pin, name) {
  const input = Object.assign(document.createElement("input"), { type: "text", value: name, maxLength: 80 });
  input.setAttribute("aria-label", `New name of ${name}`);
  let done = false;
  const finish = (keep) => {
    if (done) return;
    done = true;
    const words = input.value.trim();
    if (keep && words && words !== name) Object.assign(pin, { name: words, named: true });
    update();
    byId("pin-list").children[state.pins.indexOf(pin) + 1].querySelector("button").focus();
  };
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === "Escape") {
      event.preventDefault();
      finish(event.key === "Enter");
    }
  });
  input.addEventListener("blur", () => finish(true));
  item.querySelector(".name").replaceChildren(input);
  input.focus();
  input.select();
}

/** Seasons turn over below the equator: harvest in April, planting in October, unless the user said otherwise. */
function seasonsFor(latitude) {
  const south = latitude < 0, now = state.now;
  const usual = (harvest) => ["2026-10-20", "2026-04-15"].includes(harvest);
  if (usual(now.harvest)) now.harvest = south ? "2026-04-15" : "2026-10-20";
  if (["05-05", "10-05"].includes(now.planting)) now.planting = south ? "10-05" : "05-05";
}

function changed(key, value) {
  state.now = { ...state.now, [key]: value };
  if (key === "product" && value && !state.now.nitrogen) state.now.nitrogen = START.nitrogen;
  if (key === "climate" && !value.startsWith("file:")) seasonsFor(lists.climates.find((c) => c.name === value).latitude_deg);
  const pinned = state.pins.length;
  controls.show(state.now, state.units);
  byId("latitude-control").hidden = !state.now.climate.startsWith("file:");
  if (pinned === state.pins.length) showPins();
  coalesced();
}

/** One refresh a frame, however fast a slider moves. */
let waiting = false;
function coalesced() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => {
    waiting = false;
    refresh();
  });
}
