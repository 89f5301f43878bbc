// Puts the live page into one file: node assemble.js PAGE_FOLDER LIBRARIES WASM_FOLDER OUT.html. Each style sheet and script
// that live.html names is written into it, then the engine, the licences and a policy that lets nothing else run and
// nothing leave the page. The same inputs give the same bytes.
"use strict";
const crypto = require("node:crypto");
const fs = require("node:fs");
const path = require("node:path");
const zlib = require("node:zlib");

const [page, libraries, wasm, out] = process.argv.slice(2);
const LARGEST = 4e6;

const read = (file) => fs.readFileSync(file, "utf8").replace(/\r\n?/g, "\n");

/** A file of the page, else of the libraries. */
function named(name) {
  const found = [page, libraries].map((folder) => path.join(folder, name)).find((file) => fs.existsSync(file));
  if (!found) throw new Error(`${name}, which live.html names, is neither in ${page} nor in ${libraries}`);
  return read(found).replace(/^\/\/# sourceMappingURL.*$/gm, "");
}

/** A script's text as it may stand in a page: nothing in it ends the element. */
const inScript = (text) => text.replace(/<\/(script)/gi, "<\\/$1").replace(/<!--/g, "<\\!--");
const escaped = (text) => text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");

const hashes = { script: [], style: [] };
function hashed(kind, text) {
  hashes[kind].push(`'sha256-${crypto.createHash("sha256").update(text).digest("base64")}'`);
  return text;
}
const script = (text, attributes = "") => `<script${attributes}>${hashed("script", inScript(text))}</script>`;

/** The engine: its code, which the page and its workers run, and its bytes. */
function engine() {
  const packed = zlib.deflateRawSync(fs.readFileSync(path.join(wasm, "live.wasm")), { level: 9 });
  return [
    script(read(path.join(wasm, "live.js")), ' id="live-module"'),
    `<script type="application/octet-stream" id="live-wasm">${packed.toString("base64")}</script>`,
    script(named("engine.js"), ' id="live-engine"'),
  ].join("\n");
}

function inlinedScript(whole, attributes) {
  const [, name] = /src="([^"]+)"/.exec(attributes) ?? [];
  if (!name) throw new Error(`a script of live.html has its code inside; give it a file: ${whole.slice(0, 80)}`);
  const rest = attributes.replace(/\s*src="[^"]+"/, "");
  if (/type="application\/json"/.test(rest)) return `<script${rest}>${inScript(JSON.stringify(JSON.parse(named(name))))}</script>`;
  return name === "engine.js" ? engine() : script(named(name), rest);
}

function licences() {
  const texts = [read(path.join(page, "engine-licences.txt")), read(path.join(libraries, "licences.txt")),
    "== stoverturn itself\n\n" + read(path.join(page, "../../LICENSE"))];
  return `<details id="licences"><summary>Licences of what is inside this page</summary>\n<pre>${escaped(texts.join("\n\n"))}</pre>\n</details>`;
}

let html = read(path.join(page, "live.html"));
html = html.replace(/<link rel="stylesheet" href="([^"]+)">/g, (_, name) => `<style>${hashed("style", named(name))}</style>`);
html = html.replace(/<script([^>]*)><\/script>/g, inlinedScript);
html = html.replace(/<\/footer>/, () => `${licences()}\n</footer>`);
const policy = [
  "default-src 'none'", `script-src ${hashes.script.join(" ")} 'wasm-unsafe-eval'`, `style-src ${hashes.style.join(" ")}`,
  "img-src data: blob:", "worker-src blob:", "base-uri 'none'", "form-action 'none'",
].join("; ");
html = html.replace(/<meta charset="utf-8">/i, (charset) => `${charset}\n<meta http-equiv="Content-Security-Policy" content="${policy}">`);
if (!html.includes("Content-Security-Policy")) throw new Error('live.html lacks <meta charset="utf-8">');
if (!html.includes('id="licences"')) throw new Error("live.html lacks a footer, where licences stand");
if (!html.includes('id="live-wasm"')) throw new Error("live.html does not name engine.js");

fs.writeFileSync(out + ".part", html);
fs.renameSync(out + ".part", out);
const size = Buffer.byteLength(html);
console.log(`${out}: ${(size / 1e6).toFixed(2)} MB`);
if (size > LARGEST) throw new Error(`the page is larger than ${LARGEST / 1e6} MB`);
