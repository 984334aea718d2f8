// What stands in the large block: the one thing to do now. Knows no browser: it makes sentences from the items.
// A block is {id, tone, kind, says, caution, detail, first, lines, left, until, panel, part, todo, answers, form}; `first` is how
// many lines of the detail must be read first: what to do, and whom to call. An answer is
// {request, label, does, large} and whatever is sent with it; `opens` in place of `request` opens a block of the page's own.

import { hoursMinutes, inLanguage, spaced } from "../shared/words.js";
import { actsOf, brokenOff, closeOf, instructionsOf, isSilent, isSought, minutesLeft, reasonIn, sinceOf, slowStep } from "./around.js";
import { ended, reasonOf } from "./reasons.js";

const NOT_TYPED_AT = "XOFF for "; // with this begins the line of a trouble that is a machine that lets nothing be typed
const MACHINE = "the machine"; // who showed it, where no person said so
const SOON_S = 5; // while somebody stands by, a step is named sooner
const MOST_STEPS = 3; // of a tidy-up: the one that runs, and the next ones
const DONE_LATER = "a step before was confirmed before it was done, one of: "; // the engineer reads it in the recording
const AGREED = "the keyholder agrees"; // as the bridge wants it said, and records it
const CAN_BEGIN_ANEW = ["opening", "rounds", "away", "quiet", "nobody there", "stopped"];
const FOR_A_PERSON = ["the rules about the packs", "the state of the machine's parts"]; // who then stops the rounds
const ONLY_A_PERSON_ENDS = ["away", "nobody there", "stopped"];
const NOBODY_WRITES = ["bridge gone", "bridge not answering", "not started today"];

// `page`: {items, badge, bridge, alone, signedIn, at, opened, tag, words}; `opened` is a block that somebody opened.
export function blockOf(page) {
  // After a failure an engineer may type, and then it isn't so that nothing is typed.
  const waits = page.items.doing?.kind === "failure" ? (keyboard(page) ?? doing(page)) : (doing(page) ?? keyboard(page));
  return nobody(page) ?? lost(page) ?? stopping(page) ?? opened(page) ?? trouble(page) ?? waits ?? silent(page) ?? held(page) ?? idle(page);
}

function block(id, given) {
  return { id, tone: "", kind: "", says: "", caution: "", detail: [], first: 0, lines: [], left: [], until: "", panel: [], part: "", todo: [], answers: [], form: "", ...given };
}

function nobody({ signedIn, words, alone }) {
  return signedIn || alone ? null : block("nobody", { kind: words.nobody.kind, says: words.nobody.says });
}

function lost({ alone, badge, bridge, at, words, items, tag }) {
  const time = hoursMinutes(at);
  if (alone && badge.practice) return block("ended", { kind: words.lost.practiceEnded, says: words.lost.practiceEndedSays, detail: [words.lost.practiceAgain] });
  if (alone) return block("alone", { tone: "lost", kind: words.lost.kind, says: words.lost.desk, detail: [words.lost.seen(time), words.lost.card] });
  if (badge.name === "not started today") return block("not started", { kind: words.phases.kind, says: words.lost.notStarted, detail: [words.lost.start] });
  if (bridge && badge.name !== "bridge gone" && badge.name !== "bridge not answering") {
    return badge.name === "link lost" ? block("link", { tone: "lost", kind: words.lost.kind, says: words.lost.link, detail: [words.lost.seen(hoursMinutes(badge.since)), words.lost.cable, keyholderOf(items, words, tag)].filter(Boolean) }) : null;
  }
  return block("bridge", { tone: "lost", kind: words.lost.kind, says: words.lost.bridge, detail: [words.lost.nothingTyped, words.lost.seen(time), words.lost.card] });
}

function stopping(page) {
  const { items, words } = page;
  const stop = items.stopping;
  if (!stop) return null;
  const quiet = isSilent(page);
  if (stop.state === "hands off") {
    if (items.doing || items.today?.phase === "over") return null;
    const says = quiet ? [words.silent.says, ...ofSilence(page)] : [];
    return block("hands off", { tone: quiet ? "trouble" : "", kind: words.stop.kind, says: words.stop.handsOff, detail: [...says, ...afterHandsOff(stop, words)] });
  }
  if (quiet) {
    return block(`stop ${stop.since}`, {
      tone: "trouble", kind: words.stop.kind, says: words.silent.says, detail: [...ofSilence(page), words.stop.tries],
      answers: [{ request: "hands off", label: words.stop.handsOffLabel, does: words.stop.handsOffSilent }],
    });
  }
  const left = stop.left.map(spaced);
  return block(`stop ${stop.since}`, {
    kind: words.stop.kind,
    says: words.stop[stop.state],
    detail: left.length ? [words.stop.left(left.length, stop.within_s), words.stop.names] : [words.stop.nothingLeft],
    left: left.slice(0, MOST_STEPS),
    answers: [{ request: "hands off", label: words.stop.handsOffLabel, does: words.stop.handsOffDoes }],
  });
}

