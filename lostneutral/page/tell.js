// The parts of the page that are words: the summary, time, two settings side by side, settled states.

function listed(node, texts) {
  const key = texts.map((t) => t.join("|")).join("\n");
  if (node.dataset.key === key) return;
  node.dataset.key = key;
  node.replaceChildren(...texts.map(([kind, text]) => made("li", { class: kind, textContent: text })));
}

Object.assign(Page.prototype, {
  tell(view) {
    const now = performance.now(), words = view ? starWords(this.held, view) : "";
    // A reader that speaks is not told sixty times a second.
    if (view && view.moving && now - (this.told || 0) < 1000) return;
    this.told = now;
    if (at("star-words").textContent !== words) at("star-words").textContent = words;
    if (!view && this.searching) listed(at("words"), [["", "Looking for where it settles."]]);
    else if (!view) listed(at("words"), [["over",
      "There is no answer for this setting: something is shorted without any impedance, or nothing decides the voltages."]]);
    else if (view.hidden) listed(at("words"),
      [["", "The readings are hidden. Say first what each item will do, then show them."]]);
    else listed(at("words"), [...this.notes(view), ...summary(this.held, view)]);
  },

  notes(view) {
    const { answer } = this, more = answer.states.length;
    if (view.moving) return [];
    if (this.searching) return [["", "Looking whether other states are possible."]];
    if (answer.ends === "cycle") return [["over",
      "It does not settle: loads shut down and start again, over and over. The figures move to and fro; the bars show between what."]];
    if (answer.ends === "undecided") return [["over", more > 1 ?
      `${more} settled states are possible; the loads do not decide which. Shown: ${this.letter(answer.states[Math.min(this.state, more - 1)])}.` : "Where it settles is not decided by the loads given: take no figure here as good."]];
    return more > 1 ? [["", `${more} settled states are possible. A is the one arrived at from the sound neutral; shown: ${this.letter(answer.states[Math.min(this.state, more - 1)])}.`]] : [];
  },

  tellStates(view) {
    const states = this.pace || !view || view.hidden ? [] : this.answer.states, node = at("states");
    const key = `${states.length}/${this.state}/${this.answer.ends}`;
    if (node.dataset.key === key) return;
    node.dataset.key = key;
    node.hidden = states.length < 2;
    node.replaceChildren(...(states.length < 2 ? [] : states.map((_, k) => {
      const name = String.fromCharCode(65 + k), button = made("button",
        { type: "button", textContent: `State ${name}${k === 0 && this.answer.ends === "settled" ? ", arrived at" : ""}`,
        "aria-pressed": String(k === this.state) });
      button.onclick = () => { this.state = k; this.draw(); };
      return button;
    })));
  },

  tellTime() {
    const { clock } = this;
    at("clock").textContent = this.pace ?
      `Since the joint is as set: ${clock.time < 1 ? `${clock.time.toFixed(2)} seconds` : duration(clock.time)}` :
      "Every item settled, nothing failed yet";
    at("anew").hidden = !this.pace && !clock.log.length;
    listed(at("log"), clock.log.map((text) => ["", text]));
    if (this.pace && this.hidden) at("clock").textContent += " (stands still while the readings are hidden)";
  },

  tellBeside(view) {
    const table = at("beside"), { kept, held } = this;
    table.hidden = at("drop").hidden = !kept;
    at("keep").textContent = kept ? "Keep this one instead" : "Keep this setting beside";
    if (!kept || !view) return;
    const point = view.reading.points[kept.point], hide = view.hidden ? () => "?" : volts;
    const rows = [["Joint", ohmWords(kept.setting.ohms), ohmWords(this.setting.ohms)],
      ...Object.keys(point.lines).map((line) => [`${line} to neutral`, hide(kept.lines[line]), hide(point.lines[line])]),
      ["Neutral from the middle", hide(kept.shift), hide(point.shift)],
      ...held.loads.map((load, k) => [load.name, ...[[kept.setting, kept.volts[k]],
        [this.setting, view.reading.volts[k]]].map(([s, x]) =>
        (s.on[k] ? `${hide(x)}${s.times[k] === 1 ? "" : `, ${s.times[k]} × the power`}` : "off"))])];
    const key = rows.join("\n");
    if (table.dataset.key === key) return;
    table.dataset.key = key;
    table.replaceChildren(made("caption",
      { textContent: `At ${held.points[kept.point].name}; the kept setting is the hollow mark in picture and bars` }),
      made("thead", {}, made("tr", {}, ...["", "kept", "now"].map((text) =>
        made(text ? "th" : "td", { textContent: text, ...(text ? { scope: "col" } : {}) })))),
      made("tbody", {}, ...rows.map(([name, a, b]) => made("tr", {}, made("th", { scope: "row", textContent: name }),
        made("td", { textContent: a }), made("td", { textContent: b })))));
  },
});

function coloured(held, name) {
  const palette = held.palettes[name];
  for (const line of ["L1", "L2", "L3"]) {
    if (palette) document.documentElement.style.setProperty(`--${line}`, palette[line][0]);
    else document.documentElement.style.removeProperty(`--${line}`);
  }
}

// Begin.
const held = JSON.parse(at("held").textContent);
const fault = held.fault || "electrical installation";
document.title = `${held.title}: ${fault}, by calculation`;
at("fault").textContent = `${fault[0].toUpperCase()}${fault.slice(1)}, by calculation`;
at("title").textContent = held.title;
at("story").textContent = held.description.trim();
at("cautions-short").append(...held.cautions.short.map((text) => made("li", { textContent: text })));
at("cautions-full").append(...held.cautions.full.map((text) => made("li", { textContent: text })));
at("palette").append(made("option", { value: "", textContent: "of this page" }),
  ...Object.entries(held.palettes).map(([name, p]) => made("option",
  { value: name, textContent: `${name}: ${Object.values(p).map(([, word]) => word).join(", ")}` })));
at("palette").value = held.palette;
at("palette").onchange = () => coloured(held, at("palette").value);
coloured(held, held.palette);
at("report").append(...Object.entries(held.report).flatMap(([name, texts]) =>
  [made("h3", { textContent: name }), made("ul", {}, ...texts.map((text) => made("li", { textContent: text })))]));
if (held.fixed) showFixed(held);
else globalThis.lostneutral = new Page(held); // for the tests, which ask it for figures
at("sheet-report").hidden = !Object.keys(held.report).length;
