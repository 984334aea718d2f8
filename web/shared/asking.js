// Keeps asking the web process for whatever is newer than what the page has, one question at a time.
// The web process never sends anything unasked, so a slow page is at most one answer behind.

const GIVE_UP_MS = 5000;
const PAUSE_WHILE_HIDDEN_MS = 1000;
const RETRY_MS = 250;
const REFUSED_MS = 3000;

export class Asking {
  // `onAnswer` gets each answer. `wantsConsole` tells whether the page shows the console: if it doesn't, the page
  // doesn't ask for its rows.
  constructor(onAnswer, wantsConsole) {
    this.onAnswer = onAnswer;
    this.wantsConsole = wantsConsole;
    this.has = { stream: "", after: 0, news: 0 };
    this.hasConsole = true;
    this.lastAnswer = performance.now();
    this.turn = 0;
    this.busy = false;
    this.socket = io({ transports: ["websocket"], reconnectionDelay: 200, reconnectionDelayMax: 1000 });
    this.socket.on("connect", () => {
      this.busy = false;
      this.ask();
    });
    // The library makes broken connections anew by itself, but not those that the web process has refused or ended.
    for (const event of ["connect_error", "disconnect"]) {
      this.socket.on(event, () => {
        if (!this.socket.active) setTimeout(() => this.socket.connect(), REFUSED_MS);
      });
    }
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.ask();
    });
  }

  ask() {
    if (this.busy || !this.socket.connected) return;
    this.busy = true;
    const turn = ++this.turn;
    const console = this.wantsConsole();
    // The answers so far lack the console's rows if they were not asked for: then ask for everything again.
    const has = console && !this.hasConsole ? { ...this.has, after: 0 } : this.has;
    this.hasConsole = console;
    this.socket.timeout(GIVE_UP_MS).emit("ask", { ...has, console }, (timedOut, answer) => {
      if (turn !== this.turn) return;
      this.busy = false;
      if (timedOut) {
        // After the connection is dropped the library makes a new one by itself, as it does when one breaks.
        if (this.socket.connected) this.socket.io.engine.close();
        return;
      }
      this.take(answer);
    });
  }

  take(answer) {
    if (typeof answer?.stream !== "string" || typeof answer.badge?.name !== "string") {
      setTimeout(() => this.ask(), RETRY_MS);
      return;
    }
    this.lastAnswer = performance.now();
    this.onAnswer(answer);
    const seq = answer.picture ? answer.picture.seq : 0;
    this.has = { stream: answer.stream, after: seq, news: answer.news };
    if (document.hidden) setTimeout(() => this.ask(), PAUSE_WHILE_HIDDEN_MS);
    else this.ask();
  }

  silentMs() {
    return performance.now() - this.lastAnswer;
  }

  control(request) {
    if (this.socket.connected) this.socket.timeout(GIVE_UP_MS).emit("control", request, () => {});
  }
}