const afterHandsOff = ({ standing }, words) => [...(standing ? [words.stop.standing(standing)] : []), words.stop.mayRun];

function opened({ opened: open, items, words, tag }) {
  if (open?.what === "open again" && items.today?.phase === "over") {
    const held = items.done_today?.held, hands = items.for_docent?.steps_by_hand?.opening;
    return block("sure open", {
      kind: words.sure.kind, says: words.sure.open,
      detail: [held && words.phases.over.held(ended(reasonIn(items, held, words, tag))), held && words.sure.openHeld, held && keyholderOf(items, words, tag), hands && words.sure.openHands(hands)].filter(Boolean),
      answers: [{ request: "open", label: words.acts.open.again, large: true }, back(words, true)],
    });
  }
  if (open?.what === "close") {
    const { label, does } = items.doing?.kind === "failure" ? closeAfterFailure(items, words) : closeOf(items, words);
    return block("sure close", { kind: words.sure.kind, says: words.sure.close, detail: [does, items.today?.phase !== "closing" && words.sure.again].filter(Boolean), answers: [{ request: "close", label, large: true }, back(words, true)] });
  }
  if (open?.what === "begin anew" && items.doing?.asked === open.about) {
    return block(`sure anew ${open.about}`, {
      kind: words.sure.kind, says: words.anew.sure, detail: [words.anew.first, keyholderOf(items, words, tag), words.anew.does].filter(Boolean),
      answers: [{ request: "open", why: AGREED, label: words.anew.agreed, large: true }, back(words, true)],
    });
  }
  if (open?.what === "before" && items.doing?.asked === open.about && items.doing.before?.length) return undone(items.doing, words, tag);
  if (open?.what === "refuse" && items.doing?.asked === open.about) {
    return block(`refuse ${open.about}`, {
      kind: words.sure.kind, says: words.refuse.says, detail: [words.refuse.does], form: "why",
      answers: [{ request: "refuse", step: items.doing.step, label: words.refuse.label, large: true }, back(words, true)],
    });
  }
  const aside = open?.what === "set aside" && items.troubles?.find(({ raised, state }) => raised === open.about && state !== "over");
  if (!aside) return null;
  return block(`aside ${aside.raised}`, {
    kind: words.trouble.aside, says: inLanguage(aside.words, tag), detail: [words.trouble.asideDoes], form: "why and minutes",
    answers: [{ request: "set aside", about: aside.raised, label: words.trouble.asideLabel, large: true }, back(words, true)],
  });
}

// A step by hand was confirmed before it was done, and the next one waits already.
function undone({ asked, step, before }, words, tag) {
  const [last, ...earlier] = before.toReversed();
  return block(`before ${asked}`, {
    kind: words.undone.kind, caution: cautionsOf(before, tag), says: inLanguage(last.words, tag), panel: last.panel,
    detail: [words.undone.now, ...earlier.map((one) => words.undone.andBefore(inLanguage(one.words, tag)))],
    first: 1,
    answers: [{ request: "not yet", step, why: DONE_LATER + before.map((one) => one.step).reverse().join(", "), label: words.undone.done, does: words.undone.doneDoes, large: true }, back(words, true)],
  });
}

// Wherever hands are sent to work, what to take care of is said: each once.
const cautionsOf = (steps, tag) => steps.map(({ caution }) => inLanguage(caution, tag)).filter((one, at, all) => one && all.indexOf(one) === at).join(" ");

const back = (words, large) => ({ opens: "", label: words.sure.back, large });

const callOf = (one, items, words, tag) => (one.call === "keyholder" ? keyholderOf(items, words, tag) : words.trouble.calls[one.call](inLanguage(items.for_docent?.keyholder, tag)));

