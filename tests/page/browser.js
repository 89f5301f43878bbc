// A real Chromium from Debian, driven by playwright-core, for the tests of pages. Run with
// NODE_PATH=BUILD/page/node_modules (scenarios/page/libraries BUILD/page test).
"use strict";
const assert = require("node:assert/strict");
const fs = require("node:fs");
const { chromium } = require("playwright-core");

const program = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find((p) => fs.existsSync(p));

/** Opens a page file and watches it: `problems` lists console errors and requests that leave the page. `before` runs in
 * the page ahead of its own scripts. */
async function openPage(browser, file, { width = 1200, height = 900, hash = "", ...more } = {}, before = undefined) {
  const context = await browser.newContext({ viewport: { width, height }, acceptDownloads: true, ...more });
  if (before) await context.addInitScript(before);
  const page = await context.newPage();
  const problems = [];
  page.on("console", (m) => m.type() === "error" && problems.push(`console: ${m.text()}`));
  page.on("pageerror", (e) => problems.push(`error: ${e.message}`));
  page.on("request", (r) => {
    const url = r.url();
    if (!url.startsWith("data:") && !url.startsWith("blob:") && url.split("#")[0] !== `file://${file}`)
      problems.push(`request: ${url.slice(0, 200)}`);
  });
  await page.goto(`file://${file}${hash}`);
  return { page, context, problems };
}

async function launch() {
  assert.ok(program, "chromium is missing; as root: apt-get install chromium");
  return chromium.launch({
    executablePath: program,
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync"],
  });
}

/** Findings of axe-core that are serious or critical, in words. The page's own policy forbids eval and foreign
 * scripts, so axe comes in through the debugger, as playwright's addScriptTag would not. The inside of charts is left
 * out: to a screen reader each is one picture with a description, and its thousands of elements take a minute. */
async function seriousFindings(page) {
  await page.evaluate(fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8") + ";0");
  const found = await page.evaluate(() => axe.run({ exclude: [[".chart svg > *"]] }, { resultTypes: ["violations"] }));
  return found.violations
    .filter((v) => v.impact === "serious" || v.impact === "critical")
    .map((v) => `${v.id}: ${v.help} (${v.nodes.slice(0, 3).map((n) => n.target.join(" ")).join("; ")})`);
}

module.exports = { launch, openPage, seriousFindings };
