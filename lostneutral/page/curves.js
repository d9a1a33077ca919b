// Curves as the page holds them: places, then values and slopes of each column; a cubic between two places.

class Curve {
  constructor([places, columns]) {
    this.places = Float64Array.from(places);
    this.columns = columns.map((c) => (typeof c === "number" ? c : [Float64Array.from(c[0]), Float64Array.from(c[1])]));
    this.at = 0;
    this.share = 0;
    this.length = 1;
    this.outside = false;
  }

  // Go to x; beyond the ends the curve keeps its last value. Then read columns with value and slope.
  goto(x) {
    const p = this.places, last = p.length - 1;
    this.outside = !(x > p[0] && x < p[last]);
    const inside = Math.min(Math.max(x, p[0]), p[last]);
    let low = 0, high = last - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (p[middle] <= inside) low = middle; else high = middle - 1;
    }
    this.at = low;
    this.length = p[low + 1] - p[low];
    this.share = (inside - p[low]) / this.length;
    return this;
  }

  value(column) {
    const c = this.columns[column];
    if (typeof c === "number") return c;
    const [y, m] = c, i = this.at, s = this.share, r = 1 - s, h = this.length;
    return (1 + 2 * s) * r * r * y[i] + s * r * r * h * m[i] + s * s * (3 - 2 * s) * y[i + 1] - s * s * r * h * m[i + 1];
  }

  slope(column) {
    const c = this.columns[column];
    if (typeof c === "number" || this.outside) return 0;
    const [y, m] = c, i = this.at, s = this.share, h = this.length;
    return 6 * s * (1 - s) * (y[i + 1] - y[i]) / h + (1 - s) * (1 - 3 * s) * m[i] - s * (2 - 3 * s) * m[i + 1];
  }
}

// Columns of the two kinds of curve.
const VOLTS = { re: 0, im: 1, state: 2, pace: 3, life: 5 };
const STATE = { re: 0, im: 1, pace: 2, life: 4, light: 5 };

// One set of curves: what a load's law is, mode by mode.
class Law {
  constructor(set) {
    this.short = Boolean(set.short);
    this.rising = Boolean(set.rising);
    this.outcomes = set.outcomes || [];
    this.modes = {};
    for (const [name, mode] of Object.entries(set.modes || {})) {
      this.modes[name] = {
        volts: new Curve(mode.volts), state: mode.state && new Curve(mode.state),
        exits: mode.exits, entered: mode.entered,
      };
    }
    this.first = Object.keys(this.modes)[0];
  }
}

const side = (limit, x) => limit === null || (limit[0] === "below" ? x <= limit[1] : x >= limit[1]);

// The mode that follows `mode` at this state and voltage, or null while it lasts.
function nextMode(mode, state, volts) {
  const over = mode.exits.find((e) => side(e.state, state) && side(e.volts, volts));
  return over ? over.to : null;
}
