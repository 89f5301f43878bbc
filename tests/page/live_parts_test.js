// Parts of the live page that need no browser: geometry of the drawing, links, texts. Run with node --test.
"use strict";
const assert = require("node:assert/strict");
const fs = require("node:fs");
const path = require("node:path");
const test = require("node:test");
const vm = require("node:vm");

const page = path.resolve(__dirname, "../../scenarios/page");
const { closedCore, openingsAt, reachOf } = require(path.join(page, "stalk.js"));

/** The page's scripts share one scope, as on the page. */
const parts = vm.runInNewContext(
  ["live-settings.js", "live-scenario.js", "live-link.js", "live-numbers.js", "live-runs.js", "live-scene.js"].map((f) => fs.readFileSync(path.join(page, f), "utf8").replace(/^if \(typeof module.*$/m, "")).join("\n") +
    "\n({ START, SLIDERS, linkOf, pageOfLink, scenarioText, nameOf, tidied, sameSettings, cellWords, directionRange, withNewest, tomlText, inOneFile, lengthWords, dayWords, rowsAt })",
  { URLSearchParams, Date });

const lists = { materials: [{ name: "corn" }, { name: "wheat straw" }], products: [{ name: "UAN 28" }], climates: [{ name: "central Iowa" }, { name: "Pampas" }], textures: [{ name: "silt loam" }, { name: "clay" }] };
const materials = [{ name: "corn", cut: "stalk", cn: 60, components: [{ name: "stalk", nitrogen: 0.006 }, { name: "cob", nitrogen: 0.0055 }] }];
const area = (piece, reach) => closedCore(piece, reach).reduce((sum, [, , w, h]) => sum + w * h, 0);
const plain = (object) => JSON.parse(JSON.stringify(object)); // objects of another scope

test("the pale share of a piece is the share that is not reached", () => {
  for (const spacing of [0, 40, 150]) for (const opening of [0.2, 0.6, 1]) for (const share of [0.95, 0.5, 0.07]) {
    const piece = { length: 300, diameter: 20, rind: 0.12, spacing, opening };
    // bisection of 50 steps: exact to rounding
    assert.ok(Math.abs(area(piece, reachOf(piece, share)) / (300 * 20) - share) < 1e-9, `${spacing} ${opening} ${share}`);
  }
});

test("limits: nothing reached at first; openings all across make pieces of their spacing (docs/model.md, Eq. 3)", () => {
  const piece = { length: 200, diameter: 20, rind: 0.12, spacing: 50, opening: 1 };
  assert.equal(reachOf(piece, 1), 0);
  const cut = { ...piece, length: 50, spacing: 0 };
  for (const share of [0.9, 0.4]) assert.ok(Math.abs(reachOf(piece, share) - reachOf(cut, share)) < 1e-9);
  assert.equal(openingsAt(piece).length, 3); // n = L/s - 1
});

test("more openings or wider ones: less far in for the same share", () => {
  const piece = { length: 300, diameter: 20, rind: 0.12, spacing: 100, opening: 0.4 };
  assert.ok(reachOf({ ...piece, spacing: 30 }, 0.6) < reachOf(piece, 0.6));
  assert.ok(reachOf({ ...piece, opening: 0.9 }, 0.6) < reachOf(piece, 0.6));
});

test("a link gives back what it was made of", () => {
  const now = { ...parts.START, cut: 101.6, spacing: 38.1, buried: 35, product: "UAN 28", nitrogen: 50.4383, climate: "Pampas", harvest: "2027-04-02", planting: "10-15" };
  const pins = [{ name: "<b>a & b</b>", named: true, settings: { ...parts.START, cut: 700 } }];
  const back = parts.pageOfLink(parts.linkOf({ units: "si", day: 99, now, pins }), lists);
  assert.deepEqual(plain(back.now), plain(parts.tidied(now)));
  assert.deepEqual(plain(back.pins), plain([{ ...pins[0], settings: parts.tidied(pins[0].settings) }]));
  assert.deepEqual([back.units, back.day, back.mistakes.length], ["si", 99, 0]);
});

test("what a link has wrong is told and left at its start value", () => {
  const back = parts.pageOfLink("#cut=1e9&buried=x&material=gold&harvest=2026-99-99&day=-4", lists);
  assert.equal(back.mistakes.length, 4);
  assert.deepEqual(plain(back.now), plain(parts.START));
  assert.equal(back.day, 365);
});

test("settings that do nothing make no other scenario", () => {
  const a = { ...parts.START, depth: 250, buried: 0, nitrogen_day: 77, product: "" };
  assert.ok(parts.sameSettings(a, parts.START));
  const text = (settings) => parts.scenarioText([{ name: "x", settings }], { units: "us", title: "t", materials });
  assert.equal(text(a), text(parts.START));
  assert.ok(!parts.inOneFile(parts.START, { ...parts.START, grain: 9 }));
});

test("texts in TOML cannot break out", () => {
  assert.equal(parts.tomlText('a"\n[weather]\\'), '"a\\"\\n[weather]\\\\"');
  assert.equal(parts.tomlText("\u0001\u007f"), '"\\u0001\\u007f"');
});

test("words of numbers: direction of nitrogen, months, what is not reached", () => {
  const say = (name, value, text) => plain(parts.cellWords({ value, us: text }, { name, positive: name === "tie_up_deepest" }, "us", "2026-10-20"));
  assert.deepEqual(say("nitrogen_released_at", -3.1, "-28 lb/acre N (-43 to 3)"), { words: "28 lb/acre N tied up", range: "43 tied up to 3 given back" });
  assert.deepEqual(say("nitrogen_released_at", 3.1, "28 lb/acre N (3 to 43)"), { words: "28 lb/acre N given back", range: "3 to 43 given back" });
  assert.deepEqual(say("tie_up_deepest", -3.1, "-28 lb/acre N (-43 to -3)"), { words: "28 lb/acre N", range: "3 to 43" });
  assert.deepEqual(say("days_to_half", 305, "305 d (232 to 920)"), { words: "10 months", range: "232 to 920 days" });
  assert.deepEqual(say("days_to_half", null, "not within the run"), { words: "not within the run", range: "" });
  assert.deepEqual(say("tie_up_deepest_day", 573, "573 d"), { words: "in May 2028", range: "" });
});

test("the newest run takes the place of its line; other lines and their bands stay", () => {
  const chart = (columns) => ({ name: "c", columns, si: { says: "old" }, us: { says: "old" } });
  const whole = { charts: [chart({ what: ["now", "pin"], y: [1, 2], low: [0, 1] })], numbers: [{ treatment: "now", value: 1 }, { treatment: "pin", value: 2 }], cohorts: [] };
  const newest = { charts: [{ ...chart({ what: ["now", "now"], y: [5, 6] }), si: { says: "new" }, us: { says: "new" } }], numbers: [{ treatment: "now", value: 5 }], cohorts: [7] };
  const both = plain(parts.withNewest(whole, newest, "now"));
  assert.deepEqual(both.charts[0].columns, { what: ["now", "now", "pin"], y: [5, 6, 2], low: [null, null, 1] });
  assert.deepEqual([both.charts[0].si.says, both.numbers.length, both.cohorts[0]], ["new", 2, 7]);
});

test("lengths and days in words", () => {
  assert.deepEqual([22.2, 12.7, 1.6, 0.1, 58.4, 254].map((mm) => parts.lengthWords(mm, "us")), ["7/8 in", "1/2 in", "1/16 in", "less than 1/16 in", "2.3 in", "10 in"]);
  assert.equal(parts.lengthWords(22.2, "si"), "22 mm");
  assert.equal(parts.dayWords(0, "2026-10-20"), "at harvest, 20 Oct 2026");
  assert.equal(parts.dayWords(426, "2026-10-20"), "1 year 2 months after harvest, 20 Dec 2027");
});

test("what is worked in leaves its share; both places show their own shares of tissue and mass", () => {
  const settings = { ...parts.START, buried: 40, buried_day: 8 };
  const cohorts = [{ pieces: "", placement: "surface", every_d: 4, closed: [100, 90, 48, 30], mass: [200, 190, 108, 90] },
    { pieces: "", placement: "buried", every_d: 4, closed: [0, 0, 32, 8], mass: [0, 0, 72, 40] }];
  const rows = plain(parts.rowsAt(settings, cohorts, { diameter: 20, rind: 0.12 }, 12));
  assert.deepEqual(rows.map((r) => r.place), ["surface", "buried"]);
  assert.ok(Math.abs(rows[0].closed - 30 / 60) < 1e-12 && Math.abs(rows[1].closed - 8 / 40) < 1e-12);
  assert.ok(Math.abs(rows[0].left - 90 / 120) < 1e-12 && Math.abs(rows[1].left - 40 / 80) < 1e-12);
  assert.equal(parts.rowsAt(settings, cohorts, { diameter: 20, rind: 0.12 }, 4).length, 1);
});
