// How the page talks to the desk: it keeps asking for what is newer, one question at a time, and sends what people ask for.

const GIVE_UP_MS = 15_000; // the desk itself waits up to ten seconds for something newer
const RETRY_MS = 1000;
const RELOAD_MS = 3000;
const AFRESH = [401, 403, 409]; // nobody is signed in, the device isn't known, or this page is older than the desk's
const PAUSE_WHILE_HIDDEN_MS = 1000;

export class Asks {
  // `onAnswer` gets each answer.
  constructor(onAnswer) {
    this.onAnswer = onAnswer;
    this.token = document.querySelector('meta[name="token"]')?.content ?? "";
    this.has = { stream: "", after: 0, news: 0 };
    this.failing = 0; // since when nothing comes, by the page's clock; 0 while something does
    this.lastAnswer = performance.now();
  }

  async run() {
    for (;;) {
      await this.once();
      if (document.hidden) await pause(PAUSE_WHILE_HIDDEN_MS);
    }
  }

  async once() {
    const { status, answer } = await this.post("/today/ask", this.has);
    if (status === 200 && typeof answer?.badge?.name === "string") {
      this.failing = 0;
      this.lastAnswer = performance.now();
      this.has = { stream: answer.stream, after: answer.picture?.seq ?? 0, news: answer.news ?? 0 };
      this.onAnswer(answer);
      if (answer.signed_in) return;
    }
    if (AFRESH.includes(status) || (status === 200 && !answer?.signed_in)) {
      await pause(RELOAD_MS);
      location.reload(); // it is the sign-in that the desk serves then
      return;
    }
    this.failing ||= performance.now();
    await pause(RETRY_MS);
  }

  // How long the desk has been away.
  silentMs() {
    return this.failing ? performance.now() - Math.max(this.failing, this.lastAnswer) : 0;
  }

  // {status, answer}; status 0 if nothing came back. `body` is JSON, or a photograph.
  async post(address, body) {
    const isFile = body instanceof Blob;
    try {
      const came = await fetch(address, {
        method: "POST",
        headers: { "X-Exhibit-Token": this.token, "Content-Type": isFile ? body.type : "application/json" },
        body: isFile ? body : JSON.stringify(body),
        signal: AbortSignal.timeout(GIVE_UP_MS),
      });
      const answer = await came.json().catch(() => null);
      return { status: came.status, answer };
    } catch {
      return { status: 0, answer: null };
    }
  }
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));
