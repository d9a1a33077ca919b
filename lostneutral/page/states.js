// Settled states: the one that the last state leads to at once; then, in slices, the one arrived at and the others.

const KICKS = 3, KICK = 0.005; // fixed disturbances by which it is seen whether the loads decide
const NEAR = 3e-4; // of a state's own size: at rest
const SWITCHINGS = 60; // changes of mode after which a circuit that repeats itself counts as cycling
const LONGEST = 60; // time followed, in the slowest load's own time constants

// Voltages with every load as it is at nominal voltage.
function guess(net, nominal) {
  const modes = net.branches.map((b) => b.law.first);
  const found = linearVoltages(net, settledAt(net, modes, net.branches.map(() => nominal)));
  return found && found.v;
}

function settledMoment(net, modes, v) {
  const volts = sizes(net, v), now = moment(net, modes, settledStates(net, modes, volts));
  return { net, modes, v, volts, states: now.states, holds: ending(now, volts).length === 0 };
}

// The settled state that Newton's method reaches from voltages `from`, every load in a mode in which it can stay; or null.
function settleFrom(net, modes, from) {
  let now = modes.slice();
  for (let round = 0; round < 6; round++) {
    const v = newton(net, now, from);
    if (!v) return null;
    const found = settledMoment(net, now, v);
    if (found.holds) return found;
    const over = ending(moment(net, now, found.states), found.volts);
    now = now.slice();
    for (const [k, to] of over) now[k] = to;
  }
  return null;
}

// Whether small departures from a settled moment die out: powers of one damped step, squared again and again.
function growth(now, nominal) {
  const m = now.states.length, { jacobian } = motion(now, true), scale = scales(now, nominal);
  const moving = [...Array(m).keys()].filter((k) => now.net.branches[k].law.modes[now.modes[k]].state);
  const n = moving.length;
  if (!n) return { slowest: 0, grows: -Infinity };
  let a = new Float64Array(n * n), slowest = 0;
  moving.forEach((i, row) => moving.forEach((k, column) => { a[row * n + column] = jacobian[i * m + k] * scale[k] / scale[i]; }));
  for (let i = 0; i < n; i++) slowest = Math.max(slowest, 1 / Math.max(Math.abs(a[i * n + i]), 1e-9));
  let time = 60 * slowest, halvings = 0, largest = 0;
  for (const x of a) largest = Math.max(largest, Math.abs(x) * n);
  while (time * largest > 0.05 && halvings < 60) { time /= 2; halvings += 1; }
  // Inverse of (1 - J t): a step that stays stable where the circuit is.
  const left = a.map((x) => -x * time);
  for (let i = 0; i < n; i++) left[i * n + i] += 1;
  const factors = factored(left, n), columns = [...Array(n).keys()].map((k) =>
    solved(factors, Float64Array.from({ length: n }, (_, i) => Number(i === k))));
  a = Float64Array.from({ length: n * n }, (_, at) => columns[at % n][Math.floor(at / n)]);
  let log = 0;
  for (let round = 0; round < halvings; round++) {
    const b = new Float64Array(n * n);
    let norm = 0;
    for (let i = 0; i < n; i++) for (let k = 0; k < n; k++) { const f = a[i * n + k]; if (f) for (let j = 0; j < n; j++) b[i * n + j] += f * a[k * n + j]; }
    for (const x of b) norm = Math.max(norm, Math.abs(x));
    log *= 2;
    if (norm > 0) { log += Math.log(norm); for (let i = 0; i < b.length; i++) b[i] /= norm; }
    a = b;
  }
  return { slowest, grows: log / (time * 2 ** halvings) };
}

