// The picture of the star point, true to scale: lines as corners, where the star point would have to be, where it is.

const SVG = "http://www.w3.org/2000/svg";

function drawn(parent, name, attributes = {}, text = null) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text !== null) node.textContent = text;
  parent.appendChild(node);
  return node;
}

const set = (node, attributes) => { for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value); };
const PATTERN = { L1: "", L2: "14 6", L3: "4 5" };

class StarPicture {
  constructor(held, root) {
    this.held = held;
    this.root = root;
    this.trail = [];
    const { lines } = held.supply;
    const pattern = drawn(drawn(root, "defs"), "pattern", { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse",
      patternTransform: "rotate(45)" });
    drawn(pattern, "line", { x1: 0, y1: 0, x2: 0, y2: 7, class: "hatch" });
    this.rings = lines.map(() => drawn(root, "path", { class: "ring" }));
    this.frame = drawn(root, "path", { class: "frame" });
    this.trailLine = drawn(root, "polyline", { class: "trail" });
    this.middle = drawn(root, "path", { class: "middle" });
    this.strings = lines.map((line) => drawn(root, "line", { class: `string ${line}`, "stroke-dasharray": PATTERN[line] }));
    this.weights = lines.map((line) => drawn(root, "circle", { class: `weight ${line}` }));
    this.names = lines.map((line) => drawn(root, "text", { class: "corner" }, line));
    this.figures = lines.map(() => drawn(root, "text", { class: "figure" }));
    this.kept = drawn(root, "path", { class: "kept" });
    this.ghosts = drawn(root, "g");
    this.star = drawn(root, "g", { class: "star" });
    drawn(this.star, "circle", { r: 11, class: "halo" });
    drawn(this.star, "circle", { r: 7 });
    drawn(this.star, "text", { x: 15, y: 5, class: "corner" }, "N");
    this.scale = drawn(root, "path", { class: "scale" });
    this.scaleWords = drawn(root, "text", { class: "mark" });
  }

  // Nothing is known: no star point, no figures.
  blank() {
    for (const node of [this.star, ...this.strings, ...this.figures]) set(node, { visibility: "hidden" });
    this.ghosts.replaceChildren();
  }

