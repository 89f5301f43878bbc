// The live page's engine and what it may be given: broken scenarios, weather, fits and requests. Every one gets an answer that
// says what is wrong; nothing is thrown, and a good request afterwards gets the answer it got before.
// node live_fuzz.js WASM_FOLDER
"use strict";
const assert = require("node:assert/strict");
const fs = require("node:fs");
const path = require("node:path");
const { load } = require("./live_node.js");

const root = path.join(__dirname, "../..");
const read = (name) => fs.readFileSync(path.join(root, name), "utf8");
const weatherName = "../../notebooks-data/weather-newyork-2012-2015.csv";
const scenario = read("scenarios/examples/hollow-creek.toml");
const weather = read("notebooks-data/weather-newyork-2012-2015.csv");
const fit = read("scenarios/examples/invented-fit.json");
const climate = scenario.replace(/^file = .*$/m, 'climate = "central Iowa"').replace("5 years", "30 d");

/** Numbers that look random and are the same each time: a linear congruential generator (constants from memory). */
let seed = 12345;
const random = (below) => {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
  return Math.floor((seed / 4294967296) * below);
};

/** The text with a few of its characters changed, cut out, doubled or moved. */
function mutated(text) {
  let out = text;
  for (let n = 1 + random(4); n > 0; --n) {
    const at = random(out.length), length = random(40);
    const pieces = ["", "\u0000", "\"", "[", "]]", "=", "-", "9e999", "nan", "ß", "\ud800", "#", "\n", ",,,", "{", "}", out.slice(at, at + length).repeat(3)];
    out = out.slice(0, at) + pieces[random(pieces.length)] + out.slice(at + (random(2) ? length : 0));
  }
  return out;
}

async function main() {
  const engine = await load(process.argv[2]);
  let refused = 0, taken = 0;
  const asked = (request) => {
    const answer = engine.call(request);
    assert.equal(typeof answer.ok, "boolean", JSON.stringify(request).slice(0, 200));
    if (answer.ok) taken++;
    else {
      refused++;
      assert.ok(answer.mistakes.length > 0);
      for (const m of answer.mistakes) assert.ok(m.message.length > 0 && !/engine stopped/.test(m.message), JSON.stringify(m).slice(0, 300));
    }
    return answer;
  };
  const quick = { do: "run", charts: false, cohorts: false };
  const good = { ...quick, scenario: climate };
  const before = JSON.stringify(asked(good));
  assert.equal(JSON.parse(before).ok, true, before.slice(0, 500));

  const rubbish = Array.from({ length: 2e6 }, () => String.fromCharCode(32 + random(95))).join("");
  const texts = ["", " ", "\u0000", rubbish, "[".repeat(100000), "{".repeat(100000), "a = [".repeat(5000), "a.".repeat(5000) + "b = 1",
    "[a]\n".repeat(3), "date,tmin [degC],tmax [degC],rain [mm]\n", "date,tmin [degC],tmax [degC],rain [mm]\n2012-02-30,1,2,3\n", "\ufeff" + climate.slice(0, 50)];
  for (const text of texts) {
    assert.equal(asked({ ...quick, scenario: text }).ok, false);
    assert.equal(asked({ do: "read", scenario: text }).ok, false);
    assert.equal(asked({ do: "weather", name: "dropped.csv", text }).ok, false);
    assert.equal(asked({ do: "fit", text }).ok, false);
    assert.equal(asked({ ...quick, scenario, files: { [weatherName]: text } }).ok, false);
  }
  for (let i = 0; i < 60; ++i) {
    asked({ ...quick, scenario: mutated(climate) });
    asked({ do: "read", scenario: mutated(climate) });
    asked({ do: "fit", text: mutated(fit) });
  }
  for (let i = 0; i < 10; ++i) asked({ do: "weather", name: "dropped.csv", text: mutated(weather) });
  for (const request of [null, 1, [], "run", {}, { do: "dance" }, { do: 3 }, { do: "run" }, { do: "run", scenario: 5 }, { do: "more" }, { do: "run", runs: [1] },
    { do: "run", runs: 7 }, { do: "run", runs: Array(99).fill(good) }, { ...good, draws: "many" }, { ...good, draws: -3 }, { ...good, draws: 1e300 }, { ...good, units: "ells" },
    { ...good, files: [1] }, { ...good, set: "x" }, { ...good, set: ["x"] }, { ...good, treatment: "nobody" }, { do: "weather", name: "x" }, { do: "fit" }])
    asked(request);
  assert.equal(JSON.stringify(asked(good)), before, "a good request is answered as before");
  assert.ok(refused > 150 && taken > 10, `${refused} refused, ${taken} taken`);

  // draws step by step, ended by a newer request, and at once: the same numbers
  const drawn = { ...good, scenario: climate.replace("30 d", "200 d"), draws: 12 };
  const once = asked(drawn);
  asked({ ...drawn, draws: 20, stepwise: true });
  let stepped = asked({ ...drawn, scenario: drawn.scenario + "\n", stepwise: true }), steps = 1;
  for (; stepped.more; ++steps) stepped = asked({ do: "more" });
  assert.ok(steps >= 3, String(steps));
  assert.equal(JSON.stringify(stepped), JSON.stringify(once));
  assert.ok(once.numbers.some((n) => / to /.test(n.si)), "ranges");
  console.log(`${refused} requests refused with a message, ${taken} taken`);
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
