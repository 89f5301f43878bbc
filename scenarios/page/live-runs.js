// Runs of the engine: quick ones on the page, those with draws, for the ranges, in a worker. A run is kept under all that
// it depends on, so that pins and going back cost nothing.
"use strict";

const DRAWS = 40, KEPT_RUNS = 60;

/** `engine.call` of this page; `askWorker(request)` a promise of the worker's answer, or undefined without a worker. */
function makeRuns(engine, askWorker) {
  const kept = new Map();
  const keyOf = (request) => JSON.stringify([request.scenario, request.draws ?? 0, Object.keys(request.files), Object.values(request.files).map((t) => t.length)]);
  const keep = (key, answer) => {
    kept.delete(key);
    kept.set(key, answer);
    if (kept.size > KEPT_RUNS) kept.delete(kept.keys().next().value);
    return answer;
  };
  return {
    /** An answer now: the one with ranges if there is one, else a quick run. */
    async now(request) {
      const ranged = kept.get(keyOf({ ...request, draws: DRAWS }));
      if (ranged && ranged.ok) return ranged;
      const key = keyOf(request);
      return kept.get(key) ?? keep(key, await engine.call({ do: "run", ...request }));
    },
    isRanged: (request) => kept.has(keyOf({ ...request, draws: DRAWS })),
    /** Has the worker find the ranges; true if there is something new to show. */
    async ranges(request) {
      const wanted = { ...request, draws: DRAWS }, key = keyOf(wanted);
      if (!askWorker || kept.has(key)) return false;
      const answer = await askWorker({ do: "run", ...wanted });
      if (!answer) return false;
      keep(key, answer);
      return answer.ok;
    },
  };
}

/** A worker that runs the newest request it was given; older ones that did not begin are answered with nothing. */
function makeAsk(worker) {
  let waiting = null, running = null, id = 0;
  const next = () => {
    if (running || !waiting) return;
    running = waiting;
    waiting = null;
    worker.postMessage({ id: running.id, request: running.request });
  };
  worker.addEventListener("message", ({ data }) => {
    if (!running || data.id !== running.id) return;
    const { resolve } = running;
    running = null;
    resolve(data.answer);
    next();
  });
  return (request) =>
    new Promise((resolve) => {
      if (waiting) waiting.resolve(undefined);
      waiting = { id: ++id, request, resolve };
      next();
    });
}
