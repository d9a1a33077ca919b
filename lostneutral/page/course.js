// The loads' states in time: what moves them, one step with a checked error, changes of mode, life used up, failures.

const GAMMA = 1 - Math.SQRT1_2;

// The circuit at a moment: network, mode and state of each load branch.
function moment(net, modes, states) {
  return { net, modes: modes.slice(), states: Float64Array.from(states) };
}

// States after standing without voltage, in each load's first mode.
function cold(net) {
  const modes = net.branches.map((b) => b.law.first);
  return moment(net, modes, net.branches.map((b) => b.law.modes[b.law.first].volts.goto(0).value(VOLTS.state)));
}

// States settled at `volts`, one for each branch.
function settledStates(net, modes, volts) {
  return net.branches.map((b, k) => b.law.modes[modes[k]].volts.goto(volts[k]).value(VOLTS.state));
}

function heldAdmittances(now) {
  return now.net.branches.map((b, k) => {
    const mode = b.law.modes[now.modes[k]];
    const c = mode.state ? mode.state.goto(now.states[k]) : mode.volts.goto(0);
    return [b.count * c.value(0), b.count * c.value(1)]; // both kinds of curve begin with Re y, Im y
  });
}

// Voltages, sizes across the branches and rates at a moment; with the Jacobian where asked.
function motion(now, withSlopes) {
  const { net } = now, m = net.branches.length, found = linearVoltages(net, heldAdmittances(now));
  if (!found) return null;
  const { v, factors } = found, u = net.branches.map((b) => across(v, b)), volts = u.map((z) => Math.hypot(...z));
  const rates = new Float64Array(m), own = new Float64Array(m), byVolts = new Float64Array(m);
  net.branches.forEach((b, k) => {
    const mode = b.law.modes[now.modes[k]];
    if (!mode.state) return;
    const s = mode.state.goto(now.states[k]), g = mode.volts.goto(volts[k]);
    for (const i of [0, 1]) {
      const f = s.value(STATE.pace + i), pace = g.value(VOLTS.pace + i);
      rates[k] += f * pace;
      own[k] += s.slope(STATE.pace + i) * pace;
      byVolts[k] += f * g.slope(VOLTS.pace + i);
    }
  });
  if (!withSlopes) return { v, volts, rates };
  const jacobian = new Float64Array(m * m), n = net.n;
  net.branches.forEach((b, k) => {
    const mode = b.law.modes[now.modes[k]];
    if (!mode.state) return;
    const s = mode.state.goto(now.states[k]), dr = b.count * s.slope(0), di = b.count * s.slope(1);
    const [ur, ui] = u[k], ir = dr * ur - di * ui, ii = dr * ui + di * ur, right = new Float64Array(2 * n);
    if (b.p < n) { right[b.p] -= ir; right[b.p + n] -= ii; }
    if (b.q < n) { right[b.q] += ir; right[b.q + n] += ii; }
    const moved = n ? solved(factors, right) : right;
    net.branches.forEach((other, i) => {
      const re = (other.p < n ? moved[other.p] : 0) - (other.q < n ? moved[other.q] : 0);
      const im = (other.p < n ? moved[other.p + n] : 0) - (other.q < n ? moved[other.q + n] : 0);
      jacobian[i * m + k] += byVolts[i] * (u[i][0] * re + u[i][1] * im) / Math.max(volts[i], 1e-12);
    });
    jacobian[k * m + k] += own[k];
  });
  return { v, volts, rates, jacobian };
}

// Each state's own order of magnitude.
function scales(now, nominal) {
  return now.net.branches.map((b, k) => {
    const c = b.law.modes[now.modes[k]].volts;
    return Math.max(Math.abs(c.goto(nominal).value(VOLTS.state)), Math.abs(c.goto(0).value(VOLTS.state)), 1e-12);
  });
}

