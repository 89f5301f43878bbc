// The live page: state, and what follows from it. One setting moves with the controls; up to four are pinned beside it.
"use strict";

const MOVING = "now, as set", MOST_PINS = 4;
const DASHES = ["none", "7 3", "2 2", "10 3 2 3", "4 2 1 2"]; // as charts draw their lines

const state = { units: "us", day: 365, now: { ...START }, pins: [], weather: new Map(), fit: null };
let engine, ask, lists, controls, wall, theme;
let whole = null;    // the last answer to all settings at once, and what it depends on
let shown = null;    // the answer on the page
let turn = 0;        // of the newest refresh
let rangesTimer = 0, wordsTimer = 0;

const byId = (id) => document.getElementById(id);
const materialOf = (name) => lists.materials.find((m) => m.name === name);

/** The scenario of settings, and the files it names. */
function requestOf(settings, treatments = [{ name: "setting", settings }]) {
  const file = settings.climate.startsWith("file:") ? settings.climate.slice(5) : "";
  const files = {}, context = { units: state.units, title: "Stalks after harvest", materials: lists.materials };
  if (file) {
    const weather = state.weather.get(file);
    files[file] = weather.text;
    context.weather = { ...weather, name: file };
  }
  if (state.fit) {
    files[state.fit.name] = state.fit.text;
    context.fit = { name: state.fit.name, as_in_trial: state.fit.as_in_trial };
  }
  return { scenario: scenarioText(treatments, context), files };
}
const runOfPin = (pin, name) => (pin.settings ? { ...requestOf(pin.settings), name } : { ...pin.source, units: state.units, name });

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

/** Runs of all settings, the moving one first. */
function allRuns() {
  const names = pinNames();
  return [{ ...requestOf(state.now), name: MOVING }, ...state.pins.map((pin, i) => runOfPin(pin, names[i]))];
}
const withoutFirst = (runs) => JSON.stringify([state.fit?.name, ...runs.slice(1)]);

/** Runs what is missing and redraws; ranges follow from the worker once nothing moves. */
async function refresh() {
  const mine = ++turn, runs = allRuns(), key = withoutFirst(runs);
  const known = whole && whole.key === key;
  const answer = await engine.call({ do: "run", runs: known ? runs.slice(0, 1) : runs });
  if (mine !== turn) return;
  if (!answer.ok) {
    const which = answer.run ? `'${runs[answer.run].name}' cannot be run; remove it or change it.` : "This setting cannot be run; the curves show the last one that could.";
    showMessage(which, mistakeWords(answer));
    document.body.dataset.turn = String(mine);
    return;
  }
  if (!known) whole = { key, answer };
  shown = known ? withNewest(whole.answer, answer, MOVING) : answer;
  byId("range-words").textContent = ask ? "Ranges follow in a moment." : "";
  drawScene();
  await drawCharts(mine);
  clearTimeout(rangesTimer);
  if (ask && mine === turn) rangesTimer = setTimeout(() => showRanges(mine, key, runs), 300);
}

async function showRanges(mine, key, runs) {
  const draws = state.fit ? Math.min(DRAWS, state.fit.draws) : DRAWS;
  const answer = draws > 1 ? await ask({ do: "run", draws, runs }) : null;
  if (!answer || mine !== turn) return;
  if (answer.ok) {
    whole = { key, answer };
    shown = answer;
    byId("range-words").textContent = state.fit ? "Small print: the range that the data of the fit leave open. Other weather is not in it."
      : "Small print and bands: nine of ten new places like this lie between these. Other weather is not in it.";
    await drawCharts(mine);
  } else byId("range-words").textContent = `No ranges: ${mistakeWords(answer)[0]}`;
  document.body.dataset.ranged = String(mine);
}

function drawScene() {
  const material = materialOf(state.now.material);
  byId("day-words").textContent = dayWords(state.day, state.now.harvest);
  byId("day").setAttribute("aria-valuetext", dayWords(state.day, state.now.harvest));
  if (shown) showScene(state.now, shown.cohorts, { diameter: material.components[0].diameter_mm, rind: material.components[0].rind }, state.day, state.units);
}

async function drawCharts(mine) {
  const phone = matchMedia("(max-width: 820px)").matches, [first, ...others] = shown.charts.map((chart) => withOneBand(chart, MOVING));
  await wall.draw(first, state.units, byId("first-chart"), phone ? 105 : undefined);
  fillNumbers(byId("number-table"), shown, state.units, harvestOf);
  byId("assumed").textContent = assumedWords(state.now, state.units);
  clearTimeout(wordsTimer);
  wordsTimer = setTimeout(() => (byId("outcome").textContent = outcomeWords(shown, MOVING, state.units, state.now.harvest)), 350);
  for (const chart of others) {
    if (mine !== turn) return;
    await wall.draw(chart, state.units, byId("charts"), phone ? Math.min(200, chart.height) : undefined);
  }
  const money = /\b(prices?|costs?|money|net value)\b/i; // of which this page shows none
  const notes = [...new Set([...shown.warnings, ...shown.notes])].filter((note) => !money.test(note));
  byId("notes").replaceChildren(...notes.map((note) => Object.assign(document.createElement("p"), { textContent: note })));
  document.body.dataset.turn = String(mine);
}

/** Day of harvest of what is shown under a name. */
function harvestOf(name) {
  const pin = state.pins[pinNames().indexOf(name)];
  if (!pin) return state.now.harvest;
  return pin.settings ? pin.settings.harvest : pin.harvest;
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
    sample.append(svg("path", { d: "M2 9H50", stroke: theme.range.category[i], "stroke-width": 3.5, fill: "none", "stroke-dasharray": DASHES[i] }));
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
    if (pin.settings) item.append(button("Set", `Set the controls to ${names[i]}`, () => {
      state.now = { ...pin.settings };
      update();
      list.children[i + 1].querySelector("button").focus();
    }));
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
