// Starts the live page: engine, worker, buttons, files.
"use strict";

/** Units of a weather file whose header states none; people are asked, it is never guessed. */
const COLUMNS_IN = [["us", "°F and inches"], ["metric", "°C and mm"], ["tenths", "tenths of °C and of mm"]];

async function takeWeather(name, text, columns_in) {
  const answer = await engine.call({ do: "weather", name, text, columns_in });
  if (!answer.ok && !columns_in && answer.mistakes.some((m) => m.message.includes("columns_in"))) {
    return showMessage(`${name} does not say its units. Look at its numbers; they are in`, [], false,
      COLUMNS_IN.map(([value, words]) => [words, () => takeWeather(name, text, value)]));
  }
  if (!answer.ok) return showMessage(`${name} was not taken as weather; the climate stays as it was.`, mistakeWords(answer));
  const climate = `file:${name}`, before = state.now, known = state.weather.get(name);
  state.weather.set(name, { text, columns_in, latitude: answer.needs_latitude ? 42 : undefined });
  state.now = { ...state.now, climate, ...harvestWithin(answer) };
  const tried = await engine.call({ do: "run", ...requestOf(state.now), charts: false, numbers: false });
  if (!tried.ok) {
    state.now = before;
    if (known) state.weather.set(name, known);
    else state.weather.delete(name);
    return showMessage(`${name} cannot be used as weather; the climate stays as it was.`, mistakeWords(tried));
  }
  controls.offer(climate, `your file: ${name}`);
  byId("latitude").value = answer.needs_latitude ? 42 : Math.round(answer.latitude_deg * 10) / 10;
  showMessage(`${name}: daily weather from ${answer.first} to ${answer.last} is in use.`,
    [...(answer.needs_latitude ? ["It says no latitude: 42 N is taken; set yours below the climate."] : []), ...answer.warnings], true);
  await update();
}

/** The harvest moved into a weather record, to its first year that holds it. */
function harvestWithin({ first, last }) {
  const day = state.now.harvest.slice(4);
  if (state.now.harvest >= first && state.now.harvest <= last) return {};
  const year = Number(first.slice(0, 4));
  const harvest = [year, year + 1].map((y) => `${y}${day}`).find((d) => d >= first && d <= last);
  return { harvest: harvest ?? first };
}

/** Settings that say all of one treatment of a scenario that was read; undefined where controls cannot. */
function settingsOfRead(read, t) {
  const material = materialOf(t.material), parts = t.components.find((c) => c.name === t.cut)?.pieces ?? [];
  const own = read.kept.filter((k) => (!k.treatment || k.treatment === t.name) && !/^component\.[^.]+\.pieces$/.test(k.key));
  const opened = parts.filter((p) => p.entry_spacing_mm > 0), closed = parts.filter((p) => !(p.entry_spacing_mm > 0));
  const scale = t.components.map((c) => c.nitrogen / (material?.components.find((m) => m.name === c.name)?.nitrogen ?? NaN));
  const plain = material && !own.length && !read.fit === !state.fit && Math.abs(read.duration_d - 1826) < 3 && t.placement.surface > 0.999999
    && opened.length <= 1 && closed.length <= 1 && parts.every((p) => p.cut_length_mm === parts[0].cut_length_mm)
    && scale.every((s) => Math.abs(s - scale[0]) < 1e-6 * s) && t.tillage.length <= 1 && t.fertiliser.length <= 1
    && (t.material === "corn" ? t.grain_yield_g_m2 !== null : t.grain_yield_g_m2 === null);
  if (!plain) return undefined;
  const [pass] = t.tillage, [spread] = t.fertiliser, [open] = opened;
  return tidied({
    ...START, material: t.material, climate: read.climate || `file:${read.weather_file}`, texture: t.texture || START.texture,
    harvest: t.harvest, planting: t.planting, cut: parts[0].cut_length_mm, crop_nitrogen: t.crop_nitrogen_g_m2 * 10,
    depth: t.burial_depth_mm, grain: (t.grain_yield_g_m2 ?? 0) / 100 || START.grain, residue: t.residue_g_m2 / 100,
    cn: Math.abs(scale[0] - 1) < 1e-6 ? 0 : material.cn / scale[0],
    ...(open && { spacing: open.entry_spacing_mm, opening: 100 * open.opening, opened: 100 * open.share }),
    ...(pass && { buried: 100 * pass.bury, buried_day: pass.days_after_harvest }),
    ...(spread && { product: spread.product, nitrogen: spread.nitrogen_g_m2 * 10, nitrogen_day: spread.days_after_harvest }),
  });
}

