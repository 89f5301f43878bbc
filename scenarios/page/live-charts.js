// Draws the charts of an answer, and redraws them by changing the data alone while the specification stays.
"use strict";

/** Key dates whose words have room at `px` a day: planting goes before stages that stand closer than the type is high. */
function datesWithRoom(dates, px, high) {
  let last = -Infinity;
  const kept = dates.filter((d) => d.word === "planting");
  return dates.filter((d) => {
    const apart = (at) => (Math.abs(d.key_date - at) / 86400000) * px >= high;
    if (d.word !== "planting" && !(kept.every((k) => apart(k.key_date)) && apart(last))) return false;
    last = d.key_date;
    return true;
  });
}

/**
 * A specification as this page draws it: without legends of lines, as the list of settings above the charts is the legend;
 * levels drawn once and not for each row; words only where they have room in a chart `width` wide, of type `high`.
 */
function trimmed(spec, width, high) {
  const walk = (part) => {
    if (Array.isArray(part)) return part.map(walk);
    if (!part || typeof part !== "object") return part;
    const copy = Object.fromEntries(Object.entries(part).map(([key, value]) => [key, walk(value)]));
    if (copy.field === "what" && copy.scale) copy.legend = null;
    return copy;
  };
  const whole = walk(spec);
  for (const layer of whole.layer ?? []) {
    const channels = Object.values(layer.encoding ?? {});
    if (!layer.data && !channels.some((c) => c.field)) layer.data = { values: [{}] };
    const dates = layer.data?.values;
    if (layer.mark.type === "text" && dates?.[0]?.key_date !== undefined) layer.data = { values: datesWithRoom(dates, width / 1826, high) };
    const word = layer.encoding.text?.value;
    if (word && word.length * high * 0.5 > width - 60) layer.encoding.text.value = word.split(":")[0];
  }
  return whole;
}

/** The theme at the type size of the page. */
function themeAt(theme, rem) {
  const grow = (value) => {
    if (Array.isArray(value) || !value || typeof value !== "object") return value;
    return Object.fromEntries(Object.entries(value).map(([key, v]) => [key, /FontSize$|^fontSize$/.test(key) ? Math.round((v * rem) / 14.5) : grow(v)]));
  };
  return grow(theme);
}

/** A tip at the pointer: heads and values as texts. */
function showTip(handler, event, item, value) {
  let tip = document.getElementById("tip");
  if (!tip) {
    tip = document.createElement("div");
    tip.id = "tip";
    tip.setAttribute("aria-hidden", "true");
    document.body.append(tip);
  }
  tip.hidden = !value || typeof value !== "object";
  if (tip.hidden) return;
  tip.replaceChildren(...Object.entries(value).map(([key, text]) => {
    const line = document.createElement("div");
    line.textContent = `${key}: ${text}`;
    return line;
  }));
  tip.style.left = Math.min(event.clientX + 14, window.innerWidth - 220) + "px";
  tip.style.top = event.clientY + 14 + "px";
}

/** Draws charts into places of the page; one holder a chart name. */
function makeChartWall(theme) {
  const holders = new Map();

  function holderOf(chart, host) {
    let holder = holders.get(chart.name);
    if (holder) return holder;
    const part = (tag, name) => {
      const element = document.createElement(tag);
      if (name) element.className = name;
      return element;
    };
    const article = part("article", "chart"), title = part("h3"), says = part("p", "says"), drawn = part("div", "drawn");
    const details = document.createElement("details"), summary = document.createElement("summary"), table = part("div", "table");
    summary.textContent = "Exact terms and the numbers as a table";
    table.tabIndex = 0;
    table.setAttribute("role", "region");
    const save = part("button");
    save.type = "button";
    save.textContent = "Save these numbers (CSV)";
    details.append(summary, table, save);
    article.append(title, says, drawn, details);
    article.dataset.chart = chart.name;
    host.append(article);
    holder = { article, title, says, drawn, details, table, key: "", busy: Promise.resolve() };
    drawn.setAttribute("role", "img");
    save.addEventListener("click", () => saveText(`${holder.chart.name}.csv`, chartCsv(holder.chart, holder.units), "text/csv"));
    details.addEventListener("toggle", () => fillTable(holder));
    holders.set(chart.name, holder);
    return holder;
  }

  function fillTable(holder) {
    if (!holder.details.open) return;
    const { chart, units } = holder;
    const lines = chartCsv(chart, units).trim().split("\n").length - 1;
    const rows = chartRows(chart, units), every = Math.max(1, Math.ceil(lines / 120));
    const fields = chart[units].fields;
    const cell = (tag, text) => {
      const element = document.createElement(tag);
      element.textContent = text;
      return element;
    };
    const head = document.createElement("tr");
    head.append(...fields.map((f) => cell("th", f.unit && f.unit !== "1" ? `${f.title}, ${[f.unit, f.substance].filter(Boolean).join(" ")}` : f.title)));
    const body = rows.filter((_, i) => i % every === 0).map((row) => {
      const line = document.createElement("tr");
      line.append(...fields.map((f) => {
        const value = row[f.name];
        if (value === null || value === undefined) return cell("td", "");
        return cell("td", f.type === "temporal" ? new Date(value).toISOString().slice(0, 10) : f.type === "nominal" ? value : String(round(value, 4)));
      }));
      return line;
    });
    const terms = cell("p", TERMS_OF_CHART[chart.name] ?? "Equations: docs/model.md.");
    const table = document.createElement("table"), thead = document.createElement("thead"), tbody = document.createElement("tbody");
    thead.append(head);
    tbody.append(...body);
    table.append(thead, tbody);
    holder.table.setAttribute("aria-label", `${chart[units].title}: numbers`);
    holder.table.replaceChildren(terms, table);
  }

  async function draw(chart, units, host, height, wide) {
    const holder = holderOf(chart, host);
    holder.chart = chart;
    holder.units = units;
    holder.title.textContent = chart[units].title;
    holder.says.textContent = chart[units].says;
    holder.drawn.setAttribute("aria-label", `${chart[units].title}. ${chart[units].says}`);
    fillTable(holder);
    const rem = wide ? 9.5 : parseFloat(getComputedStyle(document.documentElement).fontSize);
    const width = wide ?? Math.floor(holder.drawn.clientWidth);
    if (width < 40) return;
    const spec = chartSpec({ ...chart, height: height ?? chart.height, [units]: { ...chart[units], spec: trimmed(chart[units].spec, width, (13 * rem) / 14.5) } }, units, themeAt(theme, rem), width);
    const rows = spec.data.values;
    const key = JSON.stringify([{ ...spec, data: null, description: "" }, width]);
    if (holder.view && holder.key === key) {
      holder.view.data("rows", rows);
      await holder.view.runAsync();
      return;
    }
    holder.key = key;
    const made = await vegaEmbed(holder.drawn, spec, { ast: true, expr: vega.expressionInterpreter, actions: false, defaultStyle: false, logLevel: vega.Error,
      renderer: "canvas", tooltip: showTip, scaleFactor: Math.max(2, window.devicePixelRatio || 1) });
    if (holder.result) holder.result.finalize();
    holder.result = made;
    holder.view = made.view;
  }

  return {
    /** Draws one chart after what is being drawn there; gives back when it is done. */
    draw(chart, units, host, height, wide) {
      const holder = holderOf(chart, host);
      holder.busy = holder.busy.then(() => draw(chart, units, host, height, wide));
      return holder.busy;
    },
    holders,
  };
}
