// The sliders of resistances: sound, then by ratio, then open (an electrode: none).

const END = 40, STEPS = 1000; // of the slider: what stands for sound and for open at its ends

function placeOf(ohms, { least, most }) {
  if (ohms === 0) return 0;
  if (ohms === Infinity) return STEPS;
  const share = Math.log(Math.min(Math.max(ohms, least), most) / least) / Math.log(most / least);
  return Math.round(END + (STEPS - 2 * END) * share);
}

function ohmsAt(place, { least, most }) {
  if (place < END) return 0;
  if (place > STEPS - END) return Infinity;
  return Number((least * (most / least) ** ((place - END) / (STEPS - 2 * END))).toPrecision(2));
}

// The controls of the joint and of the electrodes. `act.resistances({ohms, electrodes}, done)`.
class JointControls {
  constructor(held, act) {
    const at = (id) => document.getElementById(id);
    this.held = held;
    this.range = held.sliders.ohms;
    this.slider = at("joint");
    this.output = at("joint-ohms");
    this.sound = at("joint-sound");
    this.open = at("joint-open");
    at("joint-words").textContent = `In the ${held.joint.words}.`;
    this.sound.onclick = () => act.resistances({ ohms: 0 }, true);
    this.open.onclick = () => act.resistances({ ohms: Infinity }, true);
    this.slider.oninput = () => act.resistances({ ohms: ohmsAt(Number(this.slider.value), this.range) }, false);
    this.slider.onchange = () => act.resistances({ ohms: ohmsAt(Number(this.slider.value), this.range) }, true);
    this.earth = { least: 0.5, most: 5000 };
    this.electrodes = held.wiring.electrodes.map((e, k) => {
      const id = `electrode-${k}`, slider = made("input", { type: "range", id, min: END, max: STEPS, step: 1 }),
        output = made("output", { for: id });
      const take = (done) => act.resistances({ electrode: [k, ohmsAt(Number(slider.value), this.earth)] }, done);
      slider.oninput = () => take(false);
      slider.onchange = () => take(true);
      at("electrodes").append(made("div", { class: "wide" }, made("span", {},
        made("label", { for: id, textContent: `Earth electrode at ${e.at}` }), output), slider));
      return { slider, output };
    });
    at("also").replaceChildren(...held.also.map((text) => made("li", { textContent: `Also, by the case: ${text}.` })));
  }

  show(setting) {
    const words = ohmWords(setting.ohms);
    this.output.textContent = words;
    this.slider.setAttribute("aria-valuetext", words);
    if (document.activeElement !== this.slider || ohmsAt(Number(this.slider.value),
      this.range) !== setting.ohms) this.slider.value = placeOf(setting.ohms, this.range);
    this.sound.setAttribute("aria-pressed", String(setting.ohms === 0));
    this.open.setAttribute("aria-pressed", String(setting.ohms === Infinity));
    this.electrodes.forEach(({ slider, output }, k) => {
      output.textContent = electrodeWords(setting.electrodes[k]);
      slider.setAttribute("aria-valuetext", output.textContent);
      if (ohmsAt(Number(slider.value), this.earth) !== setting.electrodes[k]) slider.value = placeOf(setting.electrodes[k],
        this.earth);
    });
  }
}
