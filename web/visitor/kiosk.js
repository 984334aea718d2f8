// A screen that many people share returns to its first state by itself: when nobody has touched it for a while, and at
// the end of a round. Somebody who reads keeps the language that he chose as long as he touches the screen now and then.

const READING_MS = 60000; // so long after a touch, somebody is still taken to be reading

export class Kiosk {
  // `goHome(everything)`: closes what was opened, and with `everything` also takes back what was chosen.
  constructor(goHome) {
    this.goHome = goHome;
    this.touched = performance.now();
    this.isHome = true;
    this.round = "";
    for (const event of ["pointerdown", "keydown", "wheel", "touchmove", "input"]) {
      addEventListener(event, () => this.touch(), { passive: true, capture: true });
    }
  }

  touch() {
    this.touched = performance.now();
    this.isHome = false;
  }

  untouchedMs() {
    return performance.now() - this.touched;
  }

  // To be called now and then. `screen` is null in a person's own browser, which never goes home by itself.
  look(screen, script, playsForOne) {
    const round = script?.round && !script.ended ? `${script.name} ${script.round}` : "";
    const roundIsOver = Boolean(this.round) && !round;
    this.round = round;
    if (!screen || playsForOne || this.isHome) return;
    if (this.untouchedMs() > screen.home_after_s * 1000) {
      this.isHome = true;
      this.goHome(true);
    } else if (roundIsOver && this.untouchedMs() > READING_MS) {
      this.goHome(false);
    }
  }
}
