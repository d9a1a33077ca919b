// The wiring as nodal equations: nodes, what ties them down, linear solves, Newton's method for settled states.

function union(count) {
  const parent = Int32Array.from({ length: count }, (_, i) => i);
  const find = (x) => {
    while (parent[x] !== x) x = parent[x] = parent[parent[x]];
    return x;
  };
  return { find, join: (a, b) => { parent[find(a)] = find(b); } };
}

// The circuit of a setting: {ohms, electrodes, loads: [{times, fails}]}; `sound`: with no conductor broken.
function network(held, laws, setting, sound = false) {
  const w = held.wiring, same = union(w.terminals), tied = union(w.terminals);
  const elements = (sound && w.before ? w.before : w.after).map(([a, b, re, im]) => ({ a, b, re, im }));
  const joint = sound ? w.joint_before : w.joint;
  const ohms = sound ? 0 : setting.ohms;
  let through = null;
  if (joint && ohms !== Infinity) {
    through = { a: joint[0], b: joint[1], re: joint[2] + ohms, im: joint[3] };
    elements.push(through);
  }
  w.electrodes.forEach((e, k) => {
    if (setting.electrodes[k] !== Infinity) elements.push({ a: e.a, b: e.b, re: setting.electrodes[k], im: 0 });
  });
  const branches = [];
  for (const [a, b, load] of w.branches) {
    const set = setting.loads[load], row = held.loads[load], law = laws[row.set];
    if (!set.times) continue;
    if (set.failed === "open") continue;
    if (set.failed === "short") elements.push({ a, b, re: row.short / (row.count * set.times), im: 0, load });
    else if (law.short) elements.push({ a, b, re: 0, im: 0, load });
    else branches.push({ a, b, load, law, count: row.count * set.times });
  }
  for (const e of elements) if (e.re === 0 && e.im === 0) same.join(e.a, e.b);
  const volts = new Map();
  for (const [terminal, [re, im]] of w.sources.map(([t, ...z]) => [t, z])) {
    const root = same.find(terminal), there = volts.get(root);
    if (there && (there[0] !== re || there[1] !== im)) return { problem: true };
    volts.set(root, [re, im]);
  }
  for (const e of [...elements, ...branches]) tied.join(same.find(e.a), same.find(e.b));
  for (let t = 0; t < w.terminals; t++) tied.join(t, same.find(t));
  const held_ = new Set([...volts.keys()].map((root) => tied.find(root)));
  const node = new Int32Array(w.terminals).fill(-1), number = new Map();
  for (let t = 0; t < w.terminals; t++) {
    const root = same.find(t);
    if (!held_.has(tied.find(root)) || volts.has(root)) continue;
    if (!number.has(root)) number.set(root, number.size);
    node[t] = number.get(root);
  }
  const n = number.size, fixed = [...volts.keys()];
  for (let t = 0; t < w.terminals; t++) {
    const at = fixed.indexOf(same.find(t));
    if (at >= 0) node[t] = n + at;
  }
  const size = n + fixed.length, re = new Float64Array(size), im = new Float64Array(size);
  fixed.forEach((root, k) => { [re[n + k], im[n + k]] = volts.get(root); });
  const island = Int32Array.from({ length: w.terminals }, (_, t) => (node[t] < 0 ? tied.find(t) : -1));
  const net = {
    n, size, node, island, start: { re, im }, through: through && { ...through },
    branches: branches.filter((b) => node[b.a] >= 0).map((b) => ({ ...b, p: node[b.a], q: node[b.b] })),
    linear: { re: new Float64Array(size * size), im: new Float64Array(size * size) },
  };
  for (const e of elements) {
    const square = e.re * e.re + e.im * e.im;
    if (square > 0 && node[e.a] >= 0) stamp(net.linear, size, node[e.a], node[e.b], e.re / square, -e.im / square);
  }
  // A joint without any impedance: its current is what the terminals joined to its far end take.
  if (through && through.re === 0 && through.im === 0) {
    const apart = union(w.terminals);
    for (const e of elements) if (e !== through && e.re === 0 && e.im === 0) apart.join(e.a, e.b);
    const far = (t) => apart.find(t) === apart.find(through.b);
    net.through.taking = far(through.a) ? null : [...elements.filter((e) => e.re !== 0 || e.im !== 0),
      ...net.branches.map((b, k) => ({ ...b, k }))]
      .filter((e) => node[e.a] >= 0 && far(e.a) !== far(e.b)).map((e) => ({ e, sign: far(e.a) ? 1 : -1 }));
  }
  net.unique = net.branches.every((b) => b.law.rising);
  return net;
}

