// What a visitor can choose: larger type, and a second language below the first. Only this page's memory keeps it.
// A screen's own address can say what the page returns to: ?size=2&second=de&lang=en

const SIZES = ["1", "2", "3"];

export class Choices {
  constructor(sheet, onChange) {
    Object.assign(this, { sheet, onChange });
    const address = new URLSearchParams(location.search);
    this.homeSize = SIZES.includes(address.get("size")) ? address.get("size") : "1";
    this.homeSecond = address.get("second"); // null: what the museum has set
    this.homeLanguage = address.get("lang") ?? "";
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

  // The second language, if one is shown below the first; "" for none.
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

  choose(choice) {
    Object.assign(this, choice);
    this.setSize();
    this.onChange();
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