function trouble({ items, words, tag, at, printedAt }) {
  const one = items.troubles?.find(({ state }) => state === "needs you");
  if (!one) return null;
  const blocks = one.line?.startsWith(NOT_TYPED_AT);
  const waiting = items.session?.state === "failed" ? words.trouble.nothingTyped : items.doing ? words.trouble.stepWaits : words.trouble.goesOn;
  return block(`trouble ${one.raised}`, {
    tone: "trouble",
    kind: words.trouble.kind(sinceOf(one, { at, tag }), one.times),
    caution: inLanguage(one.caution, tag),
    says: inLanguage(one.words, tag) || spaced(one.name),
    detail: [inLanguage(one.do, tag) && words.trouble.do(inLanguage(one.do, tag)), callOf(one, items, words, tag), one.line && !blocks && words.trouble.printed(one.line), blocks && printedAt && words.trouble.printedAt(hoursMinutes(printedAt)), words.trouble.safe[one.safe_to_leave], waiting].filter(Boolean),
    lines: one.lines,
    panel: namedIn(inLanguage(one.do, tag) || "", items.doing?.panel),
    answers: [
      { request: "seen", about: one.raised, label: words.trouble.seen, does: words.trouble.seenDoes, large: true },
      ...(blocks ? [{ request: "let go", label: words.trouble.letGo, does: words.trouble.letGoDoes, large: true }] : []),
      { request: "over", about: one.raised, label: words.trouble.over, does: words.trouble.overDoes, large: true },
      { opens: "set aside", about: one.raised, label: words.trouble.asideLabel, does: words.trouble.asideFor },
    ],
  });
}

// What is to be set at the front by the step that waits, where the trouble says to set it again.
const namedIn = (does, panel) => (panel ?? []).filter(({ act, value }) => act === "set" && does.includes(value));

// Some steps are for somebody who has been shown them: whom to call stands beside them.
function callFor({ kind }, items, words, tag) {
  const who = kind === "hands on" && inLanguage(items.for_docent?.keyholder, tag);
  return who ? words.handsOn.call(who) : "";
}

function doing({ items, words, tag, badge }) {
  const asked = items.doing;
  if (!asked) return null;
  if (asked.kind === "late") return late(asked, items, words, tag);
  if (asked.kind === "failure") return failure(asked, items, words, tag);
  const send = { step: asked.step };
  const goesOn = asked.because?.answered; // then what the folder says of doing it again may be untrue by now
  const put = asked.because && words.putOff[goesOn ? "answered" : asked.because.by === MACHINE ? "shown" : asked.because.because];
  const extra = asked.because && !goesOn ? inLanguage(asked.because.words, tag) : "";
  const common = {
    says: inLanguage(asked.words, tag),
    caution: inLanguage(asked.caution, tag),
    detail: [asked.done_at && words.handsOn.again(hoursMinutes(asked.done_at)), put, extra, badge.practice && asked.kind === "hands on" && words.handsOn.practice, callFor(asked, items, words, tag), asked.until && words.handsOn.timeUp[asked.late || "unknown"]].filter(Boolean),
    until: asked.until,
    panel: asked.panel ?? [],
    part: asked.part,
  };
  const id = `asked ${asked.asked} ${asked.because?.at ?? ""}`;
  if (asked.kind === "date") {
    return block(id, {
      ...common, kind: words.handsOn.date,
      answers: [{ request: "confirm", ...send, label: words.handsOn.yes, large: true }, { opens: "refuse", about: asked.asked, label: words.handsOn.no, large: true }],
    });
  }
  return block(id, {
    ...common,
    kind: asked.number ? words.handsOn.step(asked.number, asked.count) : words.handsOn.kind,
    answers: [
      { request: "confirm", ...send, label: asked.done_at ? words.handsOn.already : words.handsOn.done, does: words.handsOn.doneDoes, large: true },
      { request: "not yet", ...send, label: words.handsOn.notYet, does: words.handsOn.notYetDoes, large: true },
      { request: "didn't", ...send, label: words.handsOn.didnt },
      { request: "too early", ...send, label: words.handsOn.tooEarly },
      { opens: "refuse", about: asked.asked, label: words.handsOn.cannot },
      ...(asked.before?.length ? [{ opens: "before", about: asked.asked, label: words.handsOn.before }] : []),
    ],
  });
}

