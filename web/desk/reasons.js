// The reasons that recordings hold are English sentences. Here are those that docents meet most, in the page's words; the
// others are put into another language by its own words. One that a person wrote is shown as it stands.

import { spaced } from "../shared/words.js";

const KNOWN = [
  ["stepFailed", /^the step (\S+) failed, because (.+)$/],
  ["stepLeftOut", /^the step (\S+) was left out, because (.+)$/],
  ["silent", /^the machine is silent: is it off, or is a cable unplugged\??$/],
  ["wentOn", /^a script has gone on since$/],
  ["shows", /^the machine shows (.+)$/],
  ["noLeave", /^the machine(?:'s leave to type| to let something be typed) \(XON\) did not come in time$/], // also as older ones have it
  ["lateHand", /^a person to confirm did not come in time$/],
  ["lateEcho", /^the echo of what was typed did not come in time$/],
  ["latePrompt", /^the prompt after the cancel key did not come in time$/],
  ["lateQuiet", /^quiet did not come in time$/],
  ["late", /^(?:the )?(.+) did not come in time$/],
  ["notTidied", /^nothing was tidied up$/],
  ["halfTidied", /^the tidy-up was not finished$/],
  ["saidStop", /^(?:a docent|a person|docent \d+|engineer \d+|\S+) said stop$/],
  ["saidHandsOff", /^(?:a docent|a person|docent \d+|engineer \d+|\S+) said hands off$/],
  ["refused", /^a person said that it can't be done: (.+)$/],
  ["wrong", /^something was wrong: (.+)$/],
  ["mayRun", /^job (\d+), which (.+) starts, may be running$/],
  ["mayRunUnknown", /^a job whose number isn't known, which (.+) starts, may be running$/],
  ["neverGave", /^the machine never gave \S+ of the step (.+), but may have taken its command, so what that command starts may be running$/],
  ["cameBackWrong", /^it came back wrong (\d+) times, so it is not typed again$/],
  ["lineLost", /^the line was lost$/],
  ["notConnected", /^the machine is not connected$/],
  ["tooLong", /^the whole script took longer than its limit$/],
  ["fullDisc", /^the disc for the recordings is full$/],
  ["errors", /^the discs made (\d+) errors today, and the limit is (\d+)$/],
  ["partStopped", /^the (.+) has stopped, and nothing has shown since that it was started again$/],
  ["lastRound", /^no round begins after ([\d:]+)$/],
  ["closesAt", /^the museum closes at ([\d:]+)$/],
  ["closedToday", /^the doors stay closed today$/],
  ["asBefore", /^so it was before the program was started again$/],
  ["beforeMidnight", /^so it was before midnight$/],
  ["interrupted", /^the opening was interrupted by a restart$/],
  ["scriptRuns", /^a script is running$/],
  ["noScript", /^no script is running$/],
  ["lookFirst", /^the scripts have stopped, and somebody must look at the machine first$/],
  ["open", /^the day is open already$/],
  ["isClosing", /^the day is being closed$/],
  ["isOver", /^the day is over$/],
];

// `called`: what a part of the machine is called, where the folder's names are at hand.
export function reasonOf(why, { reasons }, called = spaced) {
  return (why ?? "").split(/; (?![^()]*\))/).map((part) => partOf(part, reasons, called)).join("; ");
}

function partOf(part, reasons, called) {
  const tell = (inner) => partOf(inner, reasons, called); // a reason within a reason
  for (const [name, pattern] of KNOWN) {
    const found = pattern.exec(part);
    if (found) return reasons[name](...found.slice(1), tell, called);
  }
  return reasons.others(part, tell);
}

// A reason at the end of a sentence: with its own mark, or else with a full stop.
export const ended = (why) => (/[.?!]$/.test(why) ? why : `${why}.`);