  // `view`: what page.js shows. Nothing of the star is drawn while the readings are hidden.
  show(view) {
    const { held } = this, point = view.reading.points[view.point], hidden = view.hidden;
    const { lines, phasors, nominal, system, band } = held.supply;
    const split = system === "split-phase", reach = split ? 1.25 * nominal : 1.18 * nominal;
    const far = [point.star, ...view.ghosts.map((g) => g.star), view.kept && view.kept.star].filter((z) => z && !hidden);
    const size = Math.max(reach, ...far.map((z) => 1.12 * Math.hypot(...z)));
    const width = 520, height = split ? 200 : 470, per = (split ? 0.42 * width : 0.44 * height) / size;
    const centre = [width / 2, split ? height / 2 : height * (size > reach ? 0.5 : 0.565)];
    const place = ([re, im]) => (split ? [centre[0] - re * per, centre[1] + im * per] :
      [centre[0] - im * per, centre[1] - re * per]);
    set(this.root, { viewBox: `0 0 ${width} ${height}` });
    const corners = lines.map((line) => place(point.corners[line] || phasors[line]));
    set(this.frame, { d: `M${corners.map((c) => c.map((x) => x.toFixed(1)).join()).join("L")}Z` });
    lines.forEach((line, k) => {
      const there = point.corners[line] !== undefined && point.corners[line] !== null;
      const [x, y] = corners[k], out = band.high * nominal * per, inner = band.low * nominal * per;
      const circle = (r) => `M${x - r},${y}a${r},${r} 0 1,0 ${2 * r},0a${r},${r} 0 1,0 ${-2 * r},0Z`;
      set(this.rings[k], { d: circle(out) + circle(inner) });
      const away = Math.hypot(x - centre[0], y - centre[1]) || 1, dx = (x - centre[0]) / away, dy = (y - centre[1]) / away;
      set(this.names[k], { x: x + 24 * dx - 9, y: y + (split ? -26 : 24 * dy) + 6 });
      set(this.weights[k], { cx: x, cy: y, r: Math.max(3, 20 * Math.sqrt(view.share[k] || 0)),
        class: `weight ${line}${there ? "" : " off"}` });
      const visible = !hidden && point.star && there;
      set(this.strings[k], { visibility: visible ? "visible" : "hidden" });
      set(this.figures[k], { visibility: visible ? "visible" : "hidden" });
      if (!visible) return;
      const [sx, sy] = place(point.star);
      set(this.strings[k], { x1: x, y1: y, x2: sx, y2: sy });
      // Beside its string, on the side away from the middle.
      const length = Math.hypot(sx - x, sy - y) || 1, share = split ? 0.5 : 0.4;
      let [nx, ny] = [-(sy - y) / length, (sx - x) / length];
      if (nx * (x - centre[0]) + ny * (y - centre[1]) < 0 || (split && ny > 0)) [nx, ny] = [-nx, -ny];
      const fx = x + share * (sx - x) + 12 * nx, fy = y + share * (sy - y) + (split ? 16 : 14) * ny + 6;
      set(this.figures[k], { x: fx, y: fy, "text-anchor": split ? "middle" : nx < -0.25 ? "end" : nx > 0.25 ? "start" :
        "middle" });
      this.figures[k].textContent = volts(point.lines[line]);
    });
    const [mx, my] = place([0, 0]);
    set(this.middle, { d: `M${mx - 6},${my}h12M${mx},${my - 6}v12` });
    const seen = !hidden && point.star;
    set(this.star, { visibility: seen ? "visible" : "hidden" });
    if (seen) set(this.star, { transform: `translate(${place(point.star).map((v) => v.toFixed(1)).join()})` });
    this.trail = view.moving && seen ? [...this.trail.slice(-240), place(point.star)] : [];
    set(this.trailLine, { points: this.trail.map((z) => z.map((v) => v.toFixed(1)).join()).join(" ") });
    const kept = view.kept && view.kept.star && !hidden ? place(view.kept.star) : null;
    set(this.kept, { d: kept ? `M${kept[0] - 8},${kept[1]}l8,-8l8,8l-8,8Z` : "" });
    this.ghosts.replaceChildren();
    for (const g of hidden ? [] : view.ghosts) {
      if (!g.star) continue;
      const [x, y] = place(g.star);
      drawn(this.ghosts, "circle", { cx: x, cy: y, r: 8, class: "ghost" });
      drawn(this.ghosts, "text", { x: x + 12, y: y + 5, class: "mark" }, g.letter);
    }
    const bar = (nominal > 150 ? 100 : 50) * per;
    set(this.scale, { d: `M14,${height - 14}h${bar.toFixed(1)}M14,${height - 19}v10M${(14 + bar).toFixed(1)},${height - 19}v10` });
    set(this.scaleWords, { x: 14, y: height - 24 });
    this.scaleWords.textContent = nominal > 150 ? "100 V" : "50 V";
  }
}

// The same in words, for those who do not see it.
function starWords(held, view) {
  const point = view.reading.points[view.point], split = held.supply.system === "split-phase";
  const drawnAs = split ? "The line between L1 and L2, true to scale, with the supply's centre tap in the middle." :
    "The voltage triangle, true to scale.";
  if (view.hidden) return `${drawnAs} The readings are hidden: predict first.`;
  if (!point.star) return `${drawnAs} The neutral has no defined potential: no place can be given for it.`;
  const lines = Object.entries(point.lines).map(([line, x]) => lineWords(held, line, x, point.alive[line])).join("; ");
  const others = view.ghosts.length ?
    ` ${view.ghosts.length} more settled state${view.ghosts.length > 1 ? "s" : ""}: ${view.ghosts.map((g) => g.letter).join(", ")}.` : "";
  return `${drawnAs} The neutral is ${volts(point.shift)} from the middle. ${lines}.${others}`;
}
