"use strict";
// What the framework does not do by itself: keys for saving, undoing and the parts; the star picture.

window.lostneutralStar = (held) => {
  const svg = document.getElementById("star"), words = document.getElementById("star-words");
  if (!svg || !window.lostneutralDraw) return;
  const said = window.lostneutralDraw(svg, held.held, held.view);
  if (words) words.textContent = `At ${held.point}. ${said}`;
};

document.addEventListener("keydown", (event) => {
  const command = event.ctrlKey || event.metaKey, key = event.key.toLowerCase();
  const typing = ["INPUT", "TEXTAREA"].includes(event.target.tagName) && event.target.type !== "radio";
  if (command && key === "s") { event.preventDefault(); emitEvent("desk-save"); }
  else if (command && !typing && key === "z") { event.preventDefault(); emitEvent(event.shiftKey ? "desk-redo" : "desk-undo"); }
  else if (command && !typing && key === "y") { event.preventDefault(); emitEvent("desk-redo"); }
  else if (event.altKey && !command && ["1", "2", "3", "4"].includes(event.key)) { event.preventDefault(); emitEvent("desk-part", event.key); }
});
