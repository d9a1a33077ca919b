// The course in time: the circuit moving, life used up, items that fail, what happened when.

const PACES = [[0, "Settled"], [0.1, "10 × slower"], [1, "Real time"], [60, "1 s is 1 min"], [3600, "1 s is 1 h"]];
const BUDGET = 9; // ms of one frame that may go into the course
const MOST_SWITCHED = 40; // changes of mode within one frame

class Clock {
  constructor(model) {
    this.model = model;
    this.anew();
  }

  anew() {
    this.failed = [];
    this.used = new Map(); // load branch -> share of life used
    this.log = [];
    this.time = 0;
    this.now = null;
    this.h = 1e-3;
  }

  // Go on in the circuit of `setting`, from the states so far, or from the settled moment `from`.
  rewire(setting, from) {
    const net = this.model.network(setting, this.failed);
    if (net.problem) { this.now = null; return; }
    this.now = carried(net, this.now ? { net: this.now.net, modes: this.now.modes, states: this.now.states } : from);
    this.setting = setting;
    this.h = 1e-3;
  }

  key(b) {
    return `${b.load}/${b.a}/${b.b}`;
  }

  // Let `seconds` of the circuit's time go by; returns false where nothing decides the voltages any more.
  go(seconds, budget = BUDGET) {
    const until = performance.now() + budget;
    let left = seconds;
    for (let count = 0; left > 1e-9 && count < MOST_SWITCHED && this.now && performance.now() < until; count++) {
      const { branches } = this.now.net, lives = branches.map((b) => this.used.get(this.key(b)) || 0);
      const part = follow(this.now, left, this.model.nominal, lives, this.h);
      this.now = part.now;
      this.h = part.h;
      left -= part.time;
      this.time += part.time;
      branches.forEach((b, k) => this.used.set(this.key(b), lives[k]));
      if (part.stuck) return false;
      if (part.ended) {
        for (const [k, to] of part.ended) this.say(`${this.name(branches[k])}: ${this.model.held.turns[to] || to}`);
        this.now = switchModes(this.now, part.ended);
      }
      for (const k of part.over || []) this.fail(branches[k].load);
    }
    return true;
  }

  name(b) {
    return this.model.held.loads[b.load].name;
  }

  say(text) {
    this.log.push(`${this.time < 0.05 ? "at once" : duration(this.time)}: ${text}`);
    if (this.log.length > 60) this.log.shift();
  }

  // A load has used its life up: it fails open, or short, and what feeds a short opens where it carries too much.
  fail(load) {
    if (this.failed[load]) return;
    const row = this.model.held.loads[load];
    this.failed[load] = row.ends;
    let how = `${row.ends}-circuit`;
    this.rewire(this.setting);
    if (row.ends === "short" && this.now) {
      const seen = motion(this.now, false), at = this.now.net;
      const most = Math.max(...this.model.held.wiring.branches.filter(([, , l]) => l === load).map(([a, b]) =>
        (seen && at.node[a] >= 0 && at.node[b] >= 0
        ? Math.hypot(seen.v.re[at.node[a]] - seen.v.re[at.node[b]],
          seen.v.im[at.node[a]] - seen.v.im[at.node[b]]) * row.count * this.setting.times[load] / row.short : 0)));
      if (most > row.opens) {
        how += ", and what feeds it opens";
        this.failed[load] = "open";
        this.rewire(this.setting);
      }
    }
    this.say(`${row.name}: failure by calculation, ${how}: ${row.part}`);
  }
}
