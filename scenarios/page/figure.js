// Draws one chart as SVG without a browser: node figure.js LIBRARIES.js CHART.json THEME.json UNITS WIDTH OUT.svg
"use strict";
const fs = require("node:fs");
const vm = require("node:vm");
const [libraries, chartFile, themeFile, units, width, out] = process.argv.slice(2);
vm.runInThisContext(fs.readFileSync(libraries, "utf8"), { filename: libraries });
// without a canvas Vega takes letters to be far wider than those of this font are on average
vega.textMetrics.width = (item, text) => 0.55 * vega.textMetrics.height(item) * String(text ?? "").length;
const theme = JSON.parse(fs.readFileSync(themeFile, "utf8"));
theme.font = "Liberation Sans, Arial, Helvetica, sans-serif"; // fonts of print, not of the screen at hand
theme.background = "white";
const chart = JSON.parse(fs.readFileSync(chartFile, "utf8"));
const spec = vegaLite.compile(chartSpec(chart, units, theme, Number(width))).spec;
const view = new vega.View(vega.parse(spec, null, { ast: true }), { renderer: "none", expr: vega.expressionInterpreter });
view.toSVG().then((svg) => fs.writeFileSync(out, svg)).catch((error) => {
  console.error(String(error));
  process.exitCode = 1;
});
