// The live page in a real Chromium. NODE_PATH has playwright-core and axe-core (scenarios/page/libraries FOLDER test),
// STOVERTURN_PAGE is the built page, STOVERTURN the native program, STOVERTURN_SCREENSHOTS a folder for pictures.
"use strict";
const assert = require("node:assert/strict");
const { spawnSync } = require("node:child_process");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const test = require("node:test");
const { launch, openPage, seriousFindings } = require("./browser.js");

const root = path.resolve(__dirname, "../..");
const file = path.resolve(process.env.STOVERTURN_PAGE ?? path.join(root, "build-page/stoverturn-live.html"));
const program = path.resolve(process.env.STOVERTURN ?? path.join(root, "build-dev/scenarios/stoverturn"));
const pictures = process.env.STOVERTURN_SCREENSHOTS ?? fs.mkdtempSync(path.join(os.tmpdir(), "live-page-"));
const weatherFile = path.join(root, "notebooks-data/weather-newyork-2012-2015.csv");
const examples = path.join(root, "scenarios/examples");

let browser;
test.before(async () => (browser = await launch()));
test.after(() => browser.close());

/** A page that is ready, `{ page, problems, close }`; ranges, which take seconds, only where they are asked for. */
async function ready({ ranges = false, ...options } = {}) {
  const opened = await openPage(browser, file, options, ranges ? undefined : () => (window.Worker = undefined));
  await opened.page.waitForSelector("body[data-ready]", { timeout: 30000 });
  return { ...opened, close: () => opened.context.close() };
}
/** What is on the page once no refresh is under way. */
const settled = (page) =>
  page.evaluate(async () => {
    for (let quiet = 0; quiet < 3; ) {
      await new Promise((resume) => setTimeout(resume, 30));
      quiet = !waiting && document.body.dataset.turn === String(turn) ? quiet + 1 : 0;
    }
  });
/** All data that the charts show, by chart. */
const drawn = (page) => page.evaluate(() => Object.fromEntries(shown.charts.map((c) => [c.name, JSON.stringify(c.columns)])));
/** Waits until the charts show other data than `before`, five seconds at most, and gives the names of those that do. An
 * input's event may come after the key press that made it. */
async function changedCharts(page, before) {
  for (let tries = 0; tries < 50; ++tries) {
    await settled(page);
    const now = await drawn(page);
    const changed = Object.keys(now).filter((name) => now[name] !== before[name]);
    if (changed.length > 0) return { changed, now };
    await page.waitForTimeout(10);
  }
  return { changed: [], now: before };
}
const setSlider = (page, id, index) =>
  page.locator(`#set-${id}`).evaluate((input, value) => {
    input.value = value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  }, String(index));
const message = async (page) => (await page.locator("#messages .message").last().innerText()).replace(/\s+/g, " ");
/** Has the page take a file as if it were dropped on it. */
async function drop(page, name, text) {
  await page.evaluate(([name, text]) => {
    const data = new DataTransfer();
    data.items.add(new File([text], name));
    document.body.dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
  }, [name, text]);
  await page.locator("#messages .message", { hasText: name }).last().waitFor();
  await settled(page);
}
async function saved(page, act) {
  const [download] = await Promise.all([page.waitForEvent("download"), act()]);
  return fs.readFileSync(await download.path(), "utf8");
}

test("it opens from a file, asks nobody for anything, and tells a key number, a range and its cautions", async () => {
  const { page, problems, close } = await ready({ ranges: true });
  await page.waitForSelector("body[data-ranged]", { timeout: 30000 });
  assert.match(await page.locator("#outcome").innerText(), /Half is gone after .*tied up.*covered at planting/);
  assert.match(await page.locator("#number-table").innerText(), /Ground covered at planting\s+\d+ %\s+\d+ to \d+/);
  assert.equal(await page.locator(".chart canvas").count(), await page.locator(".chart").count());
  for (const words of ["Ammonia", "Nitrate", "Machinery", "licensed adviser"])
    assert.ok(await page.locator("#cautions", { hasText: words }).isVisible(), words);
  assert.deepEqual(problems, []);
  await close();
});

