// The page's own words, one table for each language. A machine's own words come with its recording.
// They are sentences that a docent would say: what happened, what it means, what to do.

import { de } from "./words_de.js";
import { he } from "./words_he.js";

const en = {
  locale: "en-GB",
  dir: "ltr",
  machineTranslated: "",
  badges: {
    "opening": "Opening the page",
    "live": "Live",
    "watching": "Live, watching only",
    "recorded": "Recorded",
    "simulated machine": "Simulated machine",
    "resting": "Resting",
    "link lost": "Link to the machine lost",
    "bridge gone": "Not connected",
    "bridge not answering": "Not responding",
    "failed": "Stopped until somebody has checked",
    "silent": "Nothing heard",
    "not started": "Not started",
    "reading the record": "Reading the recording",
    "page alone": "Page not connected",
  },
  since: { "recorded": "on", other: "since" },
  simulated: "simulated machine",
  faster: (rate) => `${rate} times real speed`,
  notices: {
    "link lost": (at) => `The link to the machine was lost at ${at}. What you see is from then; the machine itself may be fine. This computer keeps trying to reconnect; a docent can check the cable.`,
    "bridge gone": (at) => `The program that talks to the machine has stopped unexpectedly. What you see is from ${at}. A docent can start it again.`,
    "bridge not answering": (at) => `The program that talks to the machine is not responding. What you see is from ${at}. A docent may have to start it again.`,
    "failed": (_, closed) => `Something unexpected happened. Nothing more will be typed until somebody has checked the machine and started again. ${closed ? "The program that talks to the machine has been shut down. What you see is the last that came from the machine." : "The console still shows what the machine prints."}`,
    "silent": (at) => `Something was due from the machine, but nothing has been heard ${at ? `since ${at}. What you see is from then` : "from it yet"}. A docent can check whether it is on and the cable is in place.`,
    "resting": (_, closed) => `${closed ? "The program that talks to the machine has been shut down" : "Nothing more is planned for now"}. What you see is the last that came from the machine.`,
    "page alone": (at) => `This page can’t reach the museum’s computer. What you see is from ${at}. The page carries on by itself as soon as it can.`,
    "reading the record": () => "Today’s recording is being read up to this moment. This takes a few seconds.",
  },
  // Why a recording is shown instead of the machine.
  meanwhile: {
    "resting": (since) => `This computer has done nothing at the machine since ${since}.`,
    "failed": (since) => `The demonstration stopped on ${since}. Somebody has to check the machine before it goes on.`,
    "silent": (since) => (since ? `Nothing has been heard from the machine since ${since}.` : "Nothing has been heard from the machine yet."),
    "link lost": (since) => `The link to the machine was lost on ${since}. This computer keeps trying to reconnect.`,
    "bridge gone": (since) => `Nothing has been heard from the machine since ${since}. The program that talks to it has stopped.`,
    "bridge not answering": (since) => `Nothing has been heard from the machine since ${since}. The program that talks to it is not responding.`,
    "not started": () => "Nothing has been heard from the machine yet.",
  },
  mayRun: "This was started at the machine. We have not seen it end, so it may still be running:",
  mayRunInDoubt: "This may be running. What the machine printed does not say for certain:",
  mayRunUntil: (job, until) => `kept busy by ${job ? `job ${job}` : "a job"}. ${until ? `It has a time limit and stops by ${until} at the latest.` : "It does not stop by itself: somebody has to stop it."}`,
  mayRunPerhaps: (job, until, oneOf) => `perhaps kept busy by ${job ? `job ${job}` : "a job whose number we don’t know"}. ${oneOf > 1 ? "It may be this job or another one. " : ""}${until ? `It was meant to stop by itself by ${until} at the latest. ` : ""}Somebody has to look.`,
  stopByHand: (n) => (n === 1 ? "For the docent, to stop it by hand:" : "For the docent, to stop them by hand:"),
  aPart: "The machine",
  isRecording: (date) => `This is a recording. All of it happened on ${date}.`,
  machineIsBack: "We are back at the machine itself: from here on, you see what is happening now.",
  then: (date) => `On ${date}, visitors read:`,
  noTitle: "The machine",
  noCaption: "Nothing to explain yet",
  nothingHeard: (time) => (time ? `Nothing heard since ${time}` : "Nothing heard yet"),
  empty: {
    "not started": "Nothing has been heard from the machine yet. As soon as it prints something that we recognise, you can read about it here.",
    "reading the record": "One moment: this page is catching up with the machine.",
    "by hand": "The next step is done at the machine, by hand. As soon as the machine responds, you can read about it here.",
    "just started": "It has only just started. As soon as the machine prints something that we recognise, you can read about it here.",
    silent: "Something was due from the machine, but nothing came. As soon as it prints something that we recognise, you can read about it here.",
    other: "As soon as the machine prints something that we recognise, you can read about it here.",
  },
  kinds: { "seen": "Seen on the console", "look or listen for": "Look or listen for this", "background": "Background" },
  kindSimulated: "To look or listen for, at a real machine",
  at: (time) => `at ${time}`,
  part: (name) => `About: ${name}`,
  how: "How do we know?",
  grounds: {
    "received": (what) => (what ? `The machine sent “${what}”` : "The machine sent invisible characters"),
    "printed": (what) => `The machine printed “${what}”`,
    "showing": (what) => `The console was showing “${what}”`,
    "reading": (what, value) => `The status display showed ${what}: ${value}`,
    "rows": (what, value) => `The status display listed ${what}: ${value} in all`,
    "typed": (what) => `“${what}” was typed, and the machine took it`,
    "step started": (what) => `The script started its step “${what}”`,
    "step ended": (what) => `The script finished its step “${what}”`,
    "script started": (what) => `The script “${what}” started`,
    "confirmed": (what, by) => (by ? `Somebody confirmed “${what}” (${by})` : `Somebody confirmed “${what}”`),
    "confirmed in the simulation": (what) => `The simulated docent confirmed “${what}”`,
    "pack": (what, value) => `Somebody confirmed that the pack ${what} is in: ${value}`,
    "fact": () => "Something earlier in the recording",
  },
  showLine: "Show it on the console",
  lineGone: (line) => `It is no longer there. It read “${line}”.`,
  bytes: "The bytes, as they arrived",
  ahead: (when, words) => `${when}: ${words}`,
  inMinutes: (n) => (n === 1 ? "In about a minute" : `In about ${n} minutes`),
  inSeconds: (n) => `In about ${n} s`,
  inAMoment: "In a moment",
  tellTales: (simulated) => (simulated ? "What you would notice now beside a real machine:" : "What you should notice now beside the machine:"),
  tellTaleConfirmed: (time, simulatedDocent) => (simulatedDocent ? `(confirmed by the simulated docent today at ${time})` : `(confirmed by a person today at ${time})`),
  choices: "Larger type, second language",
  textSize: "Type size",
  sizes: ["Normal", "Larger", "Largest"],
  secondLanguage: "A second language below",
  noSecond: "None",
  facts: (numbers) => (numbers.length > 1 ? `facts ${numbers.slice(0, -1).join(", ")} and ${numbers.at(-1)}` : `fact ${numbers[0]}`),
  source: (words) => `Source: ${words}`,
  trySwitches: "Try the switches",
  switches: "Pretend switches",
  switchesWhat: (start) => `Before pressing START, somebody sets these switches to the place where the starter waits: ${start}. Each group makes one figure: its switches count 4, 2 and 1. Up counts, down doesn’t.`,
  switchesPretend: "They exist only on this page. Nothing that you do here reaches the machine.",
  switchGroup: (n) => `Group ${n}`,
  switchNamed: (n, worth) => `Switch ${n}, counts ${worth}`,
  pressStart: "START",
  switchesRight: "That’s it. On the machine, the lamps would now flicker, and the starter would be read from the small disc. The lamps here only pretend.",
  switchesWrong: (value, start) => `The switches now say ${value}, but the starter waits at ${start}. Nothing starts from there.`,
  phone: (address) => `On your own phone: ${address.replace("http://", "").replace(/\/$/, "")}`,
  phoneCode: (address) => `A code for your phone’s camera that leads to ${address}`,
  row: "The parts of the machine",
  jobs: (n) => (n === 0 ? "none" : n === 1 ? "1 job" : `${n} jobs`),
  listedAt: (time) => `as listed at ${time}`,
  share: (n) => `busy ${n}% of the time`,
  perMinute: (n) => (n === 1 ? "read or written once a minute" : `read or written ${n.toLocaleString("en-GB")} times a minute`),
  transfers: (n) => `read or written ${n.toLocaleString("en-GB")} times so far`,
  errors: (n) => (n === 0 ? "none since it was started" : n === 1 ? "1 since it was started" : `${n} since it was started`),
  trace: "How busy the processor was, in per cent (line), and how much was printed (bars), over ten minutes of the machine’s time",
  traceOfPrint: "How much was printed, over ten minutes of the machine’s time",
  printedIs: (n) => `${n.toLocaleString("en-GB")} characters were printed.`,
  traceIs: (least, most, last) => `The processor was busy between ${least} and ${most} per cent of the time, most recently ${last}.`,
  earlier: "Printed earlier",
  itself: "The machine itself",
  lineSet: "The line’s settings here",
  display: "Its display",
  displayIs: ({ kind, rows, columns }) => (kind === "paper" ? `paper, ${columns} characters wide` : `${rows} lines of ${columns} characters`),
  states: { "working": "working", "being restored": "being restored", "kept for spares": "kept for spares" },
  touchAPart: "Touch a part to read what it is.",
  partHead: "Part",
  stateIs: (state) => `This part is ${state}.`,
  packIn: (label, writable, time) => `The pack ${label} is in it and ${writable ? "can be written on" : "is write-protected"}, as confirmed at ${time}.`,
  ran: (hours, since) => `According to the recordings, it has run for ${hours < 1 ? "less than an hour" : hours === 1 ? "one hour" : `${hours.toLocaleString("en-GB")} hours`}${since ? `, and it has been running since ${since}` : ""}.`,
  joined: (names) => `Cables lead to: ${names.join(", ")}.`,
  size: (width, height) => `It is ${width} cm wide and ${height} cm high.`,
  close: "Close",
  moreBelow: "More below: scroll down",
  anotherCard: "Read another",
  happening: "What is happening",
  happened: "What was happening",
  rows: { now: "Now", then: "Then", waiting: "Waiting", jobs: "Jobs", share: "Processor", disc: "Discs", errors: "Disc errors", heard: "First heard", date: "Its date", line: "Line", record: "Recording" },
  overdue: "The machine is taking longer than expected",
  session: {
    "not started": "No script has been started yet",
    watched: "The machine is only watched; nothing is typed from here",
    running: (title) => title,
    tidying: (title) => `${title}: tidying up`,
    ended: { done: (title) => `${title}: done`, failed: (title) => `${title}: could not be finished`, stopped: (title) => `${title}: stopped` },
    "resting until": (time) => `A break; the next round starts at ${time}`,
    "resting": "Nothing more is planned for now",
    "failed": (time) => `Stopped at ${time} until somebody has checked`,
    closed: {
      "good order": (time) => `Ended in good order at ${time}`,
      "failed": (time) => `Ended at ${time} after a failure, before anybody had checked the machine`,
      "left open": (time) => `Ended at ${time}; nobody has seen whether everything started at the machine was stopped`,
    },
  },
  restingBecause: {
    "exercise in an hour": "Resting: the machine has had its exercise for this hour",
    "exercise in a day": "Resting: the machine has had its exercise for today",
    "exercise in a year": "Resting: the machine has had its exercise for this year",
    "starts in a day": "Resting: it has been started often enough for today",
    "disc errors": "Resting: the discs have made more errors today than they should",
    "last round": "Resting: today’s last round is over",
    "closing time": "Resting: the museum is closing",
    pack: "Resting: somebody must check a disc pack first",
    "original pack": "Resting: an original disc pack is in a drive, and only an engineer works with it",
  },
  roundOf: (number) => `round ${number}`,
  lineErrors: (n) => (n === 1 ? "1 damaged character so far" : `${n} damaged characters so far`),
  garbled: (n) => (n === 1 ? "1 command came back garbled" : `${n} commands came back garbled`),
  nearlyFull: (time) => `This computer’s disc was full at ${time}: somebody has to free some space`,
  handsOn: "Somebody has been asked to do this by hand",
  caution: "Take care",
  trouble: (time, ofTheMachine) => (ofTheMachine ? `At the machine itself: trouble noticed at ${time}` : `Trouble noticed at ${time}`),
  forDocent: "For the docent",
  console: "Console",
  sideways: "Its lines are wider than this screen: scroll sideways.",
  showConsole: "Show the console",
  printed: (time) => `last printed at ${time}`,
  nothingPrinted: "nothing printed yet",
  figures: "The machine’s own figures",
  noFigures: "When the machine shows its status display, its figures appear here.",
  asOf: (display, time) => `Read from the display “${display}” at ${time}`,
  noRows: "none listed",
  machineDate: (date) => `The machine believes it is ${date}`,
  machineDateThen: (date) => `The machine believed it was ${date}`,
  languages: "Language",
  controls: {
    head: "Replay",
    play: "Play",
    pause: "Pause",
    rate: "Speed",
    times: (rate) => `${rate} ×`,
    atOnce: "at once",
    place: "Place in the recording",
    fact: "Fact",
    go: "Go",
    of: (at, end) => `${at} of ${end}`,
    ended: "end of the recording",
  },
  drawing: {
    // Each state as it is now, and as it was when a recording is shown.
    states: {
      turning: ["turning", "was turning"],
      starting: ["starting up", "was starting up"],
      still: ["standing still", "stood still"],
      on: ["on", "was on"],
      off: ["off", "was off"],
      unknown: ["not known", "not known"],
      loadUnknown: ["load not known", "load not known"],
      tested: ["memory in order", "memory was in order"],
      used: ["busy", "was busy"],
      printing: ["printing", "was printing"],
      quiet: ["quiet", "was quiet"],
      lost: ["not connected", "was not connected"],
      loading: ["loading", "was loading"],
    },
    busy: (n) => `busy ${n}%`,
    busyThen: (n) => `was busy ${n}%`,
    trouble: "trouble noticed",
    troubleThen: "had trouble",
    aJob: "a job",
    marksScale: (n) => (n === 1 ? "■ 1 use" : `■ ${n.toLocaleString("en-GB")} uses`),
    jobs: (jobs) => `${jobs.length === 1 ? "A job is" : "Jobs are"} being worked on: ${jobs.join(", ")}.`,
    jobsThen: (jobs) => `${jobs.length === 1 ? "A job was" : "Jobs were"} being worked on: ${jobs.join(", ")}.`,
    jobAt: (job, part) => `${job} (${part})`,
    uses: (part, n) => `${part}: read or written ${n.toLocaleString("en-GB")} times a minute.`,
    usesThen: (part, n) => `${part}: was read or written ${n.toLocaleString("en-GB")} times a minute.`,
    testedIn: (part) => `${part}: its memory was tested and found in order.`,
    pieces: (words, n) => `${words ? `${words} ` : ""}Pieces that have arrived: ${n}.`,
  },
};

