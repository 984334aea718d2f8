// What a visitor may choose for the eyes: larger type, and a second language under the first. It is kept in
// this page's memory alone. A screen's own address may say what it goes home to: ?size=2&second=de&lang=en

const SIZES = ["1", "2", "3"];

export class Choices {
  constructor(details, sheet, changed) {
    Object.assign(this, { details, sheet, changed });
    const wish = new URLSearchParams(location.search);
    this.homeSize = SIZES.includes(wish.get("size")) ? wish.get("size") : "1";
    this.homeSecond = wish.get("second"); // null: what the museum says
    this.homeLanguage = wish.get("lang") ?? "";
    this.size = this.homeSize;
    this.second = this.homeSecond;
    this.language = this.homeLanguage;
    this.setSize();
  }

  home() {
    this.second = this.homeSecond;
    this.language = this.homeLanguage;
    this.size = this.homeSize;
    this.setSize();
  }

  setSize() {
    document.documentElement.dataset.size = this.size;
  }

  // The second language, if there is one beside the first: "" for none.
  secondOf(recording, first) {
    const wanted = this.second ?? recording?.second_language ?? "";
    return wanted !== first && wanted in (recording?.languages ?? {}) ? wanted : "";
  }

  paint(recording, first, words) {
    const languages = Object.entries(recording?.languages ?? {});
    const second = this.secondOf(recording, first);
    const key = JSON.stringify([languages, first, second, this.size, words.locale]);
    if (this.sheet.dataset.key === key) return;
    this.sheet.dataset.key = key;
    this.details.querySelector("summary").textContent = words.choices;
    const focused = this.sheet.contains(document.activeElement) ? document.activeElement.dataset.choice : "";
    const sizes = SIZES.map((size, index) => this.button(`size-${size}`, words.sizes[index], size === this.size, () => this.choose({ size })));
    const groups = [this.group(words.textSize, sizes)];
    if (languages.length > 1) {
      const others = languages.filter(([tag]) => tag !== first).map(([tag, name]) => {
        const button = this.button(`second-${tag}`, name, tag === second, () => this.choose({ second: tag }));
        button.lang = tag;
        return button;
      });
      groups.push(this.group(words.secondLanguage, [this.button("second-none", words.noSecond, !second, () => this.choose({ second: "" })), ...others]));
    }
    this.sheet.replaceChildren(...groups);
    if (focused) this.sheet.querySelector(`[data-choice="${focused}"]`)?.focus();
  }

  choose(wish) {
    Object.assign(this, wish);
    this.setSize();
    this.changed();
  }

  group(name, buttons) {
    const group = document.createElement("div");
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", name);
    const head = document.createElement("span");
    head.textContent = name;
    group.append(head, ...buttons);
    return group;
  }

  button(choice, text, pressed, act) {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.choice = choice;
    button.textContent = text;
    button.setAttribute("aria-pressed", String(pressed));
    button.addEventListener("click", act);
    return button;
  }
}