async function takeScenario(name, text) {
  const files = Object.fromEntries([...state.weather].map(([file, weather]) => [file, weather.text]));
  if (state.fit) files[state.fit.name] = state.fit.text;
  const source = { scenario: text, files, file: name };
  const answer = await engine.call({ do: "run", ...source });
  if (!answer.ok) return showMessage(`${name} was not taken; what you had stays.`, [...mistakeWords(answer), ...missingFileWords(answer)]);
  const room = MOST_PINS - state.pins.length, taken = answer.treatments.slice(0, room);
  if (!room) return showMessage(`${name} can be run, but four settings are pinned; remove one first.`);
  const read = await engine.call({ do: "read", ...source, name });
  const settings = taken.map((_, i) => (read.ok ? settingsOfRead(read, read.treatments[i]) : undefined));
  taken.forEach((treatment, i) => state.pins.push({ name: treatment, named: true, settings: settings[i] ?? null, source: { ...source, treatment }, harvest: startOf(answer) }));
  if (settings[0]) state.now = { ...settings[0] };
  const left = answer.treatments.length - taken.length;
  const beyond = settings.some((s) => !s) ? ["It holds more than the controls do. It is run as the file has it; the controls do not move it."] : [];
  showMessage(`${name}: ${taken.length} treatment${taken.length > 1 ? "s" : ""} pinned${left ? `; ${left} more found no room` : ""}.`, beyond, true);
  await update();
}

/** The first day of an answer's charts. */
function startOf(answer) {
  const first = answer.charts[0].columns.date.reduce((a, b) => Math.min(a, b));
  return new Date(first * 86400000).toISOString().slice(0, 10);
}

function missingFileWords(answer) {
  return answer.mistakes.some((m) => /there is no (weather )?file/.test(m.message)) ? ["Drop the file that it names onto the page first, then the scenario again."] : [];
}

async function takeFit(name, text) {
  const answer = await engine.call({ do: "fit", name, text });
  if (!answer.ok) return showMessage(`${name} was not taken as a fit; parameters stay as they were.`, mistakeWords(answer));
  const before = state.fit;
  state.fit = { name, text, as_in_trial: answer.treatments[0], draws: answer.draws };
  const tried = await engine.call({ do: "run", ...requestOf(state.now) });
  if (!tried.ok) {
    state.fit = before;
    return showMessage(`${name} cannot be used with this setting; parameters stay as they were.`, mistakeWords(tried));
  }
  showFit(answer);
  showMessage(`${name}: ${answer.unknowns.length} fitted parameters are in use for every setting.`, answer.warnings, true);
  await update();
}

function showFit(fit) {
  byId("fit-control").hidden = !state.fit;
  if (!state.fit) return;
  byId("group-more").open = true;
  byId("fit-words").textContent = `Fitted parameters: ${fit.title} (${state.fit.name}).`;
  byId("as-in-trial").replaceChildren(...fit.treatments.map((t) => new Option(t, t)));
}

function hearButtons() {
  for (const radio of document.querySelectorAll("[name=units]")) radio.addEventListener("change", () => {
    state.units = radio.value;
    update();
  });
  byId("pin").addEventListener("click", () => {
    if (byId("pin").disabled) return;
    state.pins.push({ name: "", named: false, settings: tidied(state.now) });
    update();
  });
  byId("day").addEventListener("input", () => {
    state.day = Number(byId("day").value);
    drawScene();
  });
  byId("play").addEventListener("click", togglePlay);
  byId("print").addEventListener("click", printSheet);
  addEventListener("afterprint", refresh);
  byId("start-again").addEventListener("click", () => {
    state.now = { ...START };
    update();
  });
  byId("save-scenario").addEventListener("click", saveScenario);
  byId("copy-link").addEventListener("click", copyLink);
  byId("latitude").addEventListener("change", () => {
    const value = Number(byId("latitude").value), file = state.now.climate.slice(5);
    if (!(Math.abs(value) <= 90) || !state.weather.has(file)) return;
    state.weather.set(file, { ...state.weather.get(file), latitude: value });
    update();
  });
  byId("as-in-trial").addEventListener("change", () => {
    state.fit.as_in_trial = byId("as-in-trial").value;
    update();
  });
  byId("drop-fit").addEventListener("click", () => {
    state.fit = null;
    showFit();
    update();
  });
  byId("controls").addEventListener("submit", (event) => event.preventDefault());
}