function late(asked, items, words, tag) {
  const { advice } = asked;
  const send = { step: asked.step };
  const byHand = advice.seen === "nobody confirmed";
  const waited = advice.waited_for.map(spaced).join(words.late.or);
  const steps = byHand ? [] : (asked.before ?? []);
  const really = steps.length ? [words.late.before(steps.length), ...steps.map((one, at) => (steps.length > 1 ? `${at + 1}. ` : "") + inLanguage(one.words, tag))] : advice.seen === "nothing" ? [words.late.beforeUnknown] : [];
  const answers = [
    { request: "wait on", ...send, label: byHand ? words.late.moreTime : words.late.waitOn, does: words.late.waitOnDoes(advice.within_s), large: true },
    { request: "leave out", ...send, label: words.late.leaveOut, does: words.late.leaveOutDoes, large: true },
  ];
  if (advice.may_be_prompt) answers.push({ request: "it is the prompt", ...send, label: words.late.isPrompt, does: words.late.isPromptDoes });
  return block(`late ${asked.asked}`, {
    kind: words.late.kind(spaced(asked.step)),
    caution: cautionsOf([asked, ...steps], tag),
    says: byHand ? inLanguage(asked.words, tag) : words.late.says(waited),
    detail: [...really, words.late.seen[advice.seen](spaced(advice.prompt)), words.late.advice[advice.seen], advice.seen === "nothing" && keyholderOf(items, words, tag)].filter(Boolean),
    first: steps.length && really.length,
    lines: advice.lines,
    answers,
  });
}

function failure(asked, items, words, tag) {
  const off = items.stopping?.state === "hands off" ? items.stopping : null;
  const open = (items.troubles ?? []).filter(({ state }) => state === "seen" || state === "set aside");
  const { silent: quiet, today } = items;
  const call = keyholderOf(items, words, tag);
  const closing = today?.phase === "closing", goesOn = closing && items.closing_left?.goes_on_at;
  return block(`failure ${asked.asked}`, {
    tone: "trouble",
    kind: words.failure.kind(hoursMinutes(asked.since)),
    says: off ? words.failure.handsOff(personOf(off.by, words)) : words.failure.says,
    caution: cautionsOf(open, tag),
    detail: [ // what to do and whom to call come first: a long reason is cut off by the answers
      call, quiet && words.silent.look, asked.advice.times > 1 && words.failure.timesSame(asked.advice.times), words.failure.look, quiet && words.silent.since(hoursMinutes(quiet.since)),
      ...open.flatMap((one) => instructionsOf(one, { items, tag }, words)),
      closing && (goesOn ? words.failure.closingGoesOn : words.failure.closing),
      closing && untyped(items, words),
      ...(off ? afterHandsOff(off, words) : []),
      words.failure.why(ended(reasonOf(asked.advice.why, words))),
    ].filter((one, at, all) => one && all.indexOf(one) === at),
    first: call ? 2 : 1,
    lines: asked.advice.lines,
    todo: closing ? leftByHand(items, tag) : [],
    answers: [
      { request: "clear", label: words.failure.clear, does: goesOn ? words.failure.clearGoesOn : words.failure.clearDoes, large: true },
      ...(CAN_BEGIN_ANEW.includes(today?.phase) ? [{ opens: "begin anew", about: asked.asked, label: words.anew.label, does: words.anew.when, large: true }] : []),
      ...(today?.phase === "over" ? [] : [{ opens: "close", ...closeAfterFailure(items, words), large: true }]),
    ],
  });
}

// A closing that has failed is given up by closing once more: the day is over then.
function closeAfterFailure({ today }, words) {
  const given = today?.phase === "closing";
  return given ? { label: words.failure.byHand, does: words.failure.byHandDoes } : { label: words.acts.close.label, does: words.failure.closeDoes };
}

// What of the closing's steps by hand nobody has confirmed.
function leftByHand({ closing_left: left }, tag) {
  return (left?.steps ?? []).map((step) => ({ says: inLanguage(step.words, tag) || spaced(step.name), caution: inLanguage(step.caution, tag) }));
}

const untyped = ({ closing_left: left }, words) => (left?.steps.length && !left.typed ? words.todo.untyped : "");

function keyholderOf(items, words, tag) {
  const who = inLanguage(items.for_docent?.keyholder, tag);
  return who ? words.trouble.calls.keyholder(who) : "";
}

// What a silent machine asks of a person, wherever it is said.
const ofSilence = ({ items, badge, words, tag }) => [words.silent.since(hoursMinutes(badge.since)), words.silent.look, keyholderOf(items, words, tag)].filter(Boolean);