test("every control changes the curves", async () => {
  const { page, problems, close } = await ready();
  await page.click("#group-more > summary");
  await setSlider(page, "spacing", 6); // openings, something buried and a product, so that all controls have an effect
  await setSlider(page, "opened", 7);
  await setSlider(page, "buried", 8);
  await page.selectOption("#set-product", "UAN 28");
  await settled(page);
  let before = await drawn(page);
  const differs = async (what) => {
    const { changed, now } = await changedCharts(page, before);
    assert.ok(changed.length > 0, `${what} changes nothing`);
    before = now;
  };
  for (const [key, index] of [["cut", 2], ["spacing", 9], ["opened", 3], ["opening", 2], ["buried", 15], ["depth", 9], ["buried_day", 25],
    ["nitrogen", 20], ["nitrogen_day", 26], ["grain", 10], ["cn", 3], ["crop_nitrogen", 2]]) {
    await setSlider(page, key, index);
    await differs(key);
  }
  for (const [key, value] of [["product", "urea"], ["climate", "Pampas"], ["texture", "sand"]]) {
    await page.selectOption(`#set-${key}`, value);
    await differs(key);
  }
  for (const [key, value] of [["harvest", "2026-05-20"], ["planting", "2026-11-10"]]) {
    await page.fill(`#${key}`, value).catch(() => page.locator(`#${key}`).evaluate((input, v) => {
      input.value = v;
      input.dispatchEvent(new Event("change", { bubbles: true }));
    }, value));
    await page.locator(`#${key}`).dispatchEvent("change");
    await differs(key);
  }
  await page.selectOption("#set-material", "wheat straw");
  await differs("material");
  await setSlider(page, "residue", 3);
  await differs("residue");
  assert.deepEqual(problems, []);
  await close();
});

test("the drawing follows openings, burial and time", async () => {
  const { page, close } = await ready();
  const picture = () => page.locator("#stalks").innerHTML();
  const closedStalk = await picture();
  assert.doesNotMatch(closedStalk, /stalk-slit/);
  await setSlider(page, "spacing", 6);
  await settled(page);
  const opened = await picture();
  assert.match(opened, /stalk-slit/);
  await setSlider(page, "buried", 10);
  await settled(page);
  assert.match(await picture(), /on-soil/);
  const words = await page.locator("#scene-words").innerText();
  await page.locator("#day").fill("1500");
  assert.notEqual(await page.locator("#scene-words").innerText(), words);
  assert.match(await page.locator("#day").getAttribute("aria-valuetext"), /4 years 1 month after harvest, 28 Nov 2030/);
  await close();
});

test("a dropped weather file is used; a bad one is told and changes nothing", async () => {
  const { page, problems, close } = await ready();
  const before = await drawn(page);
  await drop(page, "broken.csv", "date,tmin [degC],tmax [degC],rain [mm]\n2012-01-01,1,2,3\nnonsense,1,2,3\n");
  assert.match(await message(page), /broken\.csv was not taken as weather; the climate stays as it was/);
  assert.match(await message(page), /line 3/);
  assert.deepEqual(await drawn(page), before);
  await drop(page, "silent.csv", fs.readFileSync(weatherFile, "utf8").replace(/^date.*$/m, "date,tmin,tmax,rain"));
  assert.match(await message(page), /silent\.csv does not say its units/);
  assert.deepEqual(await drawn(page), before);
  await page.locator("#messages button", { hasText: "mm" }).first().click();
  await settled(page);
  assert.equal(await page.locator("#set-climate").inputValue(), "file:silent.csv");
  await drop(page, "station.csv", fs.readFileSync(weatherFile, "utf8"));
  assert.match(await message(page), /station\.csv: daily weather from 2012-\d\d-\d\d to 2015-\d\d-\d\d is in use/);
  assert.notDeepEqual(await drawn(page), before);
  assert.equal(await page.locator("#set-climate").inputValue(), "file:station.csv");
  assert.deepEqual(problems, []);
  await close();
});

