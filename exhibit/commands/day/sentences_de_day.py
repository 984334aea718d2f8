"""What is said of a day, in German, each sentence by its English text."""

from typing import Final

DAY: Final[dict[str, str]] = {
    (
        'Type "open" to open the day, and "close" to close it. "away" and "back" put the rounds off, as over '
        'lunch;\n"quiet 10" does so for ten minutes, and "round now" begins one at once. "here" says that '
        "somebody is there."
    ): (
        "Tippen Sie „öffnen“, um den Tag zu beginnen, und „schließen“, um ihn zu beenden. „weg“ und „zurück“ "
        "schieben die Runden auf, etwa\nüber Mittag; „ruhe 10“ tut es für zehn Minuten, und „runde jetzt“ "
        "beginnt sofort eine. „hier“ sagt, dass jemand da ist."
    ),
    'The day hasn\'t been opened yet. To open it, type "open".': (
        "Der Tag hat noch nicht begonnen. Um ihn zu beginnen, tippen Sie „öffnen“."
    ),
    "The day is being opened.": "Der Tag wird begonnen.",
    "The day: the rounds go on, each after its rest.": (
        "Der Tag: Die Runden gehen weiter, jede nach ihrer Ruhezeit."
    ),
    'The day: no round begins until you type "back".': (
        "Der Tag: Keine Runde beginnt, bis Sie „zurück“ tippen."
    ),
    'The day: no round begins until the quiet time is over, or you type "back".': (
        "Der Tag: Keine Runde beginnt, bis die stille Zeit vorbei ist oder Sie „zurück“ tippen."
    ),
    'The day: nobody seems to be there, so no round begins. If you are there, type "here".': (
        "Der Tag: Es scheint niemand da zu sein, darum beginnt keine Runde. Wenn Sie da sind, tippen Sie "
        "„hier“."
    ),
    'The day: no script begins until you type "back", or "close" to close it.': (
        "Der Tag: Kein Skript beginnt, bis Sie „zurück“ tippen, oder „schließen“, um ihn zu beenden."
    ),
    "The day is being closed.": "Der Tag wird beendet.",
    'The day is over. The machine is still mirrored. To open the next one, type "open".': (
        "Der Tag ist vorbei. Die Maschine wird weiter gespiegelt. Um den nächsten zu beginnen, tippen Sie "
        "„öffnen“."
    ),
    "  By: {by}.": "  Durch: {by}.",
    "  Because: {why}.": "  Weil: {why}.",
    "The bridge was ended from outside, so it is started again, and the day goes on.": (
        "Das Programm, das mit der Maschine spricht, wurde von außen beendet. Darum wird es neu gestartet, "
        "und der Tag geht weiter."
    ),
    "The docent's page: {address}": "Die Seite für die Aufsicht: {address}",
    "The docent's page had ended and is started again.": (
        "Die Seite für die Aufsicht war zu Ende und wird neu gestartet."
    ),
    "The docent's page isn't there, because:": "Die Seite für die Aufsicht gibt es nicht, denn:",
    "The day goes on without it, and this terminal takes what you type.": (
        "Der Tag geht ohne sie weiter, und dieses Terminal nimmt an, was Sie tippen."
    ),
}
