// Play, pause, speed and place: shown in a replay only.

const RATES = [0.5, 1, 2, 5, 10, 20, 60, 600];

function clock(us) {
  const s = Math.floor(us / 1e6);
  const two = (n) => String(n).padStart(2, "0");
  return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
}

export class Controls {
  constructor(foot, request) {
    this.foot = foot;
    this.request = request;
    this.dragging = false;
  }

  paint(state, seq, words) {
    if (!state) return;
    if (this.locale !== words.locale) {
      this.locale = words.locale;
      this.foot.replaceChildren();
      this.build(words.controls);
    }
    const w = words.controls;
    this.playing = state.playing && !state.ended;
    const label = state.playing ? w.pause : w.play;
    if (this.play.textContent !== label) this.play.textContent = label;
    this.state = state;
    if (!this.dragging) {
      this.slider.max = String(Math.ceil(state.end_us / 1e6));
      this.slider.value = String(Math.floor(state.at_us / 1e6));
    }
    const text = w.of(clock(state.at_us), clock(state.end_us));
    this.slider.setAttribute("aria-valuetext", text);
    this.where.textContent = state.ended ? `${text}, ${w.ended}` : text;
    if (document.activeElement !== this.fact) this.fact.value = String(seq);
    this.fact.max = String(state.end_seq);
    if (document.activeElement !== this.rate) this.chooseRate(state.rate, w);
  }

  chooseRate(rate, w) {
    const value = rate === null ? "" : String(rate);
    if (![...this.rate.options].some((option) => option.value === value)) {
      this.rate.append(new Option(rate === null ? w.atOnce : w.times(rate), value));
    }
    this.rate.value = value;
  }

  build(w) {
    const make = (name, attributes = {}) => Object.assign(document.createElement(name), attributes);
    this.play = make("button", { type: "button", id: "play" });
    this.play.addEventListener("click", () => this.request({ do: this.state.playing ? "pause" : "play" }));
    this.slider = make("input", { type: "range", id: "place", min: "0", step: "1" });
    this.slider.setAttribute("aria-label", w.place);
    this.slider.addEventListener("input", () => (this.dragging = true));
    this.slider.addEventListener("change", () => {
      this.dragging = false;
      this.request({ do: "go to time", value: Number(this.slider.value) * 1e6 });
    });
    this.where = make("span", { id: "where" });
    this.rate = make("select", { id: "rate" });
    for (const rate of RATES) this.rate.append(new Option(w.times(rate), String(rate)));
    this.rate.addEventListener("change", () => {
      if (this.rate.value) this.request({ do: "rate", value: Number(this.rate.value) });
      this.rate.blur();
    });
    this.fact = make("input", { type: "number", id: "fact", min: "0", step: "1" });
    const go = make("button", { type: "submit", textContent: w.go });
    const form = make("form", { id: "go-to-fact" });
    form.append(this.labelled(w.fact, this.fact), go);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const value = Number(this.fact.value);
      this.fact.blur();
      go.focus();
      if (Number.isFinite(value) && value >= 0) this.request({ do: "go to fact", value });
    });
    this.foot.setAttribute("aria-label", w.head);
    this.foot.append(this.play, this.slider, this.where, this.labelled(w.rate, this.rate), form);
    this.foot.hidden = false;
  }

  labelled(text, field) {
    const label = document.createElement("label");
    label.append(`${text} `, field);
    return label;
  }
}
