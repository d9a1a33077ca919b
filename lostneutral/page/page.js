// The page: what is set, what follows, what is shown. Everything else on it is told from here.

const at = (id) => document.getElementById(id);
const PATIENCE = 220; // ms without a change before all settled states are looked for
const SLICE = 12; // ms of one slice of that

class Page {
  constructor(held) {
    this.held = held;
    this.model = new Model(held);
    this.setting = settingOf(held, location.hash) || givenSetting(held, held.class);
    this.predict = this.hidden = held.class;
    this.revealed = false;
    this.guesses = [];
    this.past = [];
    this.last = null;
    this.state = 0;
    this.point = 0;
    this.pace = 0;
    this.kept = null;
    this.clock = new Clock(this.model);
    this.star = new StarPicture(held, at("star"));
    this.joint = new JointControls(held, { resistances: (what, done) => this.resist(what, done) });
    const act = {
      switched: (k, on) => this.change((s) => { s.on[k] = on; }, true),
      powered: (k, times, done) => this.change((s) => { s.times[k] = times; }, done),
      guessed: (k, word) => { this.guesses[k] = word; },
    };
    this.rows = held.loads.map((_, k) => new ItemRow(held, k, act));
    at("rows").append(...this.rows.map((row) => row.node));
    for (const row of this.rows) row.why.ontoggle = () => this.draw();
    this.fill();
    this.settle();
  }

