"""What is said of a practice, in German, each sentence by its English text."""

from typing import Final

PRACTISING: Final[dict[str, str]] = {
    "Practice: nothing is typed at the machine. What answers is a simulated one.": (
        "Übung: An der Maschine wird nichts getippt. Was antwortet, ist eine simulierte."
    ),
    "You can practise at any hour: the hours in day.toml don't apply.": (
        "Sie geht zu jeder Zeit: Die Zeiten in day.toml gelten für sie nicht."
    ),
    "The docent's page for practice: {address}": "Die Seite für die Aufsicht, zur Übung: {address}",
    "That address signs one browser in, within ten minutes. Then it is used up.": (
        "Diese Adresse meldet einen Browser an, innerhalb von zehn Minuten. Danach ist sie verbraucht."
    ),
    "How the practice went:": "Wie die Übung verlief:",
    "Press Ctrl-C to end the practice.": "Zum Beenden der Übung drücken Sie Strg-C.",
    "{folder} has no simulated machine, and practice needs one.": (
        "{folder} hat keine simulierte Maschine, und die Übung braucht eine."
    ),
    "So nothing was started: at the machine itself nobody practises.": (
        "Darum wurde nichts gestartet: An der Maschine selbst übt niemand."
    ),
    "Walk through the printed card instead: `exhibit card {folder} --to card.html`.": (
        "Gehen Sie stattdessen die gedruckte Karte durch: `exhibit card {folder} --to card.html`."
    ),
    "The simulated machine did not start.": "Die simulierte Maschine ist nicht gestartet.",
    "So there is nothing to practise at.": "Darum gibt es nichts, woran geübt werden könnte.",
}