// One step of length h (s): a second-order method of Rosenbrock's kind that damps what is fast. Returns states and error.
function stepped(now, h, scale, first) {
  const m = now.states.length, { rates, jacobian } = first, a = new Float64Array(m * m);
  for (let i = 0; i < m * m; i++) a[i] = -GAMMA * h * jacobian[i];
  for (let i = 0; i < m; i++) a[i * m + i] += 1;
  const factors = factored(a, m);
  if (!factors) return null;
  const k1 = solved(factors, rates), middle = moment(now.net, now.modes, now.states.map((x, i) => x + h * k1[i]));
  const second = motion(middle, false);
  if (!second) return null;
  const k2 = solved(factors, second.rates.map((r, i) => r - 2 * k1[i]));
  let error = 0;
  const states = now.states.map((x, i) => {
    error = Math.max(error, Math.abs(h / 2 * (k1[i] + k2[i])) / scale[i]);
    return x + h * (1.5 * k1[i] + 0.5 * k2[i]);
  });
  return { states, error };
}

// The branches whose mode ends at this moment, with the mode that follows.
function ending(now, volts) {
  const found = [];
  now.net.branches.forEach((b, k) => {
    const to = nextMode(b.law.modes[now.modes[k]], now.states[k], volts[k]);
    if (to) found.push([k, to]);
  });
  return found;
}

function switchModes(now, ended) {
  const next = moment(now.net, now.modes, now.states);
  for (const [k, to] of ended) {
    next.modes[k] = to;
    const entered = now.net.branches[k].law.modes[to].entered;
    if (entered !== null) next.states[k] = entered;
  }
  return next;
}

const ROUGH = 2e-4; // error of one step, of a state's own size
const SWITCH_WITHIN = 2e-3; // s: how near the instant of a change of mode is found

// Follow a moment for at most `length` s, up to the first change of mode or the end of a life.
// `lives` has the share used, a branch each (or null); `longest` bounds a step. Yields what is reached.
function follow(now, length, nominal, lives, h = 1e-3, longest = Infinity) {
  const scale = scales(now, nominal);
  let time = 0, rate = lives && lifeRates(now);
  for (let count = 0; count < 4000 && time < length; count++) {
    const first = motion(now, true);
    if (!first) return { now, time, h, stuck: true };
    const ended = ending(now, first.volts);
    if (ended.length) return { now, time, h, ended };
    h = Math.min(h, length - time, longest);
    const done = stepped(now, h, scale, first);
    if (!done || (done.error > ROUGH && h > 1e-7)) {
      h *= done ? Math.max(0.2, 0.8 * Math.sqrt(ROUGH / done.error)) : 0.2;
      continue;
    }
    const next = moment(now.net, now.modes, done.states), there = motion(next, false);
    if (!there) return { now, time, h, stuck: true };
    if (h > SWITCH_WITHIN && ending(next, there.volts).length) { h = Math.max(h / 3, SWITCH_WITHIN * 0.9); continue; }
    if (lives) {
      const after = lifeRates(next, there.volts);
      const soonest = Math.min(...lives.map((used, k) => (1 - used) / Math.max((rate[k] + after[k]) / 2, 1e-300)));
      if (h > 1e-4 && soonest < 0.999 * h) { h = Math.max(soonest, 1e-4); continue; }
      for (let k = 0; k < lives.length; k++) lives[k] += h * (rate[k] + after[k]) / 2;
      rate = after;
      const over = lives.map((used, k) => (used >= 0.9999 ? k : -1)).filter((k) => k >= 0);
      if (over.length) return { now: next, time: time + h, h, over };
    }
    now = next;
    time += h;
    h *= Math.min(3, 0.85 * Math.sqrt(ROUGH / Math.max(done.error, 1e-9)));
  }
  return { now, time, h };
}

// Share of life used per second of every branch: by the voltage or by the state, whichever is sooner.
function lifeRates(now, volts) {
  const seen = volts || motion(now, false).volts;
  return now.net.branches.map((b, k) => {
    const mode = b.law.modes[now.modes[k]], byVolts = mode.volts.goto(seen[k]).value(VOLTS.life);
    const byState = mode.state ? mode.state.goto(now.states[k]).value(STATE.life) : -60;
    const log = Math.max(byVolts, byState);
    return log > -50 ? Math.exp(log) : 0;
  });
}
