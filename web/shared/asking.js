// Asks the web process for what is newer than what the page has: one question at a time, for ever.
// What is not asked for never comes, so a slow page is never behind by more than one answer.

const GIVE_UP_MS = 5000;
const HIDDEN_MS = 1000;
const AGAIN_MS = 250;

export class Asking {
  // `console` says whether the page shows the console: otherwise its rows aren't asked for.
  constructor(heard, console) {
    this.heard = heard;
    this.console = console;
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
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.ask();
    });
  }

  ask() {
    if (this.busy || !this.socket.connected) return;
    this.busy = true;
    const turn = ++this.turn;
    const console = this.console();
    // Rows that were not asked for are missing from all answers since: then everything is asked for anew.
    const has = console && !this.hasConsole ? { ...this.has, after: 0 } : this.has;
    this.hasConsole = console;
    this.socket.timeout(GIVE_UP_MS).emit("ask", { ...has, console }, (silence, answer) => {
      if (turn !== this.turn) return;
      this.busy = false;
      if (silence) {
        // The line is dropped, and the library makes a new one by itself, as it does when the line breaks.
        if (this.socket.connected) this.socket.io.engine.close();
        return;
      }
      this.take(answer);
    });
  }

  take(answer) {
    if (typeof answer?.stream !== "string" || typeof answer.badge?.name !== "string") {
      setTimeout(() => this.ask(), AGAIN_MS);
      return;
    }
    this.lastAnswer = performance.now();
    this.heard(answer);
    const seq = answer.picture ? answer.picture.seq : 0;
    this.has = { stream: answer.stream, after: seq, news: answer.news };
    if (document.hidden) setTimeout(() => this.ask(), HIDDEN_MS);
    else this.ask();
  }

  silentMs() {
    return performance.now() - this.lastAnswer;
  }

  control(wish) {
    if (this.socket.connected) this.socket.timeout(GIVE_UP_MS).emit("control", wish, () => {});
  }
}
