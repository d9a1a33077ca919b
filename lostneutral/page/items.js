// One row an item: switch, power, light, its volts against its band, what they do to it, and why.

const made = (name, properties = {}, ...children) => {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (key === "class") node.className = value;
    else if (key.includes("-") || key === "for" || key === "role") node.setAttribute(key, value);
    else node[key] = value;
  }
  node.append(...children);
  return node;
};

const SCALE = 2; // times rated: the right end of an item's bar
const along = (ratio) => `${(100 * Math.min(Math.max(ratio, 0), SCALE) / SCALE).toFixed(2)}%`;
const GUESSES = ["higher", "the same", "lower"];
const SAME_WITHIN = 0.02; // of rated: a voltage counts as the same

class ItemRow {
  // `act`: {switched(k, on), powered(k, times, done), guessed(k, word)}
  constructor(held, k, act) {
    const load = held.loads[k], id = `item-${k}`, { factors } = held.sliders;
    this.held = held;
    this.load = load;
    this.now = {};
    this.title = made("h3", { id, textContent: load.name });
    this.facts = made("p", { class: "facts" });
    this.on = made("button", { type: "button", class: "switch", role: "switch", "aria-labelledby": id });
    this.on.onclick = () => act.switched(k, this.on.getAttribute("aria-checked") !== "true");
    this.power = made("input", { type: "range", min: Math.log2(factors.least), max: Math.log2(factors.most), step: 0.05, value: 0,
      class: "power", "aria-label": `Power of ${load.name}` });
    this.power.oninput = () => act.powered(k, this.times(), false);
    this.power.onchange = () => act.powered(k, this.times(), true);
    this.glow = made("span", { class: "glow", "aria-hidden": "true" });
    this.band = made("span", { class: "band" });
    this.edge = made("span", { class: "nominal" });
    this.marker = made("span", { class: "marker" });
    this.spread = made("span", { class: "spread" });
    this.mark = made("span", { class: "was" });
    this.bar = made("div", { class: "bar", "aria-hidden": "true" }, this.band, this.edge, this.spread, this.mark, this.marker);
    this.figure = made("strong", { class: "reading" });
    this.word = made("span", { class: "verdict" });
    this.effect = made("p", { class: "effect" });
    this.guess = made("fieldset", { class: "guess", hidden: true },
      made("legend", { textContent: "Voltage, against a sound neutral" }));
    this.radios = GUESSES.map((word) => {
      const radio = made("input", { type: "radio", name: `guess-${k}`, value: word });
      radio.onchange = () => act.guessed(k, word);
      this.guess.append(made("label", {}, radio, ` ${word}`));
      return radio;
    });
    this.right = made("p", { class: "right", hidden: true });
    this.why = made("details", {}, made("summary", { textContent: "Why?", "aria-label": `Why? ${load.name}` }));
    this.reasons = made("ul");
    this.why.append(this.reasons);
    this.node = made("li", { class: `item ${load.lamp ? "lamp" : ""}` },
      made("div", { class: "head" }, load.lamp ? this.glow : "", made("div", {}, this.title, this.facts), this.on),
      this.power, this.bar, made("p", { class: "line" }, this.figure, " ", this.word), this.guess, this.right, this.effect,
        this.why);
    this.band.style.left = along(held.supply.band.low);
    this.band.style.width = `${(100 * (held.supply.band.high - held.supply.band.low) / SCALE).toFixed(2)}%`;
    this.edge.style.left = along(1);
  }

  times() {
    return Number((2 ** Number(this.power.value)).toPrecision(3));
  }

  put(key, value, apply) {
    if (this.now[key] === value) return;
    this.now[key] = value;
    apply(value);
  }

  // `item`: of view.items. Only what changed is touched.
  show(item, view) {
    const { load } = this, hidden = view.hidden;
    this.put("on", item.on, (on) => { this.on.setAttribute("aria-checked", String(on)); this.on.textContent = on ? "on" :
      "off"; this.node.classList.toggle("off", !on); });
    if (document.activeElement !== this.power) this.put("times", item.times, (x) => { this.power.value = Math.log2(x); });
    else this.now.times = item.times;
    this.put("facts", item.facts, (text) => { this.facts.textContent = text; this.power.setAttribute("aria-valuetext", text); });
    const shown = !hidden && item.volts !== null && item.volts !== undefined;
    this.put("marker", shown ? along(item.ratio) : "", (left) => { this.marker.hidden = !left; this.marker.style.left = left; });
    this.put("kind", hidden || !item.on ? "" : item.verdict, (kind) => { this.node.dataset.verdict = kind; });
    this.put("beyond", shown && item.ratio > SCALE, (beyond) => this.marker.classList.toggle("beyond", beyond));
    const range = view.cycle && !hidden && item.range ? item.range : null;
    this.put("spread", range ? range.join() : "", () => {
      this.spread.hidden = !range;
      if (range) { this.spread.style.left = along(range[0] / load.rated); this.spread.style.width = `calc(${along(range[1] / load.rated)} - ${along(range[0] / load.rated)})`; }
    });
    const was = view.kept && !hidden ? view.kept.volts[item.k] : null;
    this.put("was", was === null || was === undefined ? "" : along(was / load.rated),
      (left) => { this.mark.hidden = !left; this.mark.style.left = left; });
    this.put("figure", hidden ? "?" : volts(item.volts), (text) => { this.figure.textContent = text; });
    this.put("word", hidden ? "hidden: predict first" : item.word, (text) => { this.word.textContent = text; });
    this.put("effect", hidden ? "" : item.effect, (text) => { this.effect.textContent = text; });
    if (load.lamp) this.put("glow", hidden || !item.on ? 0 : Math.round(100 * Math.min(item.light || 0, 3)) / 100,
      (x) => this.shine(x));
    this.put("ask", hidden && view.predict && item.on, (ask) => { this.guess.hidden = !ask; });
    this.put("guessed", view.guesses[item.k] || "", (word) => { for (const r of this.radios) r.checked = r.value === word; });
    this.put("right", !hidden && view.revealed && view.guesses[item.k] ?
      `You said ${view.guesses[item.k]}: ${item.truth === view.guesses[item.k] ? "so it is" : `it is ${item.truth}`}.` : "",
      (text) => {
      this.right.hidden = !text;
      this.right.textContent = text;
    });
    this.put("hidden", hidden, (yes) => { this.why.hidden = yes; });
    if (!hidden && this.why.open) {
      const reasons = item.why();
      this.put("why", reasons.join("\n"), () => this.reasons.replaceChildren(...reasons.map((text) =>
        made("li", { textContent: text }))));
    }
  }

  // There is no answer: no figure is left standing.
  blank() {
    this.put("figure", "no figure", (text) => { this.figure.textContent = text; });
    this.put("word", "", (text) => { this.word.textContent = text; });
    this.put("effect", "", (text) => { this.effect.textContent = text; });
    this.put("kind", "", (kind) => { this.node.dataset.verdict = kind; });
    this.put("marker", "", () => { this.marker.hidden = true; });
    if (this.load.lamp) this.put("glow", 0, (x) => this.shine(x));
  }

  // Light as the eye takes it: by its logarithm, from dark to three times rated.
  shine(light) {
    const level = light <= 0.004 ? 0 : Math.min(1, 0.12 + 0.88 * Math.log(light / 0.004) / Math.log(3 / 0.004));
    this.glow.style.setProperty("--level", level.toFixed(3));
    this.glow.classList.toggle("glaring", light > this.held.supply.light.glaring);
  }
}