function stamp(y, size, p, q, re, im) {
  for (const [i, k, sign] of [[p, p, 1], [q, q, 1], [p, q, -1], [q, p, -1]]) {
    y.re[i * size + k] += sign * re;
    y.im[i * size + k] += sign * im;
  }
}

const copied = (v) => ({ re: v.re.slice(), im: v.im.slice() });

// Factor the real n x n matrix `a` (rows one after another) in place; null where it is singular.
function factored(a, n) {
  const order = Int32Array.from({ length: n }, (_, i) => i);
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(a[i * n + k]) > Math.abs(a[best * n + k])) best = i;
    if (!(Math.abs(a[best * n + k]) > 0)) return null;
    if (best !== k) {
      for (let j = 0; j < n; j++) { const t = a[k * n + j]; a[k * n + j] = a[best * n + j]; a[best * n + j] = t; }
      const t = order[k]; order[k] = order[best]; order[best] = t;
    }
    for (let i = k + 1; i < n; i++) {
      const f = a[i * n + k] /= a[k * n + k];
      if (f !== 0) for (let j = k + 1; j < n; j++) a[i * n + j] -= f * a[k * n + j];
    }
  }
  return { a, n, order };
}

function solved({ a, n, order }, right) {
  const x = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let sum = right[order[i]];
    for (let j = 0; j < i; j++) sum -= a[i * n + j] * x[j];
    x[i] = sum;
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let j = i + 1; j < n; j++) x[i] -= a[i * n + j] * x[j];
    x[i] /= a[i * n + i];
  }
  return x;
}

// The nodal matrix of the free nodes as a real one of twice the size, with load k at admittance y[k].
function nodal(net, y) {
  const { n, size, linear } = net, m = 2 * n, total = { re: linear.re.slice(), im: linear.im.slice() };
  net.branches.forEach((b, k) => stamp(total, size, b.p, b.q, y[k][0], y[k][1]));
  const a = new Float64Array(m * m);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const re = total.re[i * size + j], im = total.im[i * size + j];
      a[i * m + j] = a[(i + n) * m + j + n] = re;
      a[i * m + j + n] = -im;
      a[(i + n) * m + j] = im;
    }
  }
  return { total, factors: factored(a, m) };
}

// Voltages of all nodes with load k at admittance y[k], and the factors; null where nothing decides them.
function linearVoltages(net, y) {
  const { n, size, start } = net, { total, factors } = nodal(net, y);
  if (!factors) return null;
  const right = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    for (let j = n; j < size; j++) {
      right[i] -= total.re[i * size + j] * start.re[j] - total.im[i * size + j] * start.im[j];
      right[i + n] -= total.re[i * size + j] * start.im[j] + total.im[i * size + j] * start.re[j];
    }
  }
  const x = solved(factors, right), v = copied(start);
  for (let i = 0; i < n; i++) { v.re[i] = x[i]; v.im[i] = x[i + n]; }
  return { v, factors };
}

const across = (v, b) => [v.re[b.p] - v.re[b.q], v.im[b.p] - v.im[b.q]];

// Settled admittance of every load at `volts`, in its mode.
function settledAt(net, modes, volts) {
  return net.branches.map((b, k) => {
    const c = b.law.modes[modes[k]].volts.goto(volts[k]);
    return [b.count * c.value(VOLTS.re), b.count * c.value(VOLTS.im)];
  });
}

const SOLVED = 1e-8; // of the largest current

