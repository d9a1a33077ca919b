// Figures and facts as short words. Nothing else on the page makes sentences of figures.

const whole = (x) => (x === null || x === undefined ? "no figure" : String(Math.round(x)));
const volts = (x) => (x === null || x === undefined ? "no figure" : `${whole(x)} V`);

function significant(x, unit, digits = 3) {
  if (x === null || x === undefined || !Number.isFinite(x)) return "no figure";
  if (Math.abs(x) < 1e-6) return `0 ${unit}`;
  const places = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(x))));
  const scale = 10 ** (Math.floor(Math.log10(Math.abs(x))) + 1 - digits);
  return `${(Math.round(x / scale) * scale).toFixed(Math.min(places, 6))} ${unit}`;
}

const ohmWords = (x) => (x === 0 ? "sound" : x === Infinity ? "open" : significant(x, "Ω", 2));
const electrodeWords = (x) => (x === Infinity ? "none" : significant(x, "Ω", 2));

function duration(seconds) {
  const [size, unit] = [[86400, "day"], [3600, "hour"], [60, "minute"],
    [1, "second"]].find(([s]) => seconds >= (s === 1 ? 0 : 2 * s));
  if (seconds > 365.25 * 86400) return "more than a year";
  const number = Number((seconds / size).toPrecision(2));
  return `${number} ${unit}${number === 1 ? "" : "s"}`;
}

// "over" | "within" | "under" | "none" | "floating" of volts against a rated or nominal value.
function verdict(held, x, rated) {
  const { band, none } = held.supply;
  if (x === null || x === undefined) return "floating";
  const ratio = x / rated;
  if (ratio > band.high * (1 + 1e-9)) return "over";
  if (ratio >= band.low * (1 - 1e-9)) return "within";
  return ratio >= none ? "under" : "none";
}

const VERDICTS = { over: "above limits", within: "within limits", under: "below limits", none: "no voltage",
  floating: "no defined potential" };

// Whether a conductor is live, by its volts to the supply's star point; one without a defined potential is taken to be.
const isLive = (held, x) => x === null || x === undefined || x > held.supply.touch;

// A line against the neutral. `alive`: volts of the line to the supply's star point.
function lineWords(held, name, x, alive) {
  const kind = verdict(held, x, held.supply.nominal);
  if (kind === "none") return `${name}: ${volts(x)}, ${held.none[isLive(held, alive)]}`;
  return kind === "floating" ? `${name} to neutral: no defined potential; a meter may show anything` :
    `${name}: ${volts(x)} to neutral, ${VERDICTS[kind]}`;
}

// An item without voltage: live or not by the lines that it is connected to. `point` of a reading.
const withoutVoltage = (held, load, point) =>
  held.none[load.connect.some((c) => point.alive[c] !== undefined && isLive(held, point.alive[c]))].replace(" to neutral", "");

const RISKS = ["fails", "stalls and overheats", "cannot be said", "stressed", "not known", "shortened life"];
const atRisk = (outcome) => RISKS.some((word) => outcome.startsWith(word));

// What `x` volts do to an item: {outcome, words, times: [earliest, central, latest] in s or null, part, mode, sure, basis}.
function outcomeAt(held, law, x) {
  if (x === null || x === undefined) return { outcome: "not known", words: held.outcomes["not known"], times: [null, null, null],
    basis: "no defined voltage" };
  const stretch = law.outcomes.find((s) => x <= s.to + 0.01) || law.outcomes[law.outcomes.length - 1];
  if (!stretch) return { outcome: "not known", words: held.outcomes["not known"], times: [null, null, null], basis: "" };
  const times = [null, null, null];
  if (stretch.volts) {
    const v = stretch.volts, last = v.length - 1;
    const at = Math.min(Math.max(v.findIndex((y) => y >= x), 1), last), i = x > v[last] ? last : Math.max(at, 0);
    const low = Math.max(i - 1, 0), share = v[i] > v[low] ? Math.min(Math.max((x - v[low]) / (v[i] - v[low]), 0), 1) : 0;
    for (let k = 0; k < 3; k++) {
      const a = stretch.times[low][k], b = stretch.times[i][k];
      times[k] = a === null || b === null ? null : 10 ** (a + share * (b - a));
    }
  }
  const said = (n) => held.said[n];
  return { outcome: stretch.outcome, words: held.outcomes[stretch.outcome] || stretch.outcome, times, part: said(stretch.part),
    mode: stretch.mode, burns: stretch.burns, sure: said(stretch.sure), basis: said(stretch.basis) };
}