export const LANGUAGES = { en, de, he };

// The page's own words in the language nearest to `tag`, and the tag of the language they are in.
export function wordsFor(tag) {
  const own = LANGUAGES[tag] ? tag : LANGUAGES[tag?.split("-")[0]] ? tag.split("-")[0] : "en";
  return { tag: own, words: LANGUAGES[own] };
}

// A recording's words in language `tag`, or in the first language that it has.
export function inLanguage(words, tag) {
  if (!words) return "";
  return words[tag] ?? Object.values(words)[0] ?? "";
}

// A hyphenated name as people would write it.
export function spaced(name) {
  return name.replaceAll("-", " ");
}

// Times are shown as the museum's computer wrote them, whatever the time zone of the visitor's phone.
export function hoursMinutes(wall) {
  return wall ? wall.slice(11, 16) : "";
}

export function hoursMinutesSeconds(wall) {
  return wall ? wall.slice(11, 19) : "";
}

// The time, with its date if that differs from the date of `other`.
export function timeAndOtherDate(wall, other, words) {
  return other && wall.slice(0, 10) !== other.slice(0, 10) ? `${longDate(wall, words.locale)}, ${hoursMinutes(wall)}` : hoursMinutes(wall);
}

export function longDate(wall, locale) {
  if (!wall) return "";
  const date = new Date(`${wall.slice(0, 10)}T00:00:00Z`);
  return new Intl.DateTimeFormat(locale, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(date);
}