// Something was due from the machine, and nothing comes. Where a person has to say how the day goes on, that can be said.
function silent(page) {
  if (!isSilent(page)) return null;
  const { items, items: { today, at_step: step }, badge, words } = page;
  const stopped = today.phase === "stopped", holds = held(page);
  const after = stopped ? [words.silent.powerOnly, words.silent.typesNothing, ...(holds ? [holds.says, ...holds.detail] : [words.silent.unfinished[today.resumes]])] : [words.silent.power];
  const slow = step?.until ? words.silent.slow(spaced(step.name), hoursMinutes(step.until), step.again) : "";
  const [since, look, ...call] = ofSilence(page);
  const ask = [since, look, slow, ...call].filter(Boolean);
  const can = ONLY_A_PERSON_ENDS.includes(today.phase) ? (holds ?? idle(page)).answers : slow ? actsOf(items, words) : [];
  const answers = can.filter(({ request }) => request !== "round now");
  return block(`silent ${badge.since} ${today.phase}`, {
    tone: "trouble", kind: words.silent.kind, says: words.silent.says,
    detail: [...ask, ...after].filter((one, at, all) => one && all.indexOf(one) === at),
    first: ask.length,
    answers,
  });
}

// The program itself lets no round begin, because of something that a person has to see to.
function held({ items, words, tag }) {
  const { today } = items;
  if (today?.phase !== "stopped" || !FOR_A_PERSON.includes(today.by)) return null;
  const why = ended(reasonIn(items, today.why, words, tag));
  const detail = [words.held.waits, today.looked && words.held.again(hoursMinutes(today.looked)), words.held.look, keyholderOf(items, words, tag)].filter(Boolean);
  return block(`held ${today.since} ${today.looked}`, {
    tone: "trouble", kind: words.held.kind(hoursMinutes(today.since)), says: sentence(why),
    detail, first: detail.length,
    answers: [{ request: "back", label: words.held.label, does: words.held.does, large: true }, ...actsOf(items, words).map((one) => ({ ...one, large: true }))],
  });
}

const sentence = (text) => text.charAt(0).toLocaleUpperCase() + text.slice(1);

function keyboard({ items, words, signedIn }) {
  if (!items.keyboard) return null;
  const engineers = signedIn.role === "engineer";
  const [label, does] = engineers ? [words.keys.giveBack, words.keys.giveBackDoes] : [words.keys.giveBackFor, words.keys.giveBackForDoes];
  const answers = [{ request: "give back", label, does, large: engineers }];
  return block(`keyboard ${items.keyboard.since}`, { kind: words.keys.kind, says: words.keys.taken(personOf(items.keyboard.who, words)), detail: [words.keys.nothingElse], answers });
}

// Nothing waits for a person: what happens by itself now, and the one thing that can be begun.
function idle({ items, words, tag, badge, at }) {
  const { today, script, session } = items;
  const phase = today?.phase ?? "before opening";
  if (badge.name === "not started") return block("idle starting", { kind: words.phases.kind, says: words.phases.starting.says, detail: [words.phases.starting.detail] });
  const runs = session?.state === "running" && script && !script.ended;
  const rests = session?.state === "resting" && session.until;
  const now = runs ? words.phases.runs(inLanguage(script.title, tag), script.round, minutesLeft(items, at)) : rests && phase === "rounds" ? words.phases.rests(hoursMinutes(session.until)) : "";
  const quiet = badge.name === "silent" ? words.phases.silent(hoursMinutes(badge.since)) : "";
  const why = (["before opening", "closing"].includes(phase) && today?.why) || today?.closed_by;
  const because = why ? words.phases.because(ended(reasonOf(why, words))) : "";
  const noMore = phase === "over" && today.closed_by ? words.phases.noMore : "";
  const closed = phase === "over" && script?.name === "closing" && script.outcome === "done" ? words.phases.over.closed : "";
  const todo = phase === "over" ? leftByHand(items, tag) : [];
  const off = phase === "over" && !todo.length && badge.name === "asleep" ? words.phases.over.off : "";
  const slow = slowStep({ items, at }, ["opening", "closing"].includes(phase) ? SOON_S : undefined);
  const atStep = slow ? words.phases.atStep(spaced(slow.name), hoursMinutes(slow.since), hoursMinutes(slow.until), slow.again) : "";
  const begins = { "before opening": "open", over: "open", away: "back", quiet: "back", "nobody there": "back", stopped: "back" }[phase];
  const stopped = phase === "stopped" ? stoppedIn(items, words) : undefined;
  const isLookedAfter = phase === "over" && session?.state === "failed";
  const rules = { "before opening": beforeOpening(items, words, tag), away: [twoPeople(items, words, tag)] }[phase] ?? [];
  const seeks = !runs && isSought(phase, items.under_way?.seeks);
  const odd = runs && items.under_way?.tidies ? words.phases.tidying : seeks ? words.phases.seeking : null;
  const recent = phase === "rounds" && !odd ? brokenOff(items, at, words, tag) : "";
  const said = phase === "closing" && !today?.begun ? closingComes(runs && script.round, today.hands, words) : words.phases[phase];
  return block(`idle ${phase} ${today?.since ?? ""}${odd ? ` ${odd.kind}` : ""}`, {
    kind: odd ? odd.kind : phase === "stopped" ? words.stoppedIn.kind : (words.phases.kinds[phase] ?? words.phases.kind),
    says: odd?.says ?? (todo.length ? words.phases.over.notDone : ((runs && said.saysAfter) || said.says)(hoursMinutes(today?.until))),
    todo,
    detail: [because, noMore, quiet, closed, off, now, recent, atStep, items.practice?.length ? words.practisedBelow : "", ...(phase === "over" ? beforeLeaving(items, todo, words, tag) : []), odd?.detail ?? stopped?.detail ?? ((!runs && said.atRest) || said.detail), ...rules].filter(Boolean),
    answers: [
      ...(isLookedAfter ? [{ request: "clear", label: words.phases.over.looked, does: words.phases.over.lookedDoes }] : []),
      ...(begins && !isLookedAfter && !noMore && !(begins === "open" && runs) ? [beginning(begins, phase, stopped, words)] : []),
      ...actsOf(items, words).filter(({ request }) => !(request === "round now" && (runs || seeks))),
    ],
  });
}

