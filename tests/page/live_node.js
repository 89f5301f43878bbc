// The live page's engine in node: load(FOLDER of live.js and live.wasm) -> { call }. As a program it answers requests, one
// JSON a line: node live_node.js FOLDER < requests > answers
"use strict";
const fs = require("node:fs");
const path = require("node:path");
const { wrapEngine } = require("../../scenarios/page/engine.js");

async function load(folder) {
  const create = require(path.resolve(folder, "live.js"));
  return wrapEngine(await create({ wasmBinary: fs.readFileSync(path.join(folder, "live.wasm")) }));
}

async function main() {
  const engine = await load(process.argv[2]);
  for (const line of fs.readFileSync(0, "utf8").split("\n").filter(Boolean)) {
    process.stdout.write(JSON.stringify(engine.call(JSON.parse(line))) + "\n");
  }
}

if (require.main === module) main();
module.exports = { load };