test("bad scenario and fit files are told with their lines; good ones are taken", async () => {
  const { page, problems, close } = await ready();
  const before = await drawn(page);
  await drop(page, "bad.toml", 'title = "x"\n[weather]\nclimate = "central Iowa"\n[harvest]\ndate = 2026-10-20\ngrain_yeld = "200 bu/acre"\n');
  assert.match(await message(page), /bad\.toml was not taken.*line 6: .*grain_yeld/);
  await drop(page, "not-toml.toml", "title = [1, 2\n");
  assert.match(await message(page), /not-toml\.toml was not taken/);
  await drop(page, "bad.json", '{"stoverturn_fit": 1, "unknowns": 7}');
  assert.match(await message(page), /bad\.json was not taken as a fit/);
  assert.deepEqual(await drawn(page), before);
  await drop(page, "fall.toml", fs.readFileSync(path.join(examples, "pampas-climate.toml"), "utf8"));
  assert.match(await message(page), /fall\.toml: \d treatments? pinned/);
  const pins = await page.locator("#pin-list li").count();
  assert.ok(pins > 1);
  await drop(page, "invented-fit.json", fs.readFileSync(path.join(examples, "invented-fit.json"), "utf8"));
  assert.match(await message(page), /fitted parameters are in use/);
  const fitted = await drawn(page);
  assert.notEqual(fitted["mass-left"], before["mass-left"]);
  await page.selectOption("#as-in-trial", { index: 1 });
  await settled(page);
  assert.notEqual((await drawn(page))["mass-left"], fitted["mass-left"]);
  assert.deepEqual(problems, []);
  await close();
});

test("settings are pinned, named by what differs, renamed and removed", async () => {
  const { page, problems, close } = await ready();
  await page.click("#pin");
  await settled(page);
  assert.ok(await page.locator("#pin").isDisabled(), "the same setting is not pinned twice");
  await setSlider(page, "spacing", 6);
  await page.click("#pin");
  await setSlider(page, "buried", 10);
  await page.click("#pin");
  await page.selectOption("#set-climate", "Bihar");
  await page.click("#pin");
  await settled(page);
  assert.ok(await page.locator("#pin").isDisabled(), "four are pinned");
  const names = (await page.locator("#pin-list li .name").allInnerTexts()).slice(1);
  assert.equal(new Set(names).size, 4);
  assert.match(names[1], /opened every 2 in/);
  assert.match(names[2], /50 % worked in/);
  assert.match(names[3], /Bihar/);
  await page.locator("#pin-list li").nth(1).getByText("Rename").click();
  await page.keyboard.type("Neighbour's way");
  await page.keyboard.press("Enter");
  await settled(page);
  const heads = await page.locator("#number-table thead th").allInnerTexts();
  assert.equal(heads.length, 5);
  assert.equal(heads[1], "Neighbour's way");
  await page.locator("#pin-list li").nth(2).getByText("Remove").click();
  await settled(page);
  assert.equal(await page.locator("#number-table thead th").count(), 4);
  assert.deepEqual(problems, []);
  await close();
});

