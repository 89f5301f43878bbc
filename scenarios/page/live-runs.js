// Answers of the engine: quick ones on the page, those with draws, for the ranges, from a worker.
"use strict";

const DRAWS = 40;

/** ask(request) of a worker with an engine: a promise of its answer, null where a newer request came first. */
function makeAsk(worker) {
  const waiting = new Map();
  let id = 0;
  worker.addEventListener("message", ({ data }) => {
    if (data.answer === undefined || !waiting.has(data.id)) return; // how far it is
    waiting.get(data.id)(data.answer);
    waiting.delete(data.id);
  });
  return (request) =>
    new Promise((resolve) => {
      for (const [old, drop] of waiting) {
        drop(null);
        waiting.delete(old);
      }
      waiting.set(++id, resolve);
      worker.postMessage({ id, request: { ...request, stepwise: true } });
    });
}

/** Rows of a chart's columns, by the name of their line; all of them where there is one line. */
function rowsNamed(columns, wanted) {
  const length = Object.values(columns)[0].length;
  return Array.from({ length }, (_, i) => i).filter((i) => !columns.what || wanted(columns.what[i]));
}

/**
 * A whole answer with the newest run, of name `moving`, in place of what it had of that name: lines of other settings
 * and their ranges stay. Both are answers to {"do": "run"}.
 */
function withNewest(whole, newest, moving) {
  const charts = whole.charts.map((chart) => {
    const fresh = newest.charts.find((c) => c.name === chart.name);
    if (!fresh) return chart;
    const mine = rowsNamed(fresh.columns, (name) => name === moving), others = rowsNamed(chart.columns, (name) => name !== moving);
    const columns = {};
    for (const name of Object.keys(chart.columns)) {
      const own = fresh.columns[name];
      columns[name] = [...mine.map((i) => (own ? own[i] : null)), ...(chart.columns.what ? others.map((i) => chart.columns[name][i]) : [])];
    }
    const side = (units) => ({ ...chart[units], says: fresh[units].says });
    return { ...chart, columns, si: side("si"), us: side("us") };
  });
  const numbers = [...newest.numbers.filter((n) => n.treatment === moving), ...whole.numbers.filter((n) => n.treatment !== moving)];
  return { ...whole, charts, numbers, cohorts: newest.cohorts };
}

/** A chart on which the newest setting alone has a band: bands of several would hide each other, the table has them. */
function withOneBand(chart, moving) {
  const { low, high, what } = chart.columns;
  if (!low || !what || what.every((name) => name === moving)) return chart;
  const ofNewest = (column) => column.map((value, i) => (what[i] === moving ? value : null));
  return { ...chart, columns: { ...chart.columns, low: ofNewest(low), high: ofNewest(high) } };
}

if (typeof module !== "undefined") module.exports = { withNewest };