/** Draws the sheet's charts as small as they will stand on it, then prints. */
async function printSheet() {
  const sheet = ["mass-left", "nitrogen-back", "soil-cover"];
  for (const chart of shown.charts.filter((c) => sheet.includes(c.name))) await wall.draw(withOneBand(chart, MOVING), state.units, byId("charts"), 130, 235);
  print();
}

let playing = 0;
/** Lets time run over the five years in about twenty seconds; a step a second where motion is to be little. */
function togglePlay() {
  const button = byId("play");
  const stop = () => {
    clearInterval(playing);
    playing = 0;
    button.textContent = "Let time run";
    button.setAttribute("aria-pressed", "false");
  };
  if (playing) return stop();
  if (state.day >= 1826) state.day = 0;
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  button.textContent = "Stop";
  button.setAttribute("aria-pressed", "true");
  playing = setInterval(() => {
    state.day = Math.min(1826, state.day + (calm ? 61 : 8));
    byId("day").value = state.day;
    drawScene();
    if (state.day >= 1826) stop();
  }, calm ? 1000 : 80);
}

/** The scenario of what is shown, as far as it fits into one file; a file that `stoverturn run` reads. */
function saveScenario() {
  const names = pinNames();
  const own = state.pins.map((pin, i) => ({ name: names[i], settings: pin.settings })).filter((t) => t.settings && inOneFile(t.settings, state.now));
  const treatments = own.some((t) => sameSettings(t.settings, state.now)) ? own : [{ name: nameOf(state.now, state.units), settings: state.now }, ...own];
  const { scenario, files } = requestOf(state.now, treatments);
  saveText("stalks.toml", scenario, "text/plain");
  const left = state.pins.length - own.length, beside = Object.keys(files);
  showMessage("stalks.toml is saved; `stoverturn run stalks.toml` gives the same numbers.", [
    ...(beside.length ? [`It needs ${beside.join(" and ")} beside it.`] : []),
    ...(left ? [`${left} pinned with another harvest, weather or file stay out; set the controls to them to save them.`] : []),
  ], true);
}

async function copyLink() {
  const link = location.href.split("#")[0] + linkOf(state);
  history.replaceState(null, "", link);
  const files = state.fit || [state.now, ...state.pins.map((pin) => pin.settings)].some((s) => !s || s.climate.startsWith("file:"));
  const lost = files ? ["Weather, scenario and fit files are not in it: send them along."] : [];
  try {
    await navigator.clipboard.writeText(link);
    showMessage("The link is copied; it holds all settings and is also in the address above.", lost, true);
  } catch {
    showMessage("The link is in the address above; copy it there.", lost, true);
  }
}

function takeLink() {
  const page = pageOfLink(location.hash, lists);
  if (!page) return;
  Object.assign(state, { units: page.units, day: page.day, now: page.now, pins: page.pins });
  if (page.mistakes.length) showMessage("Part of the link could not be read; the rest is as it says.", page.mistakes);
}

async function start() {
  theme = JSON.parse(byId("chart-theme").textContent);
  engine = await startEngine();
  lists = await engine.call({ do: "lists" });
  for (const m of lists.materials) {
    m.cut = m.components[0].name;
    m.cn = m.components.reduce((sum, c) => sum + c.mass_share * c.carbon, 0) / m.components.reduce((sum, c) => sum + c.mass_share * c.nitrogen, 0);
  }
  const worker = typeof Worker === "function" ? startEngineWorker() : undefined; // without one there are no ranges
  ask = worker && makeAsk(worker);
  wall = makeChartWall(theme);
  controls = makeControls(lists, changed);
  hearButtons();
  hearFiles((kind, name, text) => ({ weather: takeWeather, scenario: takeScenario, fit: takeFit })[kind](name, text));
  takeLink();
  addEventListener("hashchange", () => {
    takeLink();
    update();
  });
  let resizing = 0;
  addEventListener("resize", () => {
    clearTimeout(resizing);
    resizing = setTimeout(refresh, 200);
  });
  await update();
  document.body.dataset.ready = "yes";
}

start().catch((error) => showMessage("The page could not start. A newer browser may help.", [String(error.message ?? error)]));
