// What is set, as plain values; what it means for the circuit; how it goes into a link and back.

// {ohms, electrodes, on, times}: the joint (Infinity = open), electrodes (Infinity = none), each load's switch and power.
function givenSetting(held, sound = false) {
  return {
    ohms: sound ? 0 : held.joint.given === null ? Infinity : held.joint.given,
    electrodes: held.wiring.electrodes.map((e) => (e.given === null ? Infinity : e.given)),
    on: held.loads.map((load) => load.on),
    times: held.loads.map(() => 1),
  };
}

const figure = (x) => (x === Infinity ? "open" : String(Number(x.toPrecision(4))));
const bare = (text, least, most) => {
  if (text === "open") return Infinity;
  const x = Number(text);
  return text !== "" && Number.isFinite(x) && (x === 0 || (x >= least && x <= most)) ? x : undefined;
};

// The setting alone, and nothing else of the case: "j=open&e=60&l=1_1.5_-1" (a load that is off has a minus sign).
function linkOf(setting) {
  const loads = setting.on.map((on, k) => (on ? "" : "-") + figure(setting.times[k])).join("_");
  return `j=${figure(setting.ohms)}` + (setting.electrodes.length ? `&e=${setting.electrodes.map(figure).join("_")}` :
    "") + `&l=${loads}`;
}

