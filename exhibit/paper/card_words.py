"""The card's own words: what stands on it besides the words of the machine's folder."""

from __future__ import annotations

from typing import Final

CARD: Final[dict[str, dict[str, str]]] = {
    "en": {
        "title": "{machine}: the card for a day without the computer",
        "mains_stop": "Mains stop",
        "keyholder": "Keyholder",
        "emergencies": "In an emergency",
        "site first": (
            "This site’s own rules come first. Where they differ from this card, do what they say."
        ),
        "site": "The rules of this site",
        "two_people": "Two people",
        "risk_assessment": "Risk assessment",
        "fire_watch": "Fire watch",
        "rules": "Rules",
        "by whom": (
            "If the computer is dead, somebody who knows the console types at the machine’s own "
            "terminal what stands in typewriter letters. If nobody does, the machine stays as it is: "
            "call the keyholder."
        ),
        "step": "Step {number} of {count}",
        "at": "When the console shows {at}, type {command} and press RETURN.",
        "if at": "Only if the console shows {at}, type {command} and press RETURN.",
        "secret": "When the console shows {at}, type the secret word “{secret}”, which isn’t on this card.",
        "key": "Press the key {key}.",
        "then": "Then it shows {until}.",
        "wait": "Wait until it shows {until}.",
        "or": " or ",
        "number": "[the number]",
        "years": "(a year from {earliest} to {latest})",
        "pause": "Wait {seconds} s.",
        "stopping": "Stopping by hand what may still be running",
        "stopping first": "Look at the machine first: what has ended needs no stopping.",
        "away": "Taking this computer away, and putting the machine’s own terminal back",
        "away caution": (
            "Who may: somebody who has been shown this very plug, with the keyholder’s word. Touch "
            "only signal plugs: no mains plug, and nothing behind a cover. If you aren’t sure which "
            "plug it is, leave it and call the keyholder."
        ),
        "away when": (
            "Do it while the machine waits at a prompt and nothing runs: to some machines an "
            "unplugged line looks like their BREAK key, which can halt them."
        ),
        "away end": (
            "If this computer still works, end the program first: press Ctrl-C where it runs, or use "
            "its stop and wait."
        ),
        "away pull": (
            "Mark this computer’s signal plug. Loosen its screws and pull it straight out; never pull "
            "at the cable."
        ),
        "away plug": "Put in the terminal’s own plug: {plug}",
        "away plain": "Put the terminal’s own plug in the same place.",
        "away set": "Set the terminal to {settings}.",
        "away look": "Switch the terminal on. It should show what the machine prints next.",
        "settings": "{baud} baud, {bits} data bits, {parity}, {stops}, {flow}",
        "parity none": "no parity",
        "parity even": "even parity",
        "parity odd": "odd parity",
        "stops 1": "1 stop bit",
        "stops 2": "2 stop bits",
        "flow none": "no flow control",
        "flow xon/xoff": "flow control XON/XOFF",
        "printed from": (
            "Printed from the folder {folder} by {software}. Print it anew when the folder changes."
        ),
    },
    "de": {
        "title": "{machine}: die Karte für einen Tag ohne Rechner",
        "mains_stop": "Not-Aus",
        "keyholder": "Zuständige Person",
        "emergencies": "Im Notfall",
        "site first": (
            "Die Regeln des Hauses gehen vor. Wo sie von dieser Karte abweichen, tun Sie, was sie sagen."
        ),
        "site": "Die Regeln des Hauses",
        "two_people": "Zu zweit",
        "risk_assessment": "Gefährdungsbeurteilung",
        "fire_watch": "Brandwache",
        "rules": "Regeln",
        "by whom": (
            "Wenn der Rechner ausgefallen ist, tippt jemand, der die Konsole kennt, am eigenen "
            "Terminal der Maschine, was in Schreibmaschinenschrift steht. Kann das niemand, bleibt "
            "die Maschine, wie sie ist: Rufen Sie die zuständige Person."
        ),
        "step": "Handgriff {number} von {count}",
        "at": "Wenn die Konsole {at} zeigt: {command} tippen und RETURN drücken.",
        "if at": "Nur wenn die Konsole {at} zeigt: {command} tippen und RETURN drücken.",
        "secret": (
            "Wenn die Konsole {at} zeigt: das geheime Wort „{secret}“ tippen, das nicht auf dieser "
            "Karte steht."
        ),
        "key": "Die Taste {key} drücken.",
        "then": "Dann zeigt sie {until}.",
        "wait": "Warten, bis sie {until} zeigt.",
        "or": " oder ",
        "number": "[die Nummer]",
        "years": "(ein Jahr von {earliest} bis {latest})",
        "pause": "{seconds} s warten.",
        "stopping": "Von Hand anhalten, was noch laufen kann",
        "stopping first": (
            "Sehen Sie zuerst an der Maschine nach: Was schon beendet ist, muss niemand anhalten."
        ),
        "away": "Diesen Rechner abnehmen und das eigene Terminal der Maschine wieder anschließen",
        "away caution": (
            "Wer darf das: wem dieser Stecker gezeigt wurde und wem die zuständige Person es erlaubt "
            "hat. Fassen Sie nur Signalstecker an: keinen Netzstecker und nichts hinter einer "
            "Abdeckung. Wenn Sie unsicher sind, lassen Sie den Stecker und rufen Sie die zuständige "
            "Person."
        ),
        "away when": (
            "Tun Sie es, wenn die Maschine auf eine Eingabe wartet und nichts läuft: Für manche "
            "Maschinen sieht eine getrennte Leitung wie die Taste BREAK aus, die sie anhalten kann."
        ),
        "away end": (
            "Wenn dieser Rechner noch geht, beenden Sie zuerst das Programm: mit Strg-C, wo es läuft, "
            "oder mit seinem Stopp, und warten Sie."
        ),
        "away pull": (
            "Markieren Sie den Signalstecker dieses Rechners. Lösen Sie die Schrauben und ziehen Sie "
            "ihn gerade heraus, nie am Kabel."
        ),
        "away plug": "Stecken Sie den Stecker des Terminals ein: {plug}",
        "away plain": "Stecken Sie den Stecker des Terminals an dieselbe Stelle.",
        "away set": "Stellen Sie das Terminal ein: {settings}.",
        "away look": (
            "Schalten Sie das Terminal ein. Es sollte zeigen, was die Maschine als Nächstes druckt."
        ),
        "settings": "{baud} Baud, {bits} Datenbits, {parity}, {stops}, {flow}",
        "parity none": "keine Parität",
        "parity even": "gerade Parität",
        "parity odd": "ungerade Parität",
        "stops 1": "1 Stoppbit",
        "stops 2": "2 Stoppbits",
        "flow none": "keine Flusssteuerung",
        "flow xon/xoff": "Flusssteuerung XON/XOFF",
        "printed from": (
            "Gedruckt aus dem Ordner {folder} mit {software}. Drucken Sie neu, wenn sich der Ordner ändert."
        ),
    },
}
"""By language; a language without words of its own gets the English ones."""


def card_words(tag: str) -> dict[str, str]:
    """The card’s words in the language of this tag."""
    return CARD.get(tag.split("-")[0], CARD["en"])
