// Asks the records process. What goes wrong comes back as sentences: {fault: [what, what to do]}.

const GIVE_UP_MS = 60_000;
const GONE = ["The records page's process has ended, or can't be reached.", "Start `exhibit records` again on this computer. What is shown here stays as it was."];

export async function ask(what, about = {}) {
  const query = new URLSearchParams(Object.entries(about).filter(([, value]) => value !== undefined && value !== null));
  try {
    const came = await fetch(`${what}?${query}`, { signal: AbortSignal.timeout(GIVE_UP_MS) });
    if (came.status === 403) return { fault: ["This page is of an earlier run of `exhibit records`.", "Open the address that the new run has printed."] };
    const answer = await came.json().catch(() => ({}));
    if (answer.fault) return { fault: [answer.fault.what, answer.fault.why, answer.fault.do] };
    return came.ok ? answer : { fault: ["The records page's process could not answer this.", "Reload the page. If that doesn't help, start `exhibit records` again."] };
  } catch (error) {
    if (error.name === "TimeoutError") return { fault: ["The answer is taking more than a minute.", "The recording may be on a slow disc. Wait, or copy it to this computer and open it there."] };
    return { fault: GONE };
  }
}
