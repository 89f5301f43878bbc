// Files that people choose or drop: daily weather (CSV), a scenario (TOML), a fitted parameter set (JSON). What is wrong
// with one is told on the page; nothing that was there is lost.
"use strict";

const LARGEST_FILE = 30e6;

/** What a file is, by its name and its first characters. */
function kindOfFile(name, text) {
  const end = name.toLowerCase().split(".").pop();
  if (end === "json" || /^\s*\{/.test(text)) return "fit";
  if (end === "toml") return "scenario";
  if (/^\s*(\[[\w.[\]-]+\]|[\w-]+\s*=)/m.test(text) && end !== "csv") return "scenario";
  return "weather";
}

/** "line 3: ..." of each mistake of an answer. */
function mistakeWords(answer) {
  return answer.mistakes.map((m) => (m.line ? `line ${m.line}: ${m.message}` : m.message));
}

/** Shows a message on the page; `items` are further lines, `choices` [words, act] buttons. All of it is text. */
function showMessage(words, items = [], good = false, choices = []) {
  const place = document.getElementById("messages");
  const box = document.createElement("div"), inner = document.createElement("div"), list = document.createElement("ul"), close = document.createElement("button");
  box.className = good ? "message good" : "message";
  inner.className = "words";
  inner.textContent = words;
  for (const item of items.slice(0, 8)) {
    const line = document.createElement("li");
    line.textContent = item;
    list.append(line);
  }
  if (items.length) inner.append(list);
  for (const [choice, act] of choices) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = choice;
    button.addEventListener("click", () => {
      box.remove();
      act();
    });
    inner.append(" ", button);
  }
  close.type = "button";
  close.textContent = "Close";
  close.addEventListener("click", () => box.remove());
  box.append(inner, close);
  place.replaceChildren(...[...place.children].slice(-2), box);
  box.scrollIntoView({ block: "nearest" });
}

function saveText(name, text, type) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 2000);
}

/** Hears buttons and drops; `taken(kind, name, text)` gets each file. */
function hearFiles(taken) {
  const read = async (files) => {
    for (const file of files) {
      if (file.size > LARGEST_FILE) {
        showMessage(`${file.name} is larger than 30 MB; that is no file this page reads. Nothing was changed.`);
        continue;
      }
      try {
        const text = (await file.text()).replace(/^\uFEFF/, "");
        await taken(kindOfFile(file.name, text), file.name, text);
      } catch (error) {
        showMessage(`${file.name} could not be read. Nothing was changed.`, [String(error.message ?? error)]);
      }
    }
  };
  for (const id of ["open-file", "weather-file"]) {
    const input = document.getElementById(id);
    input.addEventListener("change", async () => {
      await read([...input.files]);
      input.value = "";
    });
  }
  const veil = document.getElementById("drop-veil");
  const hasFiles = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
  let depth = 0;
  addEventListener("dragenter", (event) => {
    if (!hasFiles(event)) return;
    depth++;
    veil.hidden = false;
  });
  addEventListener("dragleave", () => {
    depth = Math.max(0, depth - 1);
    veil.hidden = depth === 0;
  });
  addEventListener("dragover", (event) => hasFiles(event) && event.preventDefault());
  addEventListener("drop", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    depth = 0;
    veil.hidden = true;
    read([...event.dataTransfer.files]);
  });
}

if (typeof module !== "undefined") module.exports = { kindOfFile };
