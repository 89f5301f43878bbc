// The controls: built from the tables of live-settings.js, shown from settings, heard by one function.
"use strict";

/** Makes a slider or a choice in a place of the page. */
function makeControl(row, choices) {
  const host = document.createElement("div");
  host.className = "control";
  const label = document.createElement("label"), id = `set-${row.key}`;
  label.htmlFor = id;
  label.textContent = row.label;
  if (!row.stops) {
    const select = document.createElement("select");
    select.id = id;
    for (const { value, words } of choices) select.add(new Option(words, value));
    host.append(label, select);
    return { row, host, input: select };
  }
  const pair = document.createElement("div"), input = document.createElement("input"), output = document.createElement("output");
  pair.className = "pair";
  input.type = "range";
  input.min = 0;
  input.step = 1;
  input.id = id;
  output.htmlFor = id;
  pair.append(label, output);
  host.append(pair, input);
  return { row, host, input, output };
}

/** What each choice offers, from the engine's lists. */
function choicesOf(key, lists) {
  if (key === "material") return lists.materials.map((m) => ({ value: m.name, words: m.name }));
  if (key === "climate") return lists.climates.map((c) => ({ value: c.name, words: `${c.name} (${c.description.split(";")[0]})` }));
  if (key === "texture") return lists.textures.map((t) => ({ value: t.name, words: t.name }));
  return [{ value: "", words: "none" }, ...lists.products.filter((p) => !p.needs_urea_loss).map((p) => ({ value: p.name, words: `${p.name} (${p.description})` }))];
}

/**
 * Builds all controls. `changed(key, value)` hears what people do. Gives back show(settings, units), which lays settings
 * on them, and offer(climate), which adds a weather file to the climates.
 */
function makeControls(lists, changed) {
  const controls = [];
  let units = "us";
  for (const place of document.querySelectorAll("[data-controls]")) {
    for (const key of place.dataset.controls.split(" ")) {
      const row = SLIDERS.find((s) => s.key === key) ?? CHOICES.find((c) => c.key === key);
      const control = makeControl(row, row.stops ? [] : choicesOf(key, lists));
      place.append(control.host);
      controls.push(control);
      control.input.addEventListener(row.stops ? "input" : "change", () =>
        changed(key, row.stops ? stopValue(row, Number(control.input.value), units) : control.input.value));
    }
  }
  const harvest = document.getElementById("harvest"), planting = document.getElementById("planting");
  harvest.addEventListener("change", () => isDate(harvest.value) && changed("harvest", harvest.value));
  planting.addEventListener("change", () => isDate(planting.value) && changed("planting", planting.value.slice(5)));

  function show(settings, inUnits) {
    units = inUnits;
    for (const { row, host, input, output } of controls) {
      if (!row.stops) {
        input.value = settings[row.key];
        continue;
      }
      const used = isUsed(row, settings), words = valueWords(row, settings, units);
      host.hidden = row.corn !== undefined && !used;
      host.classList.toggle("off", !used);
      input.disabled = !used;
      input.max = row.stops[units].length - 1;
      input.value = nearestStop(row, settings[row.key], units);
      output.textContent = used ? words : { spacing: "needs openings", buried: "nothing is worked in", product: "no product" }[row.needs];
      input.setAttribute("aria-valuetext", valueWords(row, settings, units, true));
    }
    harvest.value = settings.harvest;
    const year = Number(settings.harvest.slice(0, 4));
    planting.value = `${settings.planting > settings.harvest.slice(5) ? year : year + 1}-${settings.planting}`;
    showProductCaution(settings.product, lists);
  }
  return {
    show,
    offer(climate, words) {
      const { input } = controls.find((c) => c.row.key === "climate");
      if (![...input.options].some((o) => o.value === climate)) input.add(new Option(words, climate));
    },
  };
}

/** A caution beside the product, where it is handled. */
function showProductCaution(product, lists) {
  const place = document.getElementById("product-caution");
  const about = lists.products.find((p) => p.name === product);
  place.hidden = !about;
  if (!about) return;
  const words = about.in_soil_only
    ? "Anhydrous ammonia goes into the soil, not on stalks. It injures eyes, skin and lungs and can kill: trained people only."
    : /urea/i.test(about.description) ? "Urea on top of residue loses ammonia to the air until rain washes it in; what is left turns to nitrate, which water carries away." : "Ammonium forms turn to nitrate, which water carries away.";
  place.textContent = `${words} Local rules and a licensed adviser decide on rate and date.`;
}
