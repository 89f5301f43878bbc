// Report pages in a real Chromium and figures from the command line.
// STOVERTURN=program NODE_PATH=BUILD/page/node_modules node --test tests/page/report_test.js
"use strict";
const assert = require("node:assert/strict");
const { execFileSync, spawnSync } = require("node:child_process");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const { test, before, after } = require("node:test");
const { launch, openPage, seriousFindings } = require("./browser.js");

const program = process.env.STOVERTURN;
const examples = path.join(__dirname, "../../scenarios/examples");
const folder = fs.mkdtempSync(path.join(os.tmpdir(), "stoverturn-report-"));
const kept = process.env.STOVERTURN_SCREENSHOTS; // a folder where pictures are left for people to look at
const at = (name) => path.join(folder, name);
const run = (...words) => execFileSync(program, words, { cwd: folder, stdio: "pipe", encoding: "utf8" });

const hostile = "<script>window.hacked = 1</script>";
const farm = `title = "Lower Forty (invented) ${hostile.replaceAll('"', "'")}"
units = "us"
duration = "1 years"
[weather]
climate = "central Iowa"
seed = 3
[harvest]
date = 2021-10-20
grain_yield = "205 bu/acre"
[next_crop]
crop = "corn"
planting = "05-05"
nitrogen = "150 lb/acre"
[treatment.closed]
[treatment.opened]
label = "${hostile}"
component.stalk = { entry_spacing = "2 in", opening = "60 %" }
[[treatment.opened.add_event]]
kind = "fertiliser"
after_harvest = "10 d"
product = "urea"
nitrogen = "40 lb N/acre"
`;

let browser;
before(async () => {
  fs.writeFileSync(at("farm.toml"), farm);
  run("run", "farm.toml", "--draws", "12", "--quiet");
  run("report", "farm.h5", "-o", "farm.html", "--quiet");
  browser = await launch();
});
after(async () => {
  await browser?.close();
  fs.rmSync(folder, { recursive: true });
});

/** Opens a report and waits until its charts are drawn. */
async function opened(name, settings) {
  const all = await openPage(browser, at(name), settings);
  await all.page.waitForFunction(() => document.body.dataset.ready);
  return all;
}
const pagesOf = (pdf) => (pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) || []).length;

test("every chart that is not folded away is drawn, without an error or a request", async () => {
  const { page, problems, context } = await opened("farm.html");
  const [figures, drawn, failed] = await page.evaluate(() => [
    [...document.querySelectorAll("figure")].filter((f) => !f.closest("details:not([open])")).length,
    document.querySelectorAll("figure .chart svg").length,
    document.querySelectorAll(".failed").length,
  ]);
  assert.ok(figures >= 10, `${figures} figures`);
  assert.equal(drawn, figures);
  assert.equal(failed, 0);
  await page.click("#c1-drivers summary");
  await page.waitForSelector("#c1-residue-temperature svg");
  assert.deepEqual(problems, []);
  if (kept) await page.screenshot({ path: path.join(kept, "report-run.png"), fullPage: true });
  await context.close();
});

test("names from files are shown, not run; the policy refuses foreign scripts", async () => {
  const { page, context } = await opened("farm.html");
  assert.ok((await page.textContent("h1")).includes(hostile));
  assert.equal(await page.evaluate(() => window.hacked), undefined);
  const refused = await page.evaluate(() => {
    const script = document.createElement("script");
    script.textContent = "window.hacked = 2";
    document.body.append(script);
    return window.hacked;
  });
  assert.equal(refused, undefined);
  await context.close();
});

test("US and SI: words, axes and tables change together", async () => {
  const { page, context } = await opened("farm.html");
  const axis = () => page.evaluate(() => document.querySelector("#c1-nitrogen-back svg").textContent);
  assert.match(await axis(), /lb\/acre/);
  assert.match(await page.innerText(".short"), /lb\/acre/);
  await page.check('input[value="si"]');
  await page.waitForFunction(() => document.body.dataset.ready === "si");
  assert.match(await axis(), /kg\/ha/);
  assert.match(await page.innerText(".short"), /kg\/ha/);
  assert.doesNotMatch(await page.innerText("main .short"), /lb\/acre/);
  await context.close();
});

test("charts are saved as SVG and PNG, their data as CSV in the units that are shown", async () => {
  const { page, context } = await opened("farm.html");
  const saved = async (kind) => {
    const [download] = await Promise.all([page.waitForEvent("download"), page.click(`#c1-mass-left [data-save="${kind}"]`)]);
    assert.equal(download.suggestedFilename(), `mass-left.${kind}`);
    return fs.readFileSync(await download.path());
  };
  assert.match((await saved("svg")).toString(), /^<svg /);
  assert.equal((await saved("png")).subarray(1, 4).toString(), "PNG");
  const lines = (await saved("csv")).toString().trim().split("\n");
  assert.equal(lines[0], "date,what,value [%],low [%],high [%]");
  assert.ok(lines.length > 700);
  // the same number as the command line's own table of the first day
  assert.match(lines[1], /^2021-10-20,closed,100,100,100$/);
  await context.close();
});

for (const width of [360, 1200]) {
  test(`${width} pixels: nothing scrolls sideways, no serious finding of axe-core`, async () => {
    const { page, context } = await opened("farm.html", { width });
    assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= width);
    assert.deepEqual(await seriousFindings(page), []);
    if (kept) await page.screenshot({ path: path.join(kept, `report-run-${width}.png`) });
    await context.close();
  });
}