function imbalance(net, modes, v) {
  const { n, size, linear } = net, f = new Float64Array(2 * n), seen = [];
  let largest = 1e-9, rounding = 0;
  for (let i = 0; i < n; i++) {
    let flows = 0;
    for (let j = 0; j < size; j++) {
      const re = linear.re[i * size + j], im = linear.im[i * size + j];
      if (re === 0 && im === 0) continue;
      f[i] += re * v.re[j] - im * v.im[j];
      f[i + n] += re * v.im[j] + im * v.re[j];
      flows += (Math.abs(re) + Math.abs(im)) * (Math.abs(v.re[j]) + Math.abs(v.im[j]));
    }
    rounding = Math.max(rounding, 1e-14 * flows);
  }
  net.branches.forEach((b, k) => {
    const [ur, ui] = across(v, b), size_ = Math.hypot(ur, ui), c = b.law.modes[modes[k]].volts.goto(size_);
    const yr = b.count * c.value(VOLTS.re), yi = b.count * c.value(VOLTS.im);
    const ir = yr * ur - yi * ui, ii = yr * ui + yi * ur;
    seen.push([ur, ui, size_, yr, yi, b.count * c.slope(VOLTS.re), b.count * c.slope(VOLTS.im)]);
    largest = Math.max(largest, Math.hypot(ir, ii));
    if (b.p < n) { f[b.p] += ir; f[b.p + n] += ii; }
    if (b.q < n) { f[b.q] -= ir; f[b.q + n] -= ii; }
  });
  let worst = 0, square = 0;
  for (let i = 0; i < n; i++) {
    const part = f[i] * f[i] + f[i + n] * f[i + n];
    worst = Math.max(worst, Math.sqrt(part));
    square += part;
  }
  return { f, seen, largest, worst, square, good: worst <= SOLVED * largest + rounding };
}

function slopes(net, seen) {
  const { n, size, linear } = net, m = 2 * n, a = new Float64Array(m * m);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const re = linear.re[i * size + j], im = linear.im[i * size + j];
      a[i * m + j] = a[(i + n) * m + j + n] = re;
      a[i * m + j + n] = -im;
      a[(i + n) * m + j] = im;
    }
  }
  net.branches.forEach((b, k) => {
    const [ur, ui, u, yr, yi, sr, si] = seen[k], d = Math.max(u, 1e-12);
    const tr = (sr * ur - si * ui) / d, ti = (sr * ui + si * ur) / d;
    const block = [[0, 0, yr + tr * ur], [0, n, -yi + tr * ui], [n, 0, yi + ti * ur], [n, n, yr + ti * ui]];
    for (const [row, column, value] of block) {
      for (const [i, j, sign] of [[b.p, b.p, 1], [b.q, b.q, 1], [b.p, b.q, -1], [b.q, b.p, -1]]) {
        if (i < n && j < n) a[(i + row) * m + j + column] += sign * value;
      }
    }
  });
  return a;
}

// Newton's method from the voltages `from`; the step is halved until the imbalance falls. null if it does not get there.
function newton(net, modes, from) {
  let v = copied(from), now = imbalance(net, modes, v);
  const { n } = net;
  for (let round = 0; round < 80; round++) {
    if (n === 0 || now.worst <= 1e-12 * now.largest) break;
    const factors = factored(slopes(net, now.seen), 2 * n);
    if (!factors) break;
    const step = solved(factors, now.f);
    let length = 1, next = null, trial = null;
    for (; length > 1e-5; length /= 2) {
      trial = copied(v);
      for (let i = 0; i < n; i++) { trial.re[i] -= length * step[i]; trial.im[i] -= length * step[i + n]; }
      next = imbalance(net, modes, trial);
      if (next.square < now.square * (1 - 1e-4 * length)) break;
      next = null;
      if (now.good) break;
    }
    if (!next) break;
    v = trial;
    now = next;
  }
  return now.good ? v : null;
}

const sizes = (net, v) => net.branches.map((b) => Math.hypot(...across(v, b)));
