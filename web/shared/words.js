// What the page itself says, a table for each language. A machine's own words come with its recording.
// Sentences that a docent would say: what happened, what it means, what to do.

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
    "bridge not answering": "Not answering",
    "failed": "Stopped until a person has looked",
    "not started": "Not started",
    "reading the record": "Reading the record",
    "page alone": "Page not connected",
  },
  since: { "recorded": "on", other: "since" },
  simulated: "simulated machine",
  faster: (rate) => `${rate} times as fast as real`,
  notices: {
    "link lost": (at) => `The line between the machine and this computer was lost at ${at}: what you see is from then. The machine itself may be well. The line is being tried again; a docent may look at the cable.`,
    "bridge gone": (at) => `The program that speaks to the machine has ended without saying goodbye. What you see is from ${at}. A docent starts it again.`,
    "bridge not answering": (at) => `The program that speaks to the machine has stood still. What you see is from ${at}. A docent may have to start it again.`,
    "failed": (_, closed) => `Something came that was not foreseen, so nothing more is typed until a person has looked and started afresh. ${closed ? "The program that speaks to the machine has been ended: what you see is the last that was seen." : "The console is still mirrored."}`,
    "resting": () => "The machine is at rest. This is the last that was seen of it.",
    "page alone": (at) => `This page can’t reach the museum’s computer. What you see is from ${at}. It goes on by itself as soon as it can.`,
    "reading the record": () => "Today’s record is being read up to now. This takes some seconds.",
  },
  // While a recording is shown in the machine's place: what is the matter with the machine itself.
  meanwhile: {
    "resting": (since) => `The machine has been at rest since ${since}.`,
    "failed": (since) => `The machine was stopped on ${since}, and waits until a person has looked.`,
    "link lost": (since) => `The line to the machine was lost on ${since}; it is being tried again.`,
    "bridge gone": (since) => `Nothing has been heard from the machine since ${since}: the program that speaks to it has ended.`,
    "bridge not answering": (since) => `Nothing has been heard from the machine since ${since}: the program that speaks to it stands still.`,
    "not started": () => "The machine has not been started yet.",
  },
  mayRun: "At the machine, when it was last seen, this was running, and perhaps it still is:",
  mayRunUntil: (job, until) => `kept busy by ${job ? `job ${job}` : "a job"}. ${until ? `As it was begun, it ends by itself at ${until} at the latest.` : "It doesn’t end by itself: somebody has to stop it."}`,
  stopByHand: (n) => (n === 1 ? "For the docent, to stop it by hand:" : "For the docent, to stop them by hand:"),
  aPart: "The machine",
  isRecording: (date) => `This is a recording. All of it happened on ${date}.`,
  back: "Back to the machine itself: from here on you see what happens now.",
  then: (date) => `On ${date} visitors read:`,
  noTitle: "The machine",
  noCaption: "Nothing to explain yet",
  empty: {
    "not started": "Nothing has come from the machine yet. As soon as it says something that we know, it is explained here.",
    "reading the record": "One moment: this page is catching up with the machine.",
    "by hand": "Somebody is asked to do the next step at the machine by hand. As soon as the machine answers, it is explained here.",
    "begun": "It has just begun. As soon as the machine says something that we know, it is explained here.",
    other: "As soon as the machine says something that we know, it is explained here.",
  },
  kinds: { "seen": "Seen on the console", "look or listen for": "Look or listen for this", "background": "Background" },
  kindSimulated: "To look or listen for, at a real machine",
  at: (time) => `at ${time}`,
  part: (name) => `About: ${name}`,
  how: "How do we know?",
  grounds: {
    "received": (what) => (what ? `The console sent “${what}”` : "The console sent characters that leave no ink"),
    "printed": (what) => `The console printed “${what}”`,
    "stood": (what) => `“${what}” stood on the console`,
    "reading": (what, value) => `The status display showed ${what}: ${value}`,
    "rows": (what, value) => `The status display listed ${what}, ${value} in number`,
    "typed": (what) => `“${what}” was typed, and the machine took it`,
    "step started": (what) => `The script began its step “${what}”`,
    "step ended": (what) => `The script ended its step “${what}”`,
    "script started": (what) => `The script “${what}” was started`,
    "hand": (what, by) => (by ? `A person confirmed: ${what} (${by})` : `A person confirmed: ${what}`),
    "pack": (what, value) => `A person confirmed that pack ${what} is in ${value}`,
    "fact": () => "Something earlier in the recording",
  },
  showLine: "Show it on the console",
  lineGone: (line) => `It no longer stands there. It read “${line}”.`,
  bytes: "The bytes, as they came",
  ahead: (when, words) => `${when}: ${words}`,
  inMinutes: (n) => (n === 1 ? "In about a minute" : `In about ${n} minutes`),
  inSeconds: (n) => `In about ${n} s`,
  inAMoment: "In a moment",
  tells: (simulated) => (simulated ? "So it would be now, beside a real machine:" : "So it should be now, beside the machine:"),
  tellConfirmed: (time, simulated) => (simulated ? `(the simulated docent said so today at ${time})` : `(a person made sure of it today at ${time})`),
  choices: "Larger type, second language",
  textSize: "Size of the type",
  sizes: ["As it is", "Larger", "Largest"],
  secondLanguage: "A second language beneath",
  noSecond: "None",
  facts: (numbers) => (numbers.length > 1 ? `facts ${numbers.slice(0, -1).join(", ")} and ${numbers.at(-1)}` : `fact ${numbers[0]}`),
  source: (words) => `It is written in: ${words}`,
  trySwitches: "Try the switches",
  switches: "Pretend switches",
  switchesWhat: (start) => `Before START is pressed, somebody sets these switches to the place where the starter waits: ${start}. Each group stands for one figure: its switches count 4, 2 and 1. Up counts, down doesn’t.`,
  switchesPretend: "They are only drawn here. Nothing that you do reaches the machine.",
  switchGroup: (n) => `Group ${n}`,
  switchNamed: (n, worth) => `Switch ${n}, counts ${worth}`,
  pressStart: "START",
  switchesRight: "That is it. On the machine the lamps would now flicker, and the starter would be read from the small disc. The lamps here only pretend.",
  switchesWrong: (value, start) => `The switches now say ${value}, and the starter waits at ${start}. Nothing starts there.`,
  phone: (address) => `On your own phone: ${address.replace("http://", "").replace(/\/$/, "")}`,
  phoneCode: (address) => `A code for your phone’s camera, which leads to ${address}`,
  row: "The machine in its parts",
  jobs: (n) => (n === 0 ? "none" : n === 1 ? "1 job" : `${n} jobs`),
  listedAt: (time) => `as listed at ${time}`,
  share: (n) => `busy for ${n} of every 100 moments`,
  perMinute: (n) => (n === 1 ? "read or written once a minute" : `read or written ${n.toLocaleString("en-GB")} times a minute`),
  transfers: (n) => `read or written ${n.toLocaleString("en-GB")} times so far`,
  errors: (n) => (n === 0 ? "none since it was started" : n === 1 ? "1 since it was started" : `${n} since it was started`),
  trace: "The processor’s share in hundredths (line) and how much was printed (bars), over ten minutes of the machine’s time",
  traceOfPrint: "How much was printed, over ten minutes of the machine’s time",
  printedIs: (n) => `${n.toLocaleString("en-GB")} characters were printed.`,
  traceIs: (least, most, last) => `The processor’s share went from ${least} to ${most} hundredths, and was ${last} at last.`,
  earlier: "What was printed before",
  itself: "The machine itself",
  lineSet: "The line, as it is set here",
  display: "Its display",
  displayIs: ({ kind, rows, columns }) => (kind === "paper" ? `paper, ${columns} characters wide` : `${rows} lines of ${columns} characters`),
  states: { "working": "working", "being restored": "being restored", "kept for spares": "kept for spares" },
  touchAPart: "Touch a part to read what it is.",
  partHead: "Part",
  stateIs: (state) => `This part is ${state}.`,
  packIn: (label, written, time) => `Pack ${label} is in it, ${written ? "and may be written" : "protected from being written"}: a person confirmed that at ${time}.`,
  ran: (hours, since) => `As far as it was recorded it has run for ${hours < 1 ? "less than an hour" : hours === 1 ? "one hour" : `${hours.toLocaleString("en-GB")} hours`}${since ? `, and now since ${since}` : ""}.`,
  joined: (names) => `Cables lead to: ${names.join(", ")}.`,
  size: (width, height) => `It is ${width} cm wide and ${height} cm high.`,
  putAway: "Put this away",
  moreBelow: "More below: push the text up",
  anotherCard: "Read another",
  doing: "What is going on",
  did: "What was going on",
  rows: { now: "Now", then: "Then", waiting: "Waiting", jobs: "Jobs", share: "Processor", disc: "Discs", errors: "Disc errors", heard: "Heard since", date: "Its date", line: "Line", record: "Record" },
  overdue: "The machine takes longer than expected",
  session: {
    "not started": "No script has been started yet",
    watched: "The machine is only watched; nothing is typed from here",
    running: (title) => title,
    tidying: (title) => `${title}: tidying up`,
    ended: { done: (title) => `${title}: done`, failed: (title) => `${title}: could not be done`, stopped: (title) => `${title}: stopped` },
    "resting until": (time) => `A pause; the next round begins at ${time}`,
    "resting": "All that was asked for is done",
    "failed": (time) => `Stopped at ${time} until a person has looked`,
    closed: {
      "good order": (time) => `Ended in good order at ${time}`,
      "failed": (time) => `Ended at ${time}, stopped after a failure before anybody had looked at the machine`,
      "left open": (time) => `Ended at ${time}; whether all that was begun at the machine was put away, nobody has seen`,
    },
  },
  held: {
    "exercise in an hour": "Resting: the machine has had its exercise for this hour",
    "exercise in a day": "Resting: the machine has had its exercise for today",
    "exercise in a year": "Resting: the machine has had its exercise for this year",
    "starts in a day": "Resting: it has been started often enough for today",
    "disc errors": "Resting: the discs have made more errors today than they should",
    "last round": "Resting: today’s last round is over",
    "closing time": "Resting: the museum closes",
    pack: "Resting: somebody must see to a disc pack first",
    "original pack": "Resting: an original disc pack is in a drive, and only an engineer works with it",
  },
  roundOf: (number) => `round ${number}`,
  lineErrors: (n) => (n === 1 ? "1 damaged character so far" : `${n} damaged characters so far`),
  garbled: (n) => (n === 1 ? "1 command came back wrong and was typed again" : `${n} commands came back wrong and were typed again`),
  nearlyFull: (time) => `This computer’s disc was full at ${time}: what was begun is tidied up, and nothing more is typed`,
  handsOn: "A person has been asked to do this by hand",
  caution: "Take care",
  trouble: (time, ofTheMachine) => (ofTheMachine ? `At the machine itself: trouble seen at ${time}` : `Trouble seen at ${time}`),
  forDocent: "For the docent",
  console: "Console",
  sideways: "Its lines are longer than this screen is wide: push them sideways.",
  showConsole: "Show the console",
  printed: (time) => `last printed at ${time}`,
  nothingPrinted: "nothing printed yet",
  figures: "Figures the machine gives",
  noFigures: "When the machine shows its status display, its figures will stand here.",
  figure: "Figure",
  value: "Value",
  asOf: (display, time) => `Read off the display “${display}” at ${time}`,
  noRows: "none listed",
  toldDate: (date) => `The machine believes it is ${date}`,
  toldDateThen: (date) => `The machine believed it was ${date}`,
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
};