  fill() {
    const { held } = this, split = held.supply.system === "split-phase";
    at("h-star").textContent = split ? "The line between L1 and L2" : "Star point";
    at("star-key").textContent = `Rings: where the neutral has to be for a line to be within limits (${limitsOf(held, held.supply.nominal)}). Discs: how much is connected to each line, by conductance. Cross: the ${split ? "supply's centre tap" : "supply's star point"}.`;
    at("scale-words").textContent = `Bars run from 0 to ${SCALE} times the rated voltage of each item; plain: within limits, hatched: outside. The slider sets the power: so many times that of the item.`;
    if (held.points.length > 1) {
      at("place").hidden = false;
      at("point").append(...held.points.map((p, k) => made("option", { value: k, textContent: p.name })));
      at("point").onchange = () => { this.point = Number(at("point").value); this.draw(); };
    }
    PACES.forEach(([pace, name], k) => {
      const radio = made("input", { type: "radio", name: "pace", value: pace, checked: k === 0 });
      radio.onchange = () => this.setPace(pace);
      at("paces").append(made("label", {}, radio, ` ${name}`));
    });
    at("predict").checked = this.predict;
    at("predict").onchange = () => { this.predict = at("predict").checked; this.hidden = this.predict; this.revealed = false; this.guesses = []; this.draw(); };
    at("show").onclick = () => { this.hidden = false; this.revealed = true; this.draw(); at("h-items").scrollIntoView({ block: "start" }); };
    at("undo").onclick = () => this.undo();
    at("given").onclick = () => this.change((s) => Object.assign(s, givenSetting(held)), true);
    at("anew").onclick = () => { this.clock.anew(); this.settle(); };
    at("keep").onclick = () => this.keep();
    at("drop").onclick = () => { this.kept = null; this.draw(); };
    at("copy").onclick = () => this.copy();
    document.addEventListener("keydown", (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key === "z" &&
        event.target.id !== "link") { event.preventDefault(); this.undo(); }
    });
    addEventListener("hashchange", () => { const set_ = settingOf(held,
      location.hash); if (set_) this.change((s) => Object.assign(s, set_), true); });
    const { lumped, street, machines, loads, point } = held.given;
    const taken = lumped ?
      [`${loads} items are taken together here${street ? `: everything behind the joint is taken to be at ${point}, with cables beyond it left out` : ""}.`] : [];
    if (street || machines) taken.push(this.simplified());
    at("also").append(...taken.filter(Boolean).map((text) => made("li", { textContent: text })));
  }

  // How far what this page simplifies is from the whole calculation of the case as given, in words; nothing where it is not.
  simplified() {
    const state = this.held.given.states[0], place = this.held.points.findIndex((p) => p.name === this.held.given.point);
    const answer = this.model.answer(givenSetting(this.held));
    if (!state || place < 0 || !answer.states.length) return "";
    const f = answer.states[0], seen = this.model.read(f).points[place].lines;
    const parts = Object.entries(state.volts).filter(([line, x]) => x !== null && whole(seen[line]) !== whole(x)).map(([line, x]) =>
      `${line} ${volts(seen[line])} where the whole calculation gives ${volts(x)}`);
    return parts.length ? `This page simplifies: for the case as described it gives ${parts.join(", ")}.` : "";
  }

  resist({ ohms, electrode }, done) {
    this.change((s) => {
      if (ohms !== undefined) s.ohms = ohms;
      if (electrode) s.electrodes[electrode[0]] = electrode[1];
    }, done);
  }

  // Change the setting; one step of undo for one gesture. Behind a prediction the readings hide again.
  change(apply, done) {
    const before = structuredClone(this.setting);
    apply(this.setting);
    if (!this.gesture) this.past.push(before);
    this.gesture = !done;
    if (this.past.length > 200) this.past.shift();
    if (linkOf(before) === linkOf(this.setting)) { if (done &&
      linkOf(this.past.at(-1)) === linkOf(this.setting)) this.past.pop(); this.draw(); return; }
    this.changed();
  }

  undo() {
    if (!this.past.length) return;
    this.setting = this.past.pop();
    this.changed();
  }

  changed() {
    this.state = 0;
    if (this.predict && !this.hidden) { this.hidden = true; this.revealed = false; this.guesses = []; }
    if (this.pace) this.clock.rewire(this.setting);
    this.settle();
  }

  // At once the state that the last one leads to; after a quiet time everything there is.
  settle() {
    this.answer = this.model.quick(this.setting, this.last);
    this.searching = !this.answer.complete && !this.answer.problem;
    if (this.answer.states.length) this.last = this.answer.states[0];
    clearTimeout(this.timer);
    if (this.searching) this.timer = setTimeout(() => this.search(this.model.whole(structuredClone(this.setting))), PATIENCE);
    this.draw();
  }

  search(work) {
    const until = performance.now() + SLICE;
    do {
      const { done, value } = work.next();
      if (done) {
        this.answer = value;
        this.searching = false;
        if (value.states.length) this.last = value.states[0];
        this.draw();
        return;
      }
    } while (performance.now() < until);
    this.timer = setTimeout(() => this.search(work), 0);
  }

  setPace(pace) {
    const start = !this.pace && pace;
    this.pace = pace;
    if (start && !this.clock.now) {
      // Time begins in the sound circuit, and the joint is as set from its first instant.
      this.clock.rewire(this.setting, this.model.sound(this.setting));
    } else if (start) this.clock.rewire(this.setting);
    this.before = null;
    if (pace) requestAnimationFrame((t) => this.frame(t));
    this.draw();
  }

  frame(t) {
    if (!this.pace) return;
    const passed = this.before === null ? 0 : Math.min((t - this.before) / 1000, 0.1);
    this.before = t;
    if (!this.hidden && this.clock.now) this.clock.go(passed * this.pace);
    this.draw();
    requestAnimationFrame((next) => this.frame(next));
  }

  // What is shown now: {reading, items, ghosts, …}; null where there is no answer.
  view() {
    const { held, model, clock } = this, moving = this.pace > 0 && clock.now;
    const found = this.answer.states[Math.min(this.state, this.answer.states.length - 1)];
    let net, v, admittances, states, modes;
    if (moving) {
      ({ net, states, modes } = clock.now);
      const seen = motion(clock.now, false);
      if (!seen) return null;
      v = seen.v;
      admittances = heldAdmittances(clock.now);
    } else if (this.answer.now && !found) { // cycling: any moment of it
      ({ net, states, modes } = this.answer.now);
      v = motion(this.answer.now, false).v;
      admittances = heldAdmittances(this.answer.now);
    } else if (found) {
      ({ net, v, states, modes } = found);
      admittances = settledAt(net, modes, found.volts);
    } else return null;
    const seen = reading(model, net, v, admittances);
    const cycle = !moving && this.answer.ends === "cycle" ? this.answer : null;
    const share = this.shares(net, admittances), possible = moving || this.answer.ends !== "undecided" ? [] : this.possible();
    return {
      possible, reading: seen, point: this.point, hidden: this.hidden, predict: this.predict, revealed: this.revealed,
        guesses: this.guesses,
      setting: this.setting, moving: Boolean(moving), cycle, kept: this.kept, share,
      heat: this.setting.ohms > 0 && this.setting.ohms < Infinity && seen.neutral !== null ?
        seen.neutral ** 2 * this.setting.ohms : 0,
      ghosts: moving ? [] : this.answer.states.filter((s) => s !== found).map((s) =>
        ({ letter: this.letter(s), star: model.read(s).points[this.point].star })),
      items: held.loads.map((load, k) => this.item(load, k, seen, { net, states, modes, share, cycle, possible })),
    };
  }

  // The figures of every settled state that is possible where the loads do not decide which.
  possible() {
    this.answer.readings ||= this.answer.states.map((s) => this.model.read(s));
    return this.answer.readings;
  }

  letter(state) {
    return String.fromCharCode(65 + this.answer.states.indexOf(state));
  }

  // Share of each line in the conductance between lines and neutral.
  shares(net, admittances) {
    const { lines } = this.held.supply, sums = lines.map(() => 0);
    net.branches.forEach((b, k) => {
      const { connect } = this.held.loads[b.load];
      if (connect.length === 2 && connect[1] === "N") sums[lines.indexOf(connect[0])] += admittances[k][0];
    });
    const total = sums.reduce((a, b) => a + b, 0);
    return sums.map((x) => (total > 0 ? x / total : 0));
  }

  item(load, k, seen, { net, states, modes, share, cycle, possible }) {
    const { held, model } = this, law = model.laws[load.set], branch = seen.branch[k], x = seen.volts[k], on = this.setting.on[k];
    const failed = this.pace && this.clock.failed[k], number = load.count * this.setting.times[k];
    const mode = branch >= 0 ? law.modes[modes[branch]] : null;
    const light = load.lamp && mode && mode.state ? mode.state.goto(states[branch]).value(STATE.light) : undefined;
    const first = law.first ? law.modes[law.first].volts : null;
    const ratedPower = first ? first.goto(load.rated).value(VOLTS.re) * load.rated ** 2 * number *
      held.wiring.branches.filter(([, , l]) => l === k).length : 0;
    const unequal = load.machine && x !== null && x !== undefined && x - seen.least[k] > SAME_WITHIN * load.rated;
    const found = on ? unequal ? onUnequalLines : outcomeOf(held, law, [x, ...possible.map((r) => r.volts[k])]) : { outcome: "was off", words: held.outcomes["was off"],
      times: [null, null, null] };
    const kind = verdict(held, x, load.rated), condition = mode && modes[branch] !== law.first ? modes[branch] : "";
    const range = cycle && branch >= 0 ? [cycle.low[branch], cycle.high[branch]] : null;
    let word = on ? VERDICTS[kind] : "switched off";
    if (on && kind === "none") word = withoutVoltage(held, load, seen.points.find((_, n) => held.points[n].name === load.point));
    if (unequal) word = `at most, ${volts(seen.least[k])} at least: unequal lines`;
    if (failed) word = `failure by calculation: ${load.part}`;
    else if (range && range[1] - range[0] > 1) word = `goes to and fro, ${whole(range[0])} to ${volts(range[1])}`;
    const shining = light === undefined || !on || failed ? "" : LIGHT_WORDS(held, light);
    const effects = [shining && shining !== found.words ? `Light: ${shining}` : "", condition, on && !failed ? found.words : ""];
    const effect = effects.filter(Boolean).join("; ");
    return {
      k, on, failed: Boolean(failed), name: load.name, volts: x, ratio: x === null || x === undefined ? 0 : x / load.rated,
        verdict: failed ? "none" : kind, word, light, found, range, times: this.setting.times[k],
      effect: effect && effect[0].toUpperCase() + effect.slice(1),
      facts: `${connection(load)} · ${ratedPower > 0.5 ? `${Number(ratedPower.toPrecision(3))} W` : `${Number(number.toPrecision(3))} ×`} at ${volts(load.rated)}`,
      truth: this.truth(load, k, x),
      why: () => whyWords(held, load, { volts: x, least: seen.least[k], light, power: seen.power[k], ratedPower }, found,
        load.connect[1] === "N" && this.setting.ohms > 0 ? share[held.supply.lines.indexOf(load.connect[0])] : null),
    };
  }

  // What a prediction comes out as: against the same setting with a sound neutral.
  truth(load, k, x) {
    if (!this.revealed) return "";
    const key = linkOf(this.setting);
    if (this.soundKey !== key) {
      this.soundKey = key;
      const sound = this.model.sound(this.setting);
      this.soundVolts = sound && this.model.read(sound).volts;
    }
    if (!this.soundVolts || x === null || x === undefined) return "not to be said";
    const off = (x - this.soundVolts[k]) / load.rated;
    return Math.abs(off) < SAME_WITHIN ? "the same" : off > 0 ? "higher" : "lower";
  }

  keep() {
    const view = this.view();
    if (!view) return;
    this.kept = { setting: structuredClone(this.setting), volts: view.reading.volts, lines: view.reading.points[this.point].lines,
      star: view.reading.points[this.point].star, point: this.point, shift: view.reading.points[this.point].shift };
    this.draw();
  }

  copy() {
    at("link").select();
    const said = (text) => { at("copied").textContent = text; };
    if (navigator.clipboard) navigator.clipboard.writeText(at("link").value).then(() => said("Copied."),
      () => said("Selected: copy it by hand."));
    else said("Selected: copy it by hand.");
  }

  draw() {
    const view = this.view();
    this.joint.show(this.setting);
    at("undo").disabled = !this.past.length;
    at("show").hidden = !this.hidden;
    const link = `${location.href.split("#")[0]}#${linkOf(this.setting)}`;
    if (at("link").value !== link) { at("link").value = link; at("copied").textContent = ""; }
    if (view) {
      this.star.show(view);
      view.items.forEach((item, k) => this.rows[k].show(item, view));
    } else {
      this.star.blank();
      for (const row of this.rows) row.blank();
    }
    this.tell(view);
    this.tellTime();
    this.tellBeside(view);
    this.tellStates(view);
  }
}
