// The report page: draws its charts, switches units, saves pictures and data, prints. The charts of each figure stand
// as JSON in a <script type="application/json"> inside it; charts.js and the libraries come before this text.
"use strict";
(() => {
  const theme = JSON.parse(document.getElementById("chart-theme").textContent);
  const units = () => document.body.dataset.units;
  const views = new Map(); // figure -> vega view

  const widthOf = (holder) => Number(holder.dataset.width) || Math.max(240, Math.floor(holder.clientWidth || 640));

  async function draw(figure) {
    const holder = figure.querySelector(".chart");
    const closed = figure.closest("details:not([open])");
    if (closed) return;
    const chart = chartOf(figure);
    const small = Boolean(figure.dataset.of);
    const width = widthOf(holder);
    try {
      const result = await vegaEmbed(holder, chartSpec(chart, units(), theme, width, small), {
        mode: "vega-lite", renderer: "svg", actions: false, ast: true, expr: vega.expressionInterpreter,
        defaultStyle: false, tooltip: false, logLevel: vega.Error,
      });
      views.get(figure)?.finalize();
      views.set(figure, result.view);
      holder.dataset.drawn = `${units()} ${width}`;
    } catch (error) {
      holder.textContent = "This chart could not be drawn: " + error.message;
      holder.classList.add("failed");
    }
  }

  function chartOf(figure) {
    const source = figure.dataset.of ? document.getElementById(figure.dataset.of) : figure;
    return JSON.parse(source.querySelector('script[type="application/json"]').textContent);
  }

  const figures = [...document.querySelectorAll("figure")];
  let asked = 0;
  async function drawAll() {
    const mine = ++asked;
    for (const figure of figures) {
      if (mine !== asked) return; // something newer was asked for
      const holder = figure.querySelector(".chart");
      if (holder.dataset.drawn !== `${units()} ${widthOf(holder)}`) await draw(figure);
    }
    document.body.dataset.ready = units();
  }

  function save(name, content, type) {
    const link = document.createElement("a");
    link.href = typeof content === "string" && content.startsWith("data:") ? content : URL.createObjectURL(new Blob([content], { type }));
    link.download = name;
    link.click();
    if (link.href.startsWith("blob:")) setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }

  async function saveChart(figure, kind) {
    const name = `${figure.dataset.name}.${kind}`;
    if (kind === "csv") return save(name, chartCsv(chartOf(figure), units()), "text/csv");
    if (!views.has(figure)) await draw(figure);
    const view = views.get(figure);
    if (kind === "svg") return save(name, await view.toSVG(), "image/svg+xml");
    const canvas = await view.toCanvas(3);
    canvas.toBlob((blob) => save(name, blob, "image/png"));
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.dataset.save) saveChart(button.closest("figure"), button.dataset.save);
    if (button.dataset.print === "all") window.print();
    if (button.dataset.print === "handout") {
      const article = button.closest("article");
      article.classList.add("chosen");
      document.body.classList.add("only-handout");
      window.print();
    }
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("only-handout");
    document.querySelectorAll(".chosen").forEach((a) => a.classList.remove("chosen"));
  });
  document.querySelectorAll('input[name="units"]').forEach((input) => {
    input.checked = input.value === units();
    input.addEventListener("change", () => {
      document.body.dataset.units = input.value;
      drawAll();
    });
  });
  document.querySelectorAll("details").forEach((d) => d.addEventListener("toggle", drawAll));
  let settling = 0;
  window.addEventListener("resize", () => {
    clearTimeout(settling);
    settling = setTimeout(drawAll, 200);
  });
  drawAll();
})();