export const LANGUAGES = { en, de, he };

// The page's own words in the language nearest to `tag`, and the tag that they are really in.
export function wordsFor(tag) {
  const own = LANGUAGES[tag] ? tag : LANGUAGES[tag?.split("-")[0]] ? tag.split("-")[0] : "en";
  return { tag: own, words: LANGUAGES[own] };
}

// The words of a recording in language `tag`, or in the first language that it has.
export function told(words, tag) {
  if (!words) return "";
  return words[tag] ?? Object.values(words)[0] ?? "";
}

// Names with hyphens as people say them.
export function plain(name) {
  return name.replaceAll("-", " ");
}

// Times stand as the museum's computer wrote them, whatever the zone of the visitor's phone.
export function minute(wall) {
  return wall ? wall.slice(11, 16) : "";
}

export function second(wall) {
  return wall ? wall.slice(11, 19) : "";
}

// With its day where that isn't the other's.
export function moment(wall, other, words) {
  return other && wall.slice(0, 10) !== other.slice(0, 10) ? `${day(wall, words.locale)}, ${minute(wall)}` : minute(wall);
}

export function day(wall, locale) {
  if (!wall) return "";
  const date = new Date(`${wall.slice(0, 10)}T00:00:00Z`);
  return new Intl.DateTimeFormat(locale, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(date);
}