// The setting of a link, or null where it does not fit the case.
function settingOf(held, text) {
  const parts = Object.fromEntries(text.replace(/^#/, "").split("&").map((part) => part.split("=")));
  const setting = givenSetting(held), { factors } = held.sliders;
  const ohms = bare(parts.j ?? "", 1e-6, 1e9), loads = (parts.l ?? "").split("_");
  if (ohms === undefined || loads.length !== setting.on.length) return null;
  setting.ohms = ohms;
  if (setting.electrodes.length) {
    setting.electrodes = (parts.e ?? "").split("_").map((x) => bare(x, 1e-6, 1e9));
    if (setting.electrodes.length !== held.wiring.electrodes.length || setting.electrodes.includes(undefined)) return null;
  }
  for (let k = 0; k < loads.length; k++) {
    const times = bare(loads[k].replace("-", ""), factors.least, factors.most);
    if (times === undefined || times === Infinity || times === 0) return null;
    setting.on[k] = !loads[k].startsWith("-");
    setting.times[k] = times;
  }
  return setting;
}

const circuitOf = (setting, failed = []) => ({
  ohms: setting.ohms, electrodes: setting.electrodes,
  loads: setting.on.map((on, k) => ({ times: on ? setting.times[k] : 0, failed: failed[k] || null })),
});

// The case with its curves, and answers for settings of it.
class Model {
  constructor(held) {
    this.held = held;
    this.laws = held.sets.map((set) => new Law(set));
    this.nominal = held.supply.nominal;
    this.lines = held.supply.lines.map((line) => new Set(held.loads.map((load, k) =>
      (load.connect[0] === line ? k : -1)).filter((k) => k >= 0)));
  }

  network(setting, failed, sound = false) {
    return network(this.held, this.laws, circuitOf(setting, failed), sound);
  }

  // The sound circuit of a setting, settled; null where it is not known.
  sound(setting) {
    const net = this.network(setting, [], true);
    if (net.problem) return null;
    const from = guess(net, this.nominal), first = from && settleFrom(net, net.branches.map((b) => b.law.first), from);
    if (net.unique || !from) return first;
    const found = arrive(cold(net), this.nominal);
    return found.ends === "settled" ? found.found : first;
  }

  // At once: the settled state that the last one leads to. {net, found, complete, problem}
  quick(setting, last) {
    const net = this.network(setting, []);
    if (net.problem) return { problem: true, states: [] };
    const from = guess(net, this.nominal), modes = net.branches.map((b) => b.law.first);
    let found = null;
    if (last && !net.unique && last.net.size === net.size) {
      const start = carried(net, last);
      found = settleFrom(net, start.modes, last.v);
    }
    if (!found && from) found = settleFrom(net, modes, from);
    return { net, states: found ? [found] : [], complete: net.unique && found !== null, ends: "settled" };
  }

  // In slices: every settled state, the one arrived at from the sound circuit first. A generator.
  * whole(setting) {
    const net = this.network(setting, []);
    if (net.problem) return { problem: true, states: [] };
    if (net.unique) return this.quick(setting, null);
    const before = this.sound(setting);
    yield;
    const answer = yield* search(net, this.nominal, this.lines, before);
    return { net, complete: true, ...answer };
  }

  // Figures of a settled state.
  read({ net, v, modes, volts }) {
    return reading(this, net, v, settledAt(net, modes, volts));
  }

  answer(setting) {
    const work = this.whole(setting);
    for (;;) {
      const { done, value } = work.next();
      if (done) return value;
    }
  }
}

// Figures of a settled state or moment: volts of lines, loads, neutral, metalwork; current through the joint.
function reading(model, net, v, admittances) {
  const { held } = model, at = (t) => (net.node[t] < 0 ? null : [v.re[net.node[t]], v.im[net.node[t]]]);
  const apart = (a, b) => {
    const x = at(a), y = at(b);
    if (x && y) return Math.hypot(x[0] - y[0], x[1] - y[1]);
    return !x && !y && net.island[a] === net.island[b] ? 0 : null;
  };
  const points = held.points.map((p) => ({
    corners: Object.fromEntries(Object.entries(p.lines).map(([line, t]) => [line, at(t)])),
    star: at(p.n), lines: Object.fromEntries(Object.entries(p.lines).map(([line, t]) => [line, apart(t, p.n)])),
    shift: apart(p.n, held.wiring.star), metal: p.pe === null ? undefined : apart(p.pe, held.wiring.earth),
    alive: Object.fromEntries(Object.entries(p.lines).map(([line, t]) => [line, apart(t, held.wiring.star)])),
  }));
  const volts = held.loads.map(() => undefined), least = held.loads.map(() => Infinity), power = held.loads.map(() => 0), branch = held.loads.map(() => -1);
  for (const [a, b, load] of held.wiring.branches) {
    const u = apart(a, b);
    if (volts[load] === undefined || u === null || u > volts[load]) volts[load] = u;
    if (u !== null && u < least[load]) least[load] = u;
  }
  net.branches.forEach((b, k) => {
    const [ur, ui] = across(v, b), square = ur * ur + ui * ui;
    power[b.load] += admittances[k][0] * square;
    if (branch[b.load] < 0 || Math.sqrt(square) >= volts[b.load] - 1e-9) branch[b.load] = k;
  });
  let neutral = 0;
  if (net.through) neutral = currentThrough(net, v, net.through, admittances);
  return { points, volts, least, power, branch, neutral };
}

// Current (A) through the joint; null where it is parallel to another way without impedance.
function currentThrough(net, v, joint, admittances) {
  if (net.node[joint.a] < 0) return 0;
  const flow = (e, y) => {
    const ur = v.re[net.node[e.a]] - v.re[net.node[e.b]], ui = v.im[net.node[e.a]] - v.im[net.node[e.b]];
    return [y[0] * ur - y[1] * ui, y[0] * ui + y[1] * ur];
  };
  const own = ({ re, im }) => [re / (re * re + im * im), -im / (re * re + im * im)];
  if (joint.re !== 0 || joint.im !== 0) return Math.hypot(...flow(joint, own(joint)));
  if (!joint.taking) return null;
  const sum = [0, 0];
  for (const { e, sign } of joint.taking) {
    const [re, im] = flow(e, e.k === undefined ? own(e) : admittances[e.k]);
    sum[0] += sign * re;
    sum[1] += sign * im;
  }
  return Math.hypot(...sum);
}