test("a link brings back all settings; a spoilt one is told", async () => {
  const { page, context, close } = await ready();
  await page.locator("[name=units][value=si]").check();
  await setSlider(page, "cut", 4);
  await page.click("#pin");
  await setSlider(page, "buried", 6);
  await page.selectOption("#set-product", "ammonium sulfate");
  await page.locator("#day").fill("700");
  await settled(page);
  const before = { drawn: await drawn(page), words: await page.locator("#pin-list").innerText() };
  await page.click("#copy-link");
  const hash = await page.evaluate(() => location.hash);
  const again = await context.newPage();
  await again.goto(`file://${file}${hash}`);
  await again.waitForSelector("body[data-ready]");
  assert.deepEqual(await drawn(again), before.drawn);
  assert.equal(await again.locator("#pin-list").innerText(), before.words);
  assert.equal(await again.locator("#day").inputValue(), "700");
  await close();
  const spoilt = await ready({ hash: "#cut=-5&climate=Atlantis&nonsense=1" });
  assert.match(await message(spoilt.page), /Cut length: found '-5'.*Atlantis.*nonsense/);
  await spoilt.close();
});

test("a saved scenario gives the same key numbers in the native program", async () => {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "live-scenario-"));
  for (const units of ["us", "si"]) {
    const { page, close } = await ready();
    await page.locator(`[name=units][value=${units}]`).check();
    await page.click("#pin");
    await setSlider(page, "spacing", 6);
    await setSlider(page, "opened", 6);
    await setSlider(page, "buried", 8);
    await setSlider(page, "cn", 8);
    await page.selectOption("#set-product", "ammonium sulfate");
    await settled(page);
    const text = await saved(page, () => page.click("#save-scenario"));
    assert.equal(text, await saved(page, () => page.click("#save-scenario")), "same settings, same bytes");
    fs.writeFileSync(path.join(folder, "stalks.toml"), text);
    const run = spawnSync(program, ["run", "stalks.toml", "--json", "--quiet", "--overwrite"], { cwd: folder, encoding: "utf8", maxBuffer: 1e8 });
    assert.equal(run.status, 0, run.stderr);
    const native = JSON.parse(run.stdout);
    assert.equal(native.treatment.length, 2);
    const numbers = await page.evaluate(() => shown.numbers);
    const scale = await page.evaluate(() => ({ us: { "lb/acre": 0.1120851156, d: 1, "%": 0.01 }, si: { "kg/ha": 0.1, d: 1, "%": 0.01 } }));
    let compared = 0;
    for (const [nativeIndex, moving] of [[0, true], [1, false]]) {
      const treatment = await page.evaluate((moving) => (moving ? MOVING : pinNames()[0]), moving);
      for (const number of numbers.filter((n) => n.treatment === treatment)) {
        const key = native.key_numbers[number.name];
        if (/phosphorus|potassium/.test(number.name)) continue; // shown as oxides in US units
        const at = key.dimensions.includes("checkpoint") ? native.checkpoint.indexOf(number.at) : key.dimensions.includes("stage") ? native.stage.findIndex((s) => s === number.at || s === `${number.at} 1`) : -1;
        const own = key.values[nativeIndex], value = Array.isArray(own) ? own[at] : own;
        const canonical = value === null ? null : value * scale[units][key.unit];
        if (canonical === null || number.value === null) assert.equal(canonical, number.value, number.name);
        // shown units come from UDUNITS factors of ten digits and the two runs differ in the last bits of exp()
        else assert.ok(Math.abs(canonical - number.value) <= 1e-7 * Math.max(0.1, Math.abs(number.value)), `${number.name} ${number.at}: ${canonical} and ${number.value}`);
        compared++;
      }
    }
    assert.ok(compared > 60, `${compared} compared`);
    const settings = await page.evaluate(() => tidied(state.now));
    await page.reload();
    await page.waitForSelector("body[data-ready]");
    await drop(page, "stalks.toml", text);
    assert.match(await message(page), /stalks\.toml: 2 treatments pinned\./);
    const back = await page.evaluate(() => state.now);
    for (const [key, value] of Object.entries(settings))
      assert.ok(typeof value === "number" ? Math.abs(back[key] - value) <= 1e-6 * Math.abs(value) : back[key] === value, `${key}: ${back[key]} and ${value}`);
    await close();
  }
  fs.rmSync(folder, { recursive: true });
});

