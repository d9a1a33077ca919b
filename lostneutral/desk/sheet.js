"use strict";
(() => {
  const held = JSON.parse(document.getElementById("held").textContent), at = (id) => document.getElementById(id);
  const KEY = "lostneutral field sheet", SIDE = 2000, LINES = ["L1-N", "L2-N", "L3-N", "L1-L2", "L2-L3", "L3-L1", "L1-L2-L3"];
  const TERMINALS = ["L1", "L2", "L3", "N", "PE", "earth"];
  const empty = () => ({ format: held.format, title: "", note: "", boards: "", items: [], readings: [], photos: [] });
  let sheet = empty(), unsaved = false;

  function made(tag, more = {}, ...inside) {
    const node = document.createElement(tag);
    for (const [key, value] of Object.entries(more)) {
      if (key.includes("-") || key === "list" || key === "role") node.setAttribute(key, value); else node[key] = value;
    }
    node.append(...inside);
    return node;
  }
  const labelled = (words, node) => made("label", {}, `${words} `, node);
  const list = (id, values) => at(id).replaceChildren(...values.map((value) => made("option", { value })));
  const number = () => `${Date.now().toString(36)}${Math.random().toString(36).slice(2, 6)}`;

  // What is noted stands in the browser's own store until it is saved, as far as the browser keeps one for a page of this kind.
  function keep() {
    unsaved = true;
    let kept = true;
    try { localStorage.setItem(KEY, JSON.stringify(sheet)); } catch { kept = false; }
    at("state").textContent = kept ? "Kept on this phone until you save." : "Too much for this browser to keep: save now and then.";
  }

  function text(row, key, words, more = {}) {
    const field = made(more.rows ? "textarea" : "input", { value: row[key] || "", autocomplete: "off", ...more });
    field.oninput = () => { row[key] = field.value; keep(); };
    return labelled(words, field);
  }

  function choice(row, key, words, options) {
    const field = made("select", {}, ...Object.entries(options).map(([value, shown]) => made("option", { value, textContent: shown })));
    field.value = row[key] ?? Object.keys(options)[0];
    field.onchange = () => { row[key] = field.value; keep(); };
    return labelled(words, field);
  }

  const remove = (rows, row, words) => made("button", { type: "button", textContent: "Remove", "aria-label": `Remove ${words}`,
    onclick: () => { rows.splice(rows.indexOf(row), 1); keep(); draw(); } });

  const itemCard = (row) => made("div", { className: "card" },
    text(row, "what", "What is it", { list: "words" }), text(row, "name", "Name on your list"),
    made("div", { className: "two" }, text(row, "power", "Plate: power (2.2 kW, 0.5 A)"), text(row, "voltage", "Plate: voltage"), text(row, "count", "How many", { inputMode: "numeric" }),
      text(row, "point", "Board", { list: "board-names" }), choice(row, "connect", "Line", Object.fromEntries([["", "not known"], ...LINES.map((x) => [x, x])])),
      choice(row, "on", "Switch", { on: "on", off: "off", "?": "not known" }), choice(row, "fate", "Seen afterwards", held.fates)),
    remove(sheet.items, row, row.name || row.what || "this item"));

  function readingCard(row) {
    const taps = made("div", { className: "taps", role: "group", "aria-label": "Between which terminals" });
    for (const name of TERMINALS) {
      const tap = made("button", { type: "button", textContent: name });
      const show = () => tap.setAttribute("aria-pressed", (row.between || "").split("-").includes(name));
      tap.onclick = () => {
        let two = (row.between || "").split("-").filter(Boolean);
        two = two.includes(name) ? two.filter((x) => x !== name) : [...two, name].slice(-2);
        row.between = two.sort((a, b) => TERMINALS.indexOf(a) - TERMINALS.indexOf(b)).join("-");
        for (const other of taps.children) other.show();
        keep();
      };
      tap.show = show;
      show();
      taps.append(tap);
    }
    return made("div", { className: "card" }, made("p", { className: "small", textContent: "Tap the two terminals" }), taps,
      made("div", { className: "two" }, text(row, "point", "Where", { list: "board-names" }), text(row, "voltage", "Reading, V", { inputMode: "decimal" }),
        text(row, "instrument", "Instrument", { list: "instruments" }), choice(row, "loads", "Loads while reading", { on: "on", off: "off, or main switch open" }),
        choice(row, "state", "When", { "": "during the fault", before: "before it" }), text(row, "observer", "Read by")),
      remove(sheet.readings, row, "this reading"));
  }

  const photoCard = (row) => made("div", { className: "card" }, made("img", { src: row.data, alt: row.caption || "Photograph" }), text(row, "caption", "What it shows"),
    choice(row, "item", "Item", Object.fromEntries([["", "–"], ...sheet.items.map((item) => [item.id, item.name || item.what || "(no name)"])])),
    remove(sheet.photos, row, "this photograph"));

  function draw() {
    for (const id of ["title", "note", "boards"]) at(id).value = sheet[id];
    at("items").replaceChildren(...sheet.items.map(itemCard));
    at("readings").replaceChildren(...sheet.readings.map(readingCard));
    at("photos").replaceChildren(...sheet.photos.map(photoCard));
    list("board-names", sheet.boards.split("\n").map((x) => x.trim()).filter(Boolean));
  }

  // A photograph becomes a JPEG of at most SIDE pixels, without what the camera wrote into its file.
  async function photograph(file) {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const part = Math.min(1, SIDE / Math.max(picture.width, picture.height));
    const canvas = made("canvas", { width: Math.round(picture.width * part), height: Math.round(picture.height * part) });
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    return { file: file.name, caption: "", item: "", data: canvas.toDataURL("image/jpeg", 0.85) };
  }

  for (const id of ["title", "note", "boards"]) at(id).oninput = () => { sheet[id] = at(id).value; keep(); if (id === "boards") list("board-names", sheet.boards.split("\n").map((x) => x.trim()).filter(Boolean)); };
  at("add-item").onclick = () => { const last = sheet.items.at(-1) || {}; sheet.items.push({ id: number(), point: last.point || "", connect: last.connect || "" }); keep(); draw(); at("items").lastElementChild.querySelector("input").focus(); };
  at("add-reading").onclick = () => { const last = sheet.readings.at(-1) || {}; sheet.readings.push({ point: last.point || "", instrument: last.instrument || "", observer: last.observer || "", loads: "on" }); keep(); draw(); };
  at("photo").onchange = async () => {
    for (const file of at("photo").files) {
      try { sheet.photos.push(await photograph(file)); } catch { at("said").textContent = `${file.name}: this browser cannot read it as a picture.`; }
    }
    at("photo").value = "";
    keep();
    draw();
  };
  at("save").onclick = () => {
    const saved = { ...sheet, format: held.format }, name = (sheet.title || "field sheet").replace(/[^\p{L}\p{N}]+/gu, "-").slice(0, 60);
    const link = made("a", { href: URL.createObjectURL(new Blob([JSON.stringify(saved)], { type: "application/json" })), download: `${name}.sheet.json` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    unsaved = false;
    at("said").textContent = `Saved as ${link.download}. Open it with: lostneutral desk ${link.download}`;
  };
  at("open").onchange = async () => {
    try {
      const read = JSON.parse(await at("open").files[0].text());
      if (read.format !== held.format) throw new Error();
      sheet = { ...empty(), ...read };
      keep();
      draw();
    } catch { at("said").textContent = "This is not a file that a field sheet saved."; }
    at("open").value = "";
  };
  at("clear").onclick = () => { if (confirm("Begin a new sheet? What is noted here is taken away.")) { sheet = empty(); keep(); unsaved = false; draw(); } };
  addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });

  try { sheet = { ...empty(), ...JSON.parse(localStorage.getItem(KEY) || "{}") }; } catch { sheet = empty(); }
  list("words", held.words);
  list("instruments", held.instruments);
  at("cautions").append(...held.cautions.map((textContent) => made("li", { textContent })));
  draw();
})();