// What an item comes to at the first of `volts`; where others are possible too and come to something else, that cannot be said.
function outcomeOf(held, law, [shown, ...others]) {
  const found = [shown, ...others].map((x) => outcomeAt(held, law, x));
  if (found.every((f) => f.outcome === found[0].outcome)) return found[0];
  const worst = found.sort((a, b) => held.order.indexOf(a.outcome) - held.order.indexOf(b.outcome))[0];
  return { ...worst, outcome: "cannot be said", worst: worst.outcome, times: [null, null, null],
    words: `${held.outcomes["cannot be said"]}; in the worst possible state: ${worst.words}` };
}

// A machine is an impedance on this page, which says nothing of what unequal lines do to it: heat, torque, the line that it holds up.
const onUnequalLines = { outcome: "cannot be said", words: "cannot be said on this page", times: [null, null, null], basis: "",
  why: "This page takes a machine as an impedance, which does not tell what unequal lines do to one: see the case as described, below, or analyse the case so changed." };

// A time with its range; where that is wider than two decades its early end alone.
function timeWords([early, central, late]) {
  if (central === null) return early === null ? "" : `possibly from ${duration(early)} on`;
  if (early !== null && (late === null ||
    late / early > 100)) return `possibly within ${duration(early)}; an upper end cannot be stated`;
  return `about ${duration(central)}` + (early !== null && late !== null ? ` (${duration(early)} to ${duration(late)})` : "");
}

// Whether an item may fail within days though that is not expected: at the early limit of its law it does.
const mayFail = (held, found) => found.outcome === "shortened life" && found.times[0] !== null && found.times[0] < held.days;

const connection = (load) => load.connect.join("–");
const limitsOf = (held, rated) =>
  `${whole(held.supply.band.low * rated)} to ${whole(held.supply.band.high * rated)} V, ${held.supply.band.name}`;

// Why an item is said to come to what it does, in sentences.
function whyWords(held, load, seen, found, share) {
  const said = [];
  if (seen.volts === null || seen.volts === undefined) return ["No defined voltage: no figure can be given."];
  if (found.why) return [`By calculation ${whole(seen.least)} to ${volts(seen.volts)} between two lines each; rated ${volts(load.rated)}.`, found.why];
  said.push(`By calculation ${volts(seen.volts)}, ${(seen.volts / load.rated).toFixed(2)} times the rated ${volts(load.rated)}: ${VERDICTS[verdict(held, seen.volts, load.rated)]} (limits: ${limitsOf(held, load.rated)}).`);
  if (share !== null) said.push(`${load.connect[0]} has ${Math.round(100 * share)} % of what is connected to this neutral, by conductance: the lighter its load, the higher its voltage once the neutral is lost.`);
  if (load.connect[1] !== "N" && load.connect.length === 2) said.push("Not connected to the neutral: losing the neutral alone changes little here.");
  if (seen.light !== undefined) said.push(`Light: ${significant(seen.light, "times rated", 2)}.`);
  else if (seen.power !== undefined &&
    seen.ratedPower > 0) said.push(`Power: ${significant(seen.power, "W", 2)}; at rated voltage ${significant(seen.ratedPower, "W", 2)}.`);
  const time = timeWords(found.times);
  if (found.outcome === "unharmed") said.push("No damage is expected from this condition alone. If there is damage, other causes should be investigated.");
  else if (mayFail(held, found)) said.push(`If this lasts: ${found.words}; failure within ${duration(found.times[0])} is possible.`);
  else if (found.outcome === "shortened life") said.push(`If this lasts: ${found.words}; failure within a week is unlikely.`);
  else said.push(`If this lasts: ${found.words}${time ? `, ${time}` : ""}.`);
  if (found.part) said.push(`Component to inspect: ${found.part}${found.mode ? ` (${found.mode}-circuit)` : ""}.`);
  if (found.sure) said.push(`How sure: ${found.sure}.`);
  if (found.basis) said.push(`Rests on: ${found.basis}.`);
  return said;
}