test("the keyboard alone changes a setting, pins it and lets time go on", async () => {
  const { page, close } = await ready();
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.className), "skip");
  await page.keyboard.press("Enter");
  const tabTo = async (id) => {
    for (let i = 0; i < 60; ++i) {
      if ((await page.evaluate(() => document.activeElement.id)) === id) return;
      await page.keyboard.press("Tab");
    }
    assert.fail(`${id} is not reached by Tab`);
  };
  const before = await drawn(page);
  await tabTo("set-cut");
  await page.keyboard.press("ArrowLeft");
  assert.ok((await changedCharts(page, before)).changed.length > 0, "an arrow changes nothing");
  assert.equal(await page.locator("#set-cut").getAttribute("aria-valuetext"), "10 inches");
  const outline = await page.locator("#set-cut").evaluate((input) => getComputedStyle(input).outlineStyle);
  assert.notEqual(outline, "none", "focus is seen");
  await tabTo("day");
  await page.keyboard.press("End");
  assert.match(await page.locator("#day-words").innerText(), /5 years after harvest/);
  await tabTo("pin");
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(await page.locator("#pin-list li").count(), 2);
  await close();
});

test("hostile names are shown and not run", async () => {
  const { page, problems, close } = await ready({ hash: "#pin=" + encodeURIComponent("name=" + encodeURIComponent('<img src=x onerror="hostile=1">') + "&cut=100") });
  const name = '<script>window.hostile = 1</script><b>bold</b>';
  await drop(page, "hostile.toml", `title = "x"\n[weather]\nclimate = "central Iowa"\n[harvest]\ndate = 2026-10-20\ngrain_yield = "150 bu/acre"\n[treatment.a]\nlabel = '${name}'\n`);
  assert.ok((await page.locator("#pin-list").innerText()).includes(name));
  assert.ok((await page.locator("#number-table").innerText()).includes("<img src=x"));
  assert.equal(await page.evaluate(() => typeof hostile), "undefined");
  assert.equal(await page.locator("#pin-list b, #number-table img").count(), 0);
  await drop(page, "<i>x</i>.csv", "<script>1</script>");
  assert.equal(await page.locator("#messages i").count(), 0);
  assert.deepEqual(problems, []);
  await close();
});

test("nothing serious for axe-core, no sideways scrolling, pictures at three widths, a print", async () => {
  fs.mkdirSync(pictures, { recursive: true });
  const busy = "#spacing=50.8&cut=152.4&opened=60&buried=40&product=UAN+28&day=240&pin=cut%3D609.6%26name%3DLong+stalks&pin=spacing%3D50.8";
  for (const [width, height] of [[1200, 800], [1920, 1080], [360, 740]]) {
    for (const [name, hash] of [["us", busy + "&units=us"], ["si", "#units=si"]]) {
      const { page, problems, close } = await ready({ width, height, hash, ranges: width === 1920 && name === "us" });
      if (width === 1920 && name === "us") await page.waitForSelector("body[data-ranged]", { timeout: 60000 });
      await page.screenshot({ path: path.join(pictures, `live-${width}-${name}.png`) });
      if (width !== 1920) await page.screenshot({ path: path.join(pictures, `live-${width}-${name}-whole.png`), fullPage: true });
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `scrolls sideways at ${width}`);
      if (width !== 1920) assert.deepEqual(await seriousFindings(page), []);
      if (width === 1200) {
        await page.evaluate(() => (window.print = () => {}));
        await page.click("#print");
        await settled(page);
        const pdf = await page.pdf({ path: path.join(pictures, `live-${name}.pdf`), format: "Letter" });
        const pages = (pdf.toString("latin1").match(/\/Type\s*\/Page\b/g) ?? []).length;
        assert.equal(pages, 1);
      }
      assert.deepEqual(problems, []);
      await close();
    }
  }
  console.log(`pictures: ${pictures}`);
});