test("paper: the whole report, and the handout on one page", async () => {
  const { page, context } = await opened("farm.html");
  const whole = await page.pdf({ format: "A4" });
  assert.ok(pagesOf(whole) >= 4);
  for (const format of ["A4", "Letter"]) {
    await page.evaluate(() => {
      window.print = () => {}; // the dialog; what it would print is asked for below
      document.querySelector('[data-print="handout"]').click();
    });
    const handout = await page.pdf({ format });
    if (kept) fs.writeFileSync(path.join(kept, `handout-${format}.pdf`), handout);
    assert.equal(pagesOf(handout), 1, format);
  }
  await context.close();
});

test("two runs: a chapter compares them", async () => {
  run("run", "farm.toml", "--set", 'harvest.grain_yield=150 bu/acre', "-o", "dry", "--quiet");
  run("report", "farm.h5", "dry.h5", "-o", "both.html", "--quiet");
  const { page, problems, context } = await opened("both.html");
  assert.equal(await page.locator("article").count(), 3);
  assert.match(await page.innerText("#c1-compare-mass-left"), /dry/);
  assert.deepEqual(problems, []);
  await context.close();
});

const kinds = [
  { name: "ensemble", words: ["ensemble", "four-sites.toml", "--set", "ensemble.weather_years=4"], chart: "map" },
  { name: "timing", words: ["timing", "fall-or-spring.toml", "--set", "ensemble.weather_years=4"], handout: true },
  { name: "planting", words: ["planting", "bale-or-leave.toml", "--set", "ensemble.weather_years=4"], handout: true },
  { name: "stand", words: ["stand", "invented-stand.csv"], handout: true },
  { name: "trial", words: ["trial", "invented-plan.toml"], handout: true },
];
for (const { name, words, chart, handout } of kinds) {
  test(`the page of ${name}: charts drawn, no error, no serious finding, fits a phone`, async () => {
    const [command, example, ...more] = words;
    run(command, path.join(examples, example), ...more, "-o", name);
    await look(name, chart, handout);
  });
}
test("the page of a fit", { skip: !process.env.STOVERTURN_FIT }, async () => {
  fs.copyFileSync(process.env.STOVERTURN_FIT, at("fit.h5"));
  await look("fit", "profiles");
});

/** The report of NAME.h5 at a phone's width, in either system of units. */
async function look(name, chart, handout = false) {
  run("report", `${name}.h5`, "--quiet");
  const { page, problems, context } = await opened(`${name}.html`, { width: 360 });
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
  const undrawn = () =>
    page.evaluate(() => [...document.querySelectorAll("figure")].filter((f) => !f.querySelector(".chart svg")).map((f) => f.id));
  await page.waitForFunction(() => [...document.querySelectorAll("figure")].every((f) => f.querySelector(".chart svg, .failed")));
  assert.deepEqual(await undrawn(), []);
  if (chart) assert.equal(await page.locator(`#c1-${chart}`).count(), 1, chart);
  assert.equal(await page.locator(".handout").count(), handout ? 1 : 0);
  assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= 360);
  assert.deepEqual(await seriousFindings(page), []);
  if (kept) await page.screenshot({ path: path.join(kept, `report-${name}-360.png`), fullPage: true });
  await page.setViewportSize({ width: 1200, height: 900 });
  await page.check('input[value="us"]');
  await page.check('input[value="si"]');
  await page.waitForFunction(() => document.body.dataset.ready === "si");
  assert.deepEqual(await undrawn(), []);
  if (kept) await page.screenshot({ path: path.join(kept, `report-${name}-1200.png`), fullPage: true });
  if (handout) {
    await page.evaluate(() => {
      window.print = () => {};
      document.querySelector('[data-print="handout"]').click();
    });
    const paper = await page.pdf({ format: "Letter" });
    if (kept) fs.writeFileSync(path.join(kept, `handout-${name}.pdf`), paper);
    assert.equal(pagesOf(paper), 1);
  }
  assert.deepEqual(problems, []);
  await context.close();
}

test("figures: SVG, PNG and PDF, and what is said when something is missing", () => {
  for (const [kind, begins] of [["svg", "<svg "], ["png", "\x89PNG"], ["pdf", "%PDF"]]) {
    run("figure", "farm.h5", "--chart", "nitrogen-back", "-o", `n.${kind}`, "--quiet");
    assert.ok(fs.readFileSync(at(`n.${kind}`), "latin1").startsWith(begins), kind);
  }
  const refused = (words, env = process.env) => spawnSync(program, ["figure", "farm.h5", ...words], { cwd: folder, env, encoding: "utf8" });
  const wrong = refused(["--chart", "mass-lift", "-o", "x.svg"]);
  assert.equal(wrong.status, 1);
  assert.match(wrong.stderr, /no such chart; did you mean 'mass-left'\?/);
  const kind = refused(["--chart", "mass-left", "-o", "x.gif"]);
  assert.match(kind.stderr, /must end in \.svg, \.png or \.pdf/);
  const without = refused(["--chart", "mass-left", "-o", "x.svg"], { ...process.env, PATH: folder });
  assert.equal(without.status, 3);
  assert.match(without.stderr, /node is missing.*apt-get install nodejs/);
  assert.ok(!fs.existsSync(at("x.svg")));
  assert.match(run("figure", "farm.h5", "--list"), /^mass-left +How much residue is left$/m);
});

test("report: messages for files that are none of ours", () => {
  fs.writeFileSync(at("notes.h5"), "not HDF5");
  const refused = spawnSync(program, ["report", "notes.h5", "-o", "x.html"], { cwd: folder, encoding: "utf8" });
  assert.equal(refused.status, 3);
  assert.match(refused.stderr, /notes\.h5/);
  assert.ok(!fs.existsSync(at("x.html")));
  const again = spawnSync(program, ["report", "farm.h5", "-o", "farm.html"], { cwd: folder, encoding: "utf8" });
  assert.equal(again.status, 3);
  assert.match(again.stderr, /--overwrite/);
});