// Follow a moment until it settles, repeats itself or the time is up: {ends, found, low, high}.
function arrive(start, nominal) {
  let now = start, h = 1e-3, longest = Infinity;
  const visits = [];
  for (let switches = 0; switches < SWITCHINGS;) {
    const { slowest } = growth(now, nominal);
    let length = 4 * Math.max(slowest, 1e-3), passed = 0, part = null;
    for (;;) {
      part = follow(now, length, nominal, null, h, longest);
      now = part.now;
      h = part.h;
      passed += part.time;
      if (part.stuck || part.ended) break;
      const seen = motion(now, false), size = scales(now, nominal);
      const settled = settledStates(now.net, now.modes, seen.volts);
      const away = Math.max(0, ...settled.map((x, k) => (now.net.branches[k].law.modes[now.modes[k]].state ?
        Math.abs(x - now.states[k]) / size[k] : 0)));
      const held = growth(now, nominal);
      if (away < NEAR) {
        if (held.grows * held.slowest < -0.05 || held.grows === -Infinity) return settledNear(now, seen, nominal);
        // At rest where it does not hold: short steps, or the method's damping would hold it there.
        longest = held.grows > 0 ? 0.2 / held.grows : Infinity;
        h = Math.min(h, longest);
      }
      if (passed > LONGEST * Math.max(held.slowest, slowest, 1e-3)) return settledNear(now, seen, nominal);
      length *= 2;
    }
    if (part.stuck) return { ends: "undecided" };
    switches += 1;
    visits.push({ modes: now.modes.join(), volts: motion(now, false).volts });
    now = switchModes(now, part.ended);
    h = 1e-3;
  }
  const last = visits.slice(-SWITCHINGS / 3);
  if (!last.some((x, i) => last.findIndex((y) => y.modes === x.modes) < i)) return { ends: "undecided" };
  const over = (pick) => now.net.branches.map((_, k) => pick(...last.map((x) => x.volts[k])));
  return { ends: "cycle", low: over(Math.min), high: over(Math.max), now };
}

function settledNear(now, seen, nominal) {
  const v = newton(now.net, now.modes, seen.v);
  if (!v) return { ends: "undecided" };
  const found = settledMoment(now.net, now.modes, v), size = scales(now, nominal);
  const far = found.states.some((x, k) => now.net.branches[k].law.modes[now.modes[k]].state &&
    Math.abs(x - now.states[k]) / size[k] > 3 * NEAR);
  return !found.holds || far ? { ends: "undecided" } : { ends: "settled", found };
}

function same(a, b, nominal) {
  if (a.modes.join() !== b.modes.join()) return false;
  return a.v.re.every((x, k) => Math.hypot(x - b.v.re[k], a.v.im[k] - b.v.im[k]) < 1e-4 * nominal);
}

// The states of `net` carried over from `before` (settled, of the sound circuit), else cold.
function carried(net, before) {
  const now = cold(net);
  if (!before) return now;
  net.branches.forEach((b, k) => {
    const at = before.net.branches.findIndex((o) => o.load === b.load && o.a === b.a && o.b === b.b);
    if (at >= 0) { now.modes[k] = before.modes[at]; now.states[k] = before.states[at]; }
  });
  return now;
}

// All there is to know of a circuit, a slice at a time: yields between the slices, returns {ends, states, low, high}.
// `states` has the one arrived at first where the loads decide; `before` is the settled state of the sound circuit.
function* search(net, nominal, lines, before) {
  const start = carried(net, before), ends = [];
  for (let pattern = 0; pattern < KICKS; pattern++) {
    const kicked = moment(net, start.modes, start.states.map((x, i) =>
      x * (1 + KICK * Math.cos(2.399963 * (i + 1) * (pattern + 1)))));
    ends.push(arrive(kicked, nominal));
    yield;
  }
  const decided = ends.every((e) => e.ends === "settled" && same(e.found, ends[0].found, nominal));
  const found = [];
  const keep = (e) => { if (e.ends === "settled" && !found.some((s) => same(s, e.found, nominal))) found.push(e.found); };
  ends.forEach(keep);
  // Other conditions to begin in: the loads of each line as after a low, or after a high voltage.
  const start_modes = net.branches.map((b) => b.law.first);
  for (let which = 0; which < 2 ** lines.length; which++) {
    const volts = net.branches.map((b) => (which >> Math.max(0, lines.findIndex((own) => own.has(b.load))) & 1 ? 1.45 :
      0.35) * nominal);
    keep(arrive(moment(net, start_modes, settledStates(net, start_modes, volts)), nominal));
    yield;
  }
  if (decided) return { ends: "settled", states: found };
  if (ends.every((e) => e.ends === "cycle")) return { ends: "cycle", states: found, low: ends[0].low, high: ends[0].high,
    now: ends[0].now };
  return { ends: "undecided", states: found };
}
