// A case that is answered by waveforms: the picture and the figures that were calculated, nothing to change.

function showFixed(held) {
  const at = (id) => document.getElementById(id), { fixed } = held;
  for (const part of document.querySelectorAll("main > *")) part.hidden = !["sheet-fixed", "sheet-report",
    "cautions"].includes(part.id);
  at("sheet-fixed").hidden = false;
  // As an image: whatever stands in it, it is only looked at.
  at("fixed-picture").append(made("img", { src: `data:image/svg+xml,${encodeURIComponent(fixed.picture)}`,
    alt: "Voltages over time, described below", "aria-describedby": "fixed-words" }));
  at("fixed-words").textContent = fixed.words;
  const table = (id, caption, head, rows) => {
    at(id).append(made("caption", { textContent: caption }), made("thead", {},
      made("tr", {}, ...head.map((text) => made("th", { scope: "col", textContent: text })))),
      made("tbody", {}, ...rows.map((row) => made("tr", {}, ...row.map((cell, k) =>
        made(k ? "td" : "th", { textContent: cell, ...(k ? {} : { scope: "row" }) }))))));
  };
  table("fixed-lines", "Line to neutral, r.m.s., by calculation", ["Line", "V", "Against the limits"],
    fixed.phases.map(([name, x, word]) => [name, volts(x), word]));
  table("fixed-items", "Items, by calculation, if this lasts", ["Item", "Between", "V", "Effect"],
    fixed.rows.map(([name, between, x, outcome]) => [name, between, volts(x), held.outcomes[outcome] || outcome]));
}