const twoPeople = ({ for_docent: said }, words, tag) => inLanguage(said?.two_people, tag) && words.before.twoPeople(inLanguage(said.two_people, tag));

// A closing of which only steps by hand are left goes on there; any other begins again.
function stoppedIn({ today, closing_left: left }, words) {
  const said = words.stoppedIn[today?.resumes];
  // A finished closing stays finished while nobody has done anything in the opening after it.
  if (today?.resumes === "opening" && left?.steps.length === 0) return { ...said, ...words.stoppedIn.nothingDone };
  return today?.resumes === "closing" && left?.goes_on_at ? { ...said, ...words.stoppedIn.goesOn } : said;
}

// What is left to do or to look at before whoever closed leaves; and what ended the closing, if it failed.
function beforeLeaving(items, todo, words, tag) {
  const who = inLanguage(items.for_docent?.keyholder, tag), { session, stopping: stop } = items;
  const failed = session?.state === "failed" ? [...(stop?.state === "hands off" ? afterHandsOff(stop, words) : []), words.failure.why(ended(reasonOf(session.why, words)))] : [];
  return [...(todo.length ? [untyped(items, words), keyholderOf(items, words, tag)] : [words.phases.over.dark(who)]), items.done_today?.held && words.phases.over.held(ended(reasonIn(items, items.done_today.held, words, tag))), ...failed];
}

function beforeOpening(items, words, tag) {
  const { steps_by_hand: hands, keyholder } = items.for_docent ?? {};
  const who = inLanguage(keyholder, tag);
  const shown = hands?.opening ? [words.before.hands(hands.opening), who && words.before.call(who)] : [];
  return [...shown, twoPeople(items, words, tag)];
}

// The day is being closed, and the closing's own script has yet to begin.
export function closingComes(round, hands, words) {
  return { says: () => (round ? words.phases.finishing(round, hands) : words.phases.closingNext(hands)), detail: words.phases.closing.detail };
}

function beginning(request, phase, stopped, words) {
  if (phase === "over") return { opens: "open again", label: words.acts.open.again, does: words.acts.open.does };
  const { label, labels, does } = words.acts[request];
  if (stopped) return { request, label: stopped.label, does: stopped.does, large: true };
  return { request, label: labels?.[phase] ?? label, does, large: true };
}

// "engineer 2" of a recording, as the page says it.
function personOf(by, words) {
  const [role, number] = by.split(" ");
  return words.signedIn[role]?.(number) ?? by;
}

// Whether nothing of the machine reaches the page any more.
export function hearsNothing({ alone, badge }) {
  return alone || NOBODY_WRITES.includes(badge.name);
}
