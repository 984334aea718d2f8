// Reasons in German, by the English sentences that recordings hold. Docents meet the ones in reasons.js more often, and
// those have words of their own in both languages; the others stand as they are in English.
// Groups of a pattern are given in their order; after them, what says a reason within a reason.

import { ANSWERS } from "./answers_de.js";

const LOOK = "Bis dahin wird nichts getippt, denn RETURN könnte es ausführen. Entfernen Sie es an der Maschine selbst, sehen Sie nach, dass hinter ihrer Aufforderung nichts mehr steht, und sagen Sie erst dann, dass es weitergeht";
const spaced = (name) => name.replaceAll("-", " ");
const hours = (span) => span.replace(/^(\d+)\.(\d+)/, "$1,$2");
const SPANS = { "in the last hour": "in der letzten Stunde", "today": "heute", "this year": "in diesem Jahr" };
const KEYS = { "the cancel key": "die Abbruchtaste", "a key": "eine Taste" };
const TYPED = { "RETURN alone": "nur RETURN", "a secret": "ein Geheimnis" };

const IN_GERMAN = [
  // what state the machine is in
  [/^the machine keeps printing, and is never quiet for long enough to show what state it is in$/, () => "die Maschine schreibt immer weiter und ist nie lange genug still, um zu zeigen, in welchem Zustand sie ist"],
  [/^the console shows "(.*)", which is none of the states that the folder describes$/, (line) => `auf der Konsole steht „${line}“, und das ist keiner der beschriebenen Zustände`],
  [/^what the machine printed last is none of the states that the folder describes$/, () => "was die Maschine zuletzt schrieb, gehört zu keinem der beschriebenen Zustände"],
  [/^what the machine sends is not text \((.+)\)(?:: is its (.+) set differently\?)?$/, (_, what) => `was die Maschine sendet, ist kein Text${what ? ": Ist ihre Leitung anders eingestellt?" : ""}`],
  [/^the question (.+) was left open, so nothing was typed$/, (name) => `die Frage „${spaced(name)}“ blieb offen, also wurde nichts getippt`],
  [/^the machine is silent, and a question may be open unseen, so nothing was typed$/, () => "die Maschine ist still, und vielleicht ist eine Frage offen, die niemand sieht; also wurde nichts getippt"],
  [/^it is at (.+), and its folder has no way home from there: ask an engineer(, or switch it off as the closing does)?$/, (place, off) => `die Maschine ist bei „${spaced(place)}“, und von dort ist kein Weg zurück beschrieben: Fragen Sie die Technik${off ? ", oder schalten Sie sie so aus wie beim Herunterfahren" : ""}`],
  [/^(\d+) ways were tried, and none of them led home$/, (n) => `${n} Wege wurden versucht, und keiner führte zurück`],
  [/^the console shows no state that we know$/, () => "die Konsole zeigt keinen bekannten Zustand"],
  [/^part of a command may be on the console$/, () => "auf der Konsole steht vielleicht ein halber Befehl"],
  [/^the machine is at (.+) already$/, (place) => `die Maschine ist schon bei „${spaced(place)}“`],
  [/^the console is at (.+)$/, (place) => `die Konsole ist bei „${spaced(place)}“`],
  [/^the machine is silent: nothing has come since (.+?) was typed(?:, so these were not tried: (.+))?$/, (key, steps) => `die Maschine ist still: Seit ${KEYS[key] ?? key} getippt wurde, ist nichts gekommen${steps ? `; diese Schritte wurden deshalb nicht versucht: ${stepsOf(steps)}` : ""}`],

  // typing
  [/^(.+), and this machine has no key that cancels it\. Nothing more is typed, .+$/, (what, tell) => `${tell(what)}, und diese Maschine hat keine Taste, die es abbricht. ${LOOK}`],
  [/^(.+)\. The cancel key was typed, but this machine doesn't show whether it took it\. Nothing more is typed, .+$/, (what, tell) => `${tell(what)}. Die Abbruchtaste wurde getippt, aber diese Maschine zeigt nicht, ob sie sie genommen hat. ${LOOK}`],
  [/^part of a secret is half typed on the console$/, () => "auf der Konsole steht ein halb getipptes Geheimnis"],
  [/^part of a command may be half typed on the console$/, () => "auf der Konsole steht vielleicht ein halb getippter Befehl"],
  [/^"(.*)" is half typed on the console(?: \(the console shows "(.*)"\))?$/, (typed, shown) => `„${typed}“ steht halb getippt auf der Konsole${shown ? ` (dort steht „${shown}“)` : ""}`],
  [/^(.+?) (?:were|was) typed, and the machine hasn't shown that it took (?:them|it)$/, (what) => `${typedOf(what)} wurde getippt, und die Maschine hat nicht gezeigt, dass sie es genommen hat`],
  [/^the machine showed the secret that was being typed(, so it was cancelled)?$/, (cancelled) => `die Maschine hat das Geheimnis gezeigt, das getippt wurde${cancelled ? "; es wurde abgebrochen" : ""}`],
  [/^after RETURN the machine showed more than was typed$/, () => "nach RETURN hat die Maschine mehr gezeigt, als getippt wurde"],
  [/^the machine did not answer RETURN with a new line within (.+?) s: (.+) and RETURN were typed(, then the cancel key)?, and it is not typed again$/, (s, what, cancelled) => `die Maschine hat RETURN nicht in ${hours(s)} s mit einer neuen Zeile beantwortet: ${typedOf(what)} und RETURN wurden getippt${cancelled ? ", dann die Abbruchtaste" : ""}; es wird nicht noch einmal getippt`],
  [/^the machine is blocking typing, and an earlier command still has to be cancelled$/, () => "die Maschine lässt gerade nichts tippen, und ein früherer Befehl ist noch abzubrechen"],
  [/^the machine was asked to show the line again, but may have taken the command instead$/, () => "die Maschine sollte die Zeile noch einmal zeigen, hat aber vielleicht den Befehl genommen"],
  [/^the machine (?:is blocking|blocks) typing$/, () => "die Maschine lässt gerade nichts tippen"],
  [/^the machine isn't blocking typing$/, () => "die Maschine hält das Tippen nicht auf"],
  [/^the machine is still printing$/, () => "die Maschine schreibt noch"],
  [/^the machine has printed nothing at whose end something could be typed$/, () => "die Maschine hat nichts geschrieben, hinter dem etwas getippt werden könnte"],
  [/^the console shows (.+), which is another prompt or display$/, (name) => `auf der Konsole steht „${spaced(name)}“, und das ist eine andere Aufforderung oder Anzeige`],
  [/^only a command is typed at a prompt that isn't recognised, never a secret or a key$/, () => "an einer unbekannten Aufforderung wird nur ein Befehl getippt, nie ein Geheimnis oder eine einzelne Taste"],
  [/^nothing answered the key that was typed before, so it may answer (.+): look at what the machine has taken, then say go on$/, (name) => `die Taste von vorher wurde nicht beantwortet und beantwortet vielleicht „${spaced(name)}“: Sehen Sie nach, was die Maschine genommen hat, und sagen Sie dann, dass es weitergeht`],
  [/^after the cancel key, the console showed (.+)$/, (name) => `nach der Abbruchtaste stand auf der Konsole „${spaced(name)}“`],
  [/^what was typed could not be sent: (.+)$/, (why) => `was getippt wurde, ließ sich nicht senden: ${why}`],
  [/^what was typed came back before the machine can have received it, so it proves nothing$/, () => "was getippt wurde, kam zurück, bevor die Maschine es haben konnte; das beweist also nichts"],
  [/^the machine's folder says never to type (.+)$/, (text) => `„${text}“ soll an dieser Maschine nie getippt werden`],
  [/^it has a character that can't be typed$/, () => "ein Zeichen darin lässt sich nicht tippen"],
  [/^The secret (.+) has a character that no keyboard of its time has\. It can't be typed\. Look at .+$/, (name) => `Das Geheimnis „${name}“ hat ein Zeichen, das keine Tastatur jener Zeit hat. Es lässt sich nicht tippen. Die Technik sieht nach, wo die Geheimnisse aufbewahrt werden`],
  [/^The secret (.+) isn't known here\. It can't be typed\. Look at .+$/, (name) => `Das Geheimnis „${name}“ ist hier nicht bekannt. Es lässt sich nicht tippen. Die Technik sieht nach, wo die Geheimnisse aufbewahrt werden`],
  [/^README\.md says how to write them\.$/, () => "README.md sagt, wie man sie einträgt."],
  [/^The machine's (.+) calendar has no year for (\d+)\. It can handle (\d+) to (\d+), and its rule gives (\d+)\. .+$/, (name, year, first, last, given) => `Der Kalender „${name}“ der Maschine hat kein Jahr für ${year}. Er reicht von ${first} bis ${last}, und seine Regel ergibt ${given}. Die Technik muss in machine.toml ein anderes Jahr einstellen.`],
  [/^Nobody has agreed that the machine's (.+) calendar is given this date\. .+$/, (name) => `Niemand hat zugestimmt, dass der Kalender „${name}“ der Maschine dieses Datum bekommt. Ein Ablauf, der aufräumt, fragt niemanden`],

  // how a script ended
  [/^(?:a docent|a person|docent \d+|engineer \d+|\S+) said stop: (.+)$/, (why) => `jemand hat „Tippen anhalten“ gedrückt: ${why}`],
  [/^a person said that it can't be done$/, () => "jemand hat gesagt, dass es nicht geht"],
  [/^a person said that the machine may not be given this date(?:: (.+))?$/, (why) => `jemand hat gesagt, dass die Maschine dieses Datum nicht bekommen darf${why ? `: ${why}` : ""}`],
  [/^the line was lost: (.+)$/, (why) => `die Verbindung zur Maschine war unterbrochen: ${why}`],
  [/^it was left unfinished$/, () => "es war unfertig geblieben"],
  [/^it was told to end$/, () => "das Programm wurde beendet"],
  [/^the rounds have gone on by themselves (once|\d+ times) today, and no more is allowed$/, (had) => `die Runden sind heute schon ${had === "once" ? "einmal" : had.replace(" times", "-mal")} von selbst weitergegangen, und öfter dürfen sie es nicht`],
  [/^(\S+) of the step (\S+) isn't known from the run before$/, (_, step) => `was der Schritt „${spaced(step)}“ beim vorigen Mal ergab, ist nicht bekannt`],
  [/^the machine never gave \S+ of the step (\S+)$/, (step) => `die Maschine hat nie gesagt, was der Schritt „${spaced(step)}“ ergab`],
  [/^(.+) had the keyboard when the program ended$/, (who) => `${personOf(who)} hatte die Tastatur, als das Programm endete`],
  [/^the disc for the recordings was full: end this, free some space and start again$/, () => "der Speicher für die Aufzeichnungen war voll: Die Technik muss das Programm beenden, Platz schaffen und neu starten"],

  // what turns a day, and what holds the rounds
  [/^nobody has given a sign of being there for (.+)$/, (span) => `seit ${hours(span)} hat niemand gezeigt, dass jemand da ist`],
  [/^the closing waits for somebody to be there$/, () => "das Herunterfahren wartet, bis jemand da ist"],
  [/^the opening is done$/, () => "das Hochfahren ist fertig"],
  [/^the closing is done$/, () => "das Herunterfahren ist fertig"],
  [/^the (.+) is done$/, (script) => `der Ablauf „${spaced(script)}“ ist fertig`],
  [/^the keyholder agrees$/, () => "die zuständige Person stimmt zu"],
  [/^the discs made (\d+) errors in ([\d.]+) exerciser-hours, and the limit is (.+) an exerciser-hour$/, (n, h, most) => `die Platten haben in ${hours(h)} Stunden Arbeit ${n} Fehler gemacht, und die Grenze ist ${hours(most)} je Stunde`],
  [/^the exercisers had (.+?) (in the last hour|today|this year) and it takes (.+), but the limit is (.+)$/, (had, span, takes, most) => `die Maschine hat ${SPANS[span]} ${hours(had)} gearbeitet, die Runde braucht ${hours(takes)}, und die Grenze ist ${hours(most)}`],
  [/^the (.+) was started (\d+) times today, and the limit is (\d+)$/, (part, had, most) => `dieser Teil wurde heute ${had}-mal gestartet, und die Grenze ist ${most}: ${spaced(part)}`],
  [/^the original pack (.+) is in the (.+), and only an engineer may use it$/, (label, drive) => `der originale Plattenstapel ${label} liegt im Laufwerk „${spaced(drive)}“, und nur die Technik darf ihn benutzen`],
  [/^(.+) writes, and (.+)$/, (job, why, tell) => `„${spaced(job)}“ schreibt, und ${tell(why)}`],
  [/^nobody has confirmed which pack is in the (.+)$/, (drive) => `niemand hat bestätigt, welcher Plattenstapel im Laufwerk „${spaced(drive)}“ liegt`],
  [/^the pack (.+) in the (.+) may not be written$/, (label, drive) => `auf den Plattenstapel ${label} im Laufwerk „${spaced(drive)}“ darf nicht geschrieben werden`],
  [/^the script (.+) asks for it$/, (scripts) => `danach fragt der Ablauf ${scripts.split(" or ").map((one) => `„${spaced(one)}“`).join(" oder ")}`],
  [/^the machine rests between two rounds$/, () => "die Maschine ruht zwischen zwei Runden"],

  // why something that was asked for isn't done
  [/^a script is running: say stop first, or wait until it ends$/, () => "ein Ablauf läuft: Halten Sie zuerst das Tippen an, oder warten Sie, bis er endet"],
  [/^the day hasn't been opened$/, () => "der Tag hat noch nicht begonnen"],
  [/^the opening isn't over yet$/, () => "das Hochfahren ist noch nicht fertig"],
  [/^the scripts were stopped, so nothing begins until somebody says that they can go on$/, () => "das Tippen wurde angehalten, und es beginnt nichts, bis jemand sagt, dass es weitergehen kann"],
  [/^nothing waits for that: the rounds go on by themselves$/, () => "darauf wartet nichts: Die Runden gehen von selbst weiter"],
  [/^that was said already: no round begins until somebody is back$/, () => "das wurde schon gesagt: Keine Runde beginnt, bis jemand zurück ist"],
  [/^say for how many minutes, from 1 to (\d+)$/, (most) => `sagen Sie, für wie viele Minuten: 1 bis ${most}`],
  [/^nothing has failed$/, () => "es ist nichts misslungen"],
  [/^nothing is being typed any more$/, () => "es wird schon nichts mehr getippt"],
  [/^these scripts were started to run once, in order, and not by the day$/, () => "diese Abläufe laufen nur einmal, einer nach dem anderen, und nicht nach dem Tag"],
  [/^this machine is only watched: nothing is typed at it$/, () => "diese Maschine wird nur beobachtet: An ihr wird nichts getippt"],
  [/^it is a question about a date, to be answered with yes, no or not yet$/, () => "es ist eine Frage zum Datum: Die Antwort ist ja, nein oder noch nicht"],
  [/^nobody is being asked for the (prompt of the )?step (.+) now$/, (prompt, step) => `nach ${prompt ? "der Aufforderung für den" : "dem"} Schritt „${spaced(step)}“ wird gerade nicht gefragt`],
  [/^nobody is being asked what to do about the step (.+) now$/, (step) => `es wird gerade nicht gefragt, wie es mit dem Schritt „${spaced(step)}“ weitergeht`],
  [/^it doesn't say which note$/, () => "es steht nicht dabei, welche Notiz gemeint ist"],
  [/^no trouble of this number is open$/, () => "diese Störung ist nicht offen"],
  [/^a trouble is set aside only with a reason$/, () => "eine Störung wird nur mit einer Begründung zurückgestellt"],
  [/^a trouble is set aside for 1 to (\d+) minutes$/, (most) => `eine Störung wird für 1 bis ${most} Minuten zurückgestellt`],
  [/^(.+) let typing go on$/, (who) => `${personOf(who)} hat das Tippen weitergehen lassen`],
  [/^no job is in doubt$/, () => "von keinem Auftrag ist ungewiss, ob er läuft"],
  [/^somebody has just asked that nothing more be typed$/, () => "gerade hat jemand gesagt, dass nichts mehr getippt werden soll"],

  // the keyboard
  [/^(.+) has the keyboard$/, (who) => `${personOf(who)} hat die Tastatur`],
  [/^nobody has taken the keyboard$/, () => "niemand hat die Tastatur genommen"],
  [/^nobody has the keyboard: take it first$/, () => "niemand hat die Tastatur: Nehmen Sie sie zuerst"],
  [/^in the last 10 minutes nobody has said at the machine that they are there: have somebody there say so$/, () => "in den letzten 10 Minuten hat niemand an der Maschine gesagt, dass jemand da ist: Bitten Sie jemanden dort, es zu sagen"],
  [/^there is nothing to type$/, () => "es gibt nichts zu tippen"],
  [/^this machine has no character for part of it$/, () => "für einen Teil davon hat diese Maschine keine Zeichen"],
  [/^only one line can be typed at a time, so that what asks for a secret is seen first$/, () => "es lässt sich nur eine Zeile auf einmal tippen, damit zu sehen ist, ob nach einem Geheimnis gefragt wird"],
  [/^the folder of this machine bars such a command \((.+)\): say "(.+)" to type it$/, (text) => `ein solcher Befehl ist für diese Maschine gesperrt (${text}): Bestätigen Sie, dass es so gemeint ist`],
];

function personOf(who) {
  const [role, number] = who.split(" ");
  const known = { docent: "Dienst", engineer: "Technik" }[role];
  return known ? `${known} ${number}` : "jemand";
}

// What was typed: a command in its marks, or what it was.
function typedOf(what) {
  return what.split(" and ").map((one) => TYPED[one] ?? one.replace(/^"(.*)"$/, "„$1“")).join(" und ");
}

function stepsOf(names) {
  return spaced(names).replace(/\(for (.+?), which may still run\)/g, (_, jobs) => `(für ${jobs.replaceAll("number", "Auftrag").replaceAll(" and ", " und ")}; läuft vielleicht noch)`);
}

// The reason in German; one that isn't here, such as what a person wrote, stays as it stands.
export function inGerman(reason, tell) {
  for (const [pattern, says] of [...IN_GERMAN, ...ANSWERS]) {
    const found = pattern.exec(reason);
    if (found) return says(...found.slice(1), tell);
  }
  return reason;
}
