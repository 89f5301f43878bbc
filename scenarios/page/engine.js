// The engine of the live page: live_engine.cpp in WebAssembly, called with plain objects. On the page the module's code is
// <script id="live-module">, its bytes <script id="live-wasm"> (deflated, base64); a worker is made from the same texts.
"use strict";

/** Wraps an instance: call(request) gives the answer at once and throws nothing. `again()` makes another instance, should
 * this one ever break. */
function wrapEngine(instance, again) {
  let broken = "";
  const ask = (request) => {
    const text = JSON.stringify(request);
    const length = instance.lengthBytesUTF8(text) + 1;
    const place = instance._malloc(length);
    if (!place) throw new Error("there is no memory left for a request of this size");
    try {
      instance.stringToUTF8(text, place, length);
      return JSON.parse(instance.UTF8ToString(instance._live_call(place)));
    } finally {
      instance._free(place);
    }
  };
  const refused = (message) => ({ ok: false, mistakes: [{ source: "", line: 0, column: 0, message }] });
  return {
    call(request) {
      if (broken) return refused(broken);
      try {
        return ask(request);
      } catch (error) {
        broken = `the engine stopped (${error.message ?? error}) and starts again; try once more, or reload the page`;
        again?.().then((made) => ((instance = made), (broken = "")));
        return refused(broken);
      }
    },
  };
}

/** An engine from a compiled module; `createLiveModule` is what emscripten made. */
async function engineOf(compiled) {
  const instance = () =>
    createLiveModule({
      instantiateWasm(imports, received) {
        WebAssembly.instantiate(compiled, imports).then((made) => received(made, compiled));
        return {};
      },
    });
  return wrapEngine(await instance(), instance);
}

let compiledOnce = null;

/** The module of this page, decoded and compiled once. */
function compiledModule() {
  compiledOnce ??= (async () => {
    const packed = Uint8Array.from(atob(document.getElementById("live-wasm").textContent.trim()), (c) => c.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return WebAssembly.compile(await new Response(stream).arrayBuffer());
  })();
  return compiledOnce;
}

/** The engine on this page: { call(request) -> answer }. */
async function startEngine() {
  return engineOf(await compiledModule());
}

/** A worker with an engine of its own: it is sent { id, request } and sends { id, answer }. */
function startEngineWorker() {
  const source = [
    document.getElementById("live-module").textContent,
    document.getElementById("live-engine").textContent,
    "hearRequests();",
  ];
  const url = URL.createObjectURL(new Blob(source.map((text) => text + "\n"), { type: "text/javascript" }));
  const worker = new Worker(url);
  compiledModule().then((compiled) => worker.postMessage({ compiled }));
  return worker;
}

/**
 * Inside the worker. A request with `stepwise` is worked on in steps, between which newer messages are heard: a newer
 * request ends it, answered with null.
 */
function hearRequests() {
  let engine = null, waiting = [], newest = 0;
  const pause = () => new Promise((resume) => setTimeout(resume, 0));
  async function answer({ id, request }) {
    const mine = ++newest;
    let answer = engine.call(request);
    while (answer.more) {
      postMessage({ id, done: answer.done });
      await pause();
      if (mine !== newest) return postMessage({ id, answer: null });
      answer = engine.call({ do: "more" });
    }
    postMessage({ id, answer });
  }
  onmessage = async ({ data }) => {
    if (data.compiled) {
      engine = await engineOf(data.compiled);
      for (const early of waiting.splice(0)) answer(early);
    } else if (engine) {
      answer(data);
    } else {
      waiting.push(data);
    }
  };
}

if (typeof module !== "undefined") module.exports = { wrapEngine };