const LIGHT_WORDS = (held, x) => {
  const edge = held.supply.light;
  return x < edge.out ? "dark" : x < edge.unchanged_low ? "dim" : x <= edge.unchanged_high ? "as rated" : x <= edge.glaring ?
    "bright" : "glaring";
};

// What is shown, as sentences, the dangers first: neutral, metalwork, fire; then lines, current, what is most at risk. `view` comes from page.js.
function summary(held, view) {
  const said = [], point = worstOf(view), split = held.supply.system === "split-phase";
  const place = held.points[view.point].name, any = "has no defined potential and can take any voltage up to that of a line";
  if (view.setting.ohms > 0 || isLive(held, point.shift)) {
    said.push(["over", point.shift === null ? `The neutral at ${place} ${any}: treat it as live.` :
      `The neutral at ${place} is at ${view.possible.length > 1 ? "up to " : ""}about ${volts(point.shift)} to the ${split ? "supply's neutral point (centre tap)" : "supply's star point"}: treat it as live, whatever the figure.`]);
  }
  const pen = held.joint.pen && view.setting.ohms > 0 && held.points[view.point].behind;
  said.push(metalWords(held, point, place, any, pen));
  if (view.heat > held.supply.heat) said.push(["over",
    `Fire risk: the joint would dissipate about ${significant(view.heat, "W", 2)}, more than the ${significant(held.supply.heat, "W", 2)} that a joint can dissipate without damage.`]);
  for (const i of view.items) if (i.on && i.found.burns && ((i.found.worst || i.found.outcome).startsWith("fails") || mayFail(held, i.found))) said.push(["over",
    held.burning[i.found.burns].replace("{item}", i.name).replace("{figure}", `about ${volts(i.volts)}`)]);
  for (const [line, x] of Object.entries(point.lines)) said.push([verdict(held, x, held.supply.nominal),
    lineWords(held, line, x, point.alive[line])]);
  if (view.reading.neutral !== null) said.push(["",
    `Current in the ${held.joint.words}: ${significant(view.reading.neutral, "A")}.`]);
  const worst = view.items.filter((i) => i.on && !i.failed).sort((a, b) =>
    held.order.indexOf(a.found.outcome) - held.order.indexOf(b.found.outcome) ||
    (a.found.times[1] ?? Infinity) - (b.found.times[1] ?? Infinity) || b.ratio - a.ratio)[0];
  if (worst && atRisk(worst.found.outcome)) said.push(["over",
    `Most at risk: ${worst.name} (${volts(worst.volts)}; ${worst.found.words}).`]);
  else said.push(["", "By calculation no item is expected to fail in this setting. That does not make an installation safe."]);
  return said;
}

// What is shown of the place; where several states are possible the highest of each danger.
function worstOf(view) {
  const point = view.reading.points[view.point], all = view.possible.map((r) => r.points[view.point]);
  const most = (of) => all.reduce((high, p) => (high === undefined || of(p) === null || of(p) > high && high !== null ? of(p) : high), of(point));
  return { ...point, shift: most((p) => p.shift), metal: most((p) => p.metal) };
}

function metalWords(held, point, place, any, pen) {
  if (point.metal === undefined) return ["over", "How the metalwork is earthed is not known: treat it as live."];
  if (point.metal === null) return ["over", `Metalwork at ${place} ${any}: treat it as live.`];
  if (point.metal > held.supply.touch) return ["over",
    `Metalwork at ${place}: up to about ${volts(point.metal)} to earth outside. It can give a fatal shock.`];
  return [pen ? "over" : "",
    `Metalwork at ${place}: ${volts(point.metal)} to earth outside by calculation, if the earthing is sound, which has not been verified.${pen ? " Behind a broken PEN treat it as live whatever the figure." : ""}`];
}
