// Charts as chart_json() of scenarios/charts/chart.hpp writes them, made into whole Vega-Lite specifications. Used by
// the report page, the live page and, in node, by figures.
"use strict";

const MS_A_DAY = 86400000;

/** Rows of a chart in units "si" or "us", numbers as people see them, dates in milliseconds. */
function chartRows(chart, units) {
  const fields = chart[units].fields;
  const length = fields.length ? chart.columns[fields[0].name].length : 0;
  const rows = [];
  for (let i = 0; i < length; ++i) {
    const row = {};
    for (const f of fields) {
      const value = chart.columns[f.name][i];
      if (value === null || f.type === "nominal") row[f.name] = value;
      else row[f.name] = f.type === "temporal" ? value * MS_A_DAY : value * f.scale + f.offset;
    }
    rows.push(row);
  }
  return rows;
}

/** The Vega-Lite specification of a chart `width` pixels wide, data included; `small`: for a handout. */
function chartSpec(chart, units, theme, width, small = false) {
  const plain = small && chart[units].small_spec;
  const inner = plain || chart[units].spec;
  const whole = {
    $schema: "https://vega.github.io/schema/vega-lite/v5.json",
    description: chart[units].title + ". " + chart[units].says,
    data: { name: "rows", values: chartRows(chart, units) },
    config: { ...theme, legend: { ...theme.legend, columns: width < 480 ? 1 : 2 } },
    padding: 4,
  };
  if (inner.concat) {
    const columns = width < 300 ? 1 : width < 560 ? 2 : 3;
    const each = Math.max(80, Math.floor(width / columns) - 78); // axis, its title, space between
    return { ...whole, ...inner, concat: inner.concat.map((view) => ({ width: each, height: chart.height, ...view })), columns, spacing: 14 };
  }
  const height = small && (!chart.facet || plain) ? Math.min(chart.height, 170) : chart.height;
  if (!chart.facet || plain)
    return { ...whole, ...inner, width, height, autosize: { type: "fit-x", contains: "padding" } };
  const columns = width < 560 && !small ? 1 : 2;
  const gutter = 75; // axis and its title
  const field = chart[units].fields.find((f) => f.name === chart.facet);
  const sort = [...new Set(chart.columns[chart.facet])];
  return {
    ...whole,
    facet: { field: chart.facet, type: "nominal", title: null, header: { title: null }, sort },
    columns,
    spacing: small ? 8 : 24,
    resolve: { axis: { x: "independent", y: "independent" } },
    spec: { ...inner, width: Math.max(small ? 60 : 160, Math.floor((width - gutter) / columns - 24)), height },
  };
}

/** The data of a chart as CSV, with units in the heads. */
function chartCsv(chart, units) {
  const quoted = (text) => (/[",\r\n]/.test(text) ? '"' + text.replaceAll('"', '""') + '"' : text);
  const fields = chart[units].fields;
  const head = fields.map((f) => quoted(f.unit && f.unit !== "1" ? `${f.name} [${[f.unit, f.substance].filter(Boolean).join(" ")}]` : f.name));
  const lines = chartRows(chart, units).map((row) =>
    fields
      .map((f) => {
        const value = row[f.name];
        if (value === null || value === undefined) return "";
        if (f.type === "temporal") return new Date(value).toISOString().slice(0, 10);
        return f.type === "nominal" ? quoted(value) : String(Number(value.toPrecision(6)));
      })
      .join(","),
  );
  return [head.join(","), ...lines].join("\n") + "\n";
}

if (typeof module !== "undefined") module.exports = { chartRows, chartSpec, chartCsv };
