"""What is said of a practice when it is over, in English and German."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from exhibit.facts.fact import Words

_SAID: Final[dict[str, dict[str, str]]] = {
    "en": {
        "none": "No step by hand was done this time. That is no harm: nothing was typed at the machine.",
        "steps": "Thank you for practising. Steps by hand that you did: {done} of {asked}.",
        "in time": "{step} It took {took}; there was {allowed} for it.",
        "took": "{step} It took {took}.",
        "late": "{step} It took {took}, longer than its {allowed}. Take “not yet” when you need more time.",
        "open": "{step} This one stayed open.",
        "put off": "Answers that put a step off: {count}. That is what they are for.",
        "rounds": "Rounds that ran to their end: {count}.",
        "away": "Times that you went to lunch: {count}. No round began meanwhile.",
        "stopped": "Times that you had the typing stopped: {count}.",
        "early": "The practice did this, not you: it pressed START before a drive was ready.",
        "pack": "The practice did this, not you: it set a pack’s switch wrong, so that the pack could be "
        "written on.",
        "power": "The practice did this, not you: it cut the power in the middle of a round.",
        "job": "The practice did this, not you: it had a job on the machine hang.",
        "right": "You noticed, and after {after} you chose “{answer}”. That was the right way.",
        "other": "You noticed, and after {after} you chose “{answer}”. There is a safer way. {advice}",
        "card": "You noticed, and after {after} you chose “{answer}”, which the card asked for. {advice}",
        "waited": "The machine showed it, and you waited before you went on. That was the right way.",
        "unnoticed": "Nothing shows that you noticed. It is easily missed. {advice}",
        "advice early": "While the step by hand is still on the page, choose “I did it too early”. "
        "Otherwise wait for the drive, until the step is asked for again.",
        "advice pack": "Choose “I have seen it” at the trouble, don’t go on, and call whom the page names.",
        "advice power": "Choose “Stop typing” or “Hands off”, and look up the power failure under Emergency.",
        "advice job": "Choose “Stop typing”: what the script began is then stopped, as far as the "
        "machine lets it.",
        "again": "Next, try the same again: it is the second time that shows you know it.",
        "closing": "Next, try the closing too: choose “Close for today” once the opening is done.",
        "try": "Next, try a practice with {name}. Whoever starts the practice can choose that.",
        "try early": "a START that is pressed too early",
        "try pack": "a pack whose switch stands wrong",
        "try power": "a power failure",
        "try job": "a job that hangs",
        "seconds": "{count} s",
        "minutes": "{count} min",
    },
    "de": {
        "none": "Diesmal wurde kein Handgriff getan. Das schadet nicht: An der Maschine "
        "wurde nichts getippt.",
        "steps": "Danke, dass Sie geübt haben. Handgriffe, die Sie getan haben: {done} von {asked}.",
        "in time": "{step} Dauer: {took}; Zeit war dafür {allowed}.",
        "took": "{step} Dauer: {took}.",
        "late": "{step} Dauer: {took}, länger als die {allowed} dafür. Wählen Sie „Noch nicht“, wenn Sie "
        "mehr Zeit brauchen.",
        "open": "{step} Dieser Handgriff blieb offen.",
        "put off": "Antworten, die einen Handgriff aufschoben: {count}. Dafür sind sie da.",
        "rounds": "Runden, die bis zum Ende liefen: {count}.",
        "away": "So oft gingen Sie Mittag essen: {count}. Inzwischen begann keine Runde.",
        "stopped": "So oft ließen Sie das Tippen anhalten: {count}.",
        "early": "Das waren nicht Sie, sondern die Übung: Sie drückte START, bevor ein Laufwerk bereit war.",
        "pack": "Das waren nicht Sie, sondern die Übung: Sie stellte den Schalter eines Plattenstapels "
        "falsch, er wäre beschreibbar gewesen.",
        "power": "Das waren nicht Sie, sondern die Übung: Sie schaltete mitten in einer Runde den Strom ab.",
        "job": "Das waren nicht Sie, sondern die Übung: Sie ließ einen Auftrag auf der Maschine hängen.",
        "right": "Sie haben es bemerkt und nach {after} „{answer}“ gewählt. Das war der richtige Weg.",
        "other": "Sie haben es bemerkt und nach {after} „{answer}“ gewählt. Es gibt einen sichereren Weg. "
        "{advice}",
        "card": "Sie haben es bemerkt und nach {after} „{answer}“ gewählt, wie es die Karte verlangte. "
        "{advice}",
        "waited": "Die Maschine hat es gezeigt, und Sie haben gewartet, bevor Sie weitermachten. Das war der "
        "richtige Weg.",
        "unnoticed": "Nichts zeigt, dass Sie es bemerkt haben. Das übersieht man leicht. {advice}",
        "advice early": "Solange der Handgriff noch auf der Seite steht, wählen Sie „Ich war zu früh "
        "dran“. Sonst warten Sie auf das Laufwerk, bis der Handgriff wieder verlangt wird.",
        "advice pack": "Wählen Sie bei der Störung „Ich habe es gesehen“, machen Sie nicht weiter und "
        "rufen Sie an, wen die Seite nennt.",
        "advice power": "Wählen Sie „Tippen anhalten“ oder „Hände weg“ und lesen Sie im "
        "Notfall-Blatt den Stromausfall nach.",
        "advice job": "Wählen Sie „Tippen anhalten“: Dann wird angehalten, was der Ablauf begonnen hat, "
        "soweit die Maschine es zulässt.",
        "again": "Versuchen Sie als Nächstes dasselbe noch einmal: Beim zweiten Mal sitzt es.",
        "closing": "Versuchen Sie als Nächstes auch das Schließen: Wählen Sie es nach dem Öffnen.",
        "try": "Üben Sie als Nächstes mit {name}. Wer die Übung startet, kann das wählen.",
        "try early": "einem START, der zu früh gedrückt wird",
        "try pack": "einem Plattenstapel, dessen Schalter falsch steht",
        "try power": "einem Stromausfall",
        "try job": "einem Auftrag, der hängen bleibt",
        "seconds": "{count} s",
        "minutes": "{count} min",
    },
}
_ANSWERS: Final[dict[str, dict[str, str]]] = {
    "en": {"refuse": "It can’t be done", "stop": "Stop typing", "too early": "I did it too early"}
    | {"didn't": "It didn’t work", "hands off": "Hands off", "seen": "I have seen it", "not yet": "Not yet"}
    | {"set aside": "Set it aside for a while", "over": "It is over"}
    | {"wait on": "Wait on", "leave out": "Leave out", "clear": "Go on", "close": "Close for today"},
    "de": {"refuse": "Es geht nicht", "stop": "Tippen anhalten", "too early": "Ich war zu früh dran"}
    | {
        "didn't": "Es hat nicht geklappt",
        "hands off": "Hände weg",
        "seen": "Ich habe es gesehen",
        "not yet": "Noch nicht",
    }
    | {"set aside": "Eine Zeit lang zurückstellen", "over": "Es ist vorbei"}
    | {
        "wait on": "Weiter warten",
        "leave out": "Auslassen",
        "clear": "Weitermachen",
        "close": "Für heute schließen",
    },
}
ON_A_CARD: Final = ("seen", "set aside", "over")
"""The answers that the card of a trouble offers; it has no others."""
MISTAKES: Final = ("early", "pack", "power", "job")
"""The mistakes that can be practised on, the easiest first."""
COUNTED: Final = ("rounds", "away", "stopped")
"""What of a day is counted besides the steps by hand."""
_MINUTES_FROM_S: Final = 120


def told(
    steps: Sequence[dict[str, Any]], mistake: dict[str, Any] | None, times: Mapping[str, int]
) -> list[Words]:
    """What is said of these steps and this mistake, sentence by sentence, in each language.

    `times`: how many rounds were done, and how often the docent went away and stopped the typing.
    """
    return [
        dict(zip(_SAID, lines, strict=True))
        for lines in zip(*(_lines(tag, steps, mistake, times) for tag in _SAID), strict=True)
    ]


def _lines(
    tag: str, steps: Sequence[dict[str, Any]], mistake: dict[str, Any] | None, times: Mapping[str, int]
) -> list[str]:
    says = _SAID[tag]

    def time(seconds: int) -> str:
        minutes = seconds >= _MINUTES_FROM_S
        return says["minutes" if minutes else "seconds"].format(
            count=round(seconds / 60) if minutes else seconds
        )

    done = [one for one in steps if one["took_s"] is not None]
    put_off = sum(len(one["put_off"]) for one in steps)
    lines = [says["steps" if done else "none"].format(done=len(done), asked=len(steps))]
    lines += [_step(tag, one, time) for one in steps]
    lines += [says["put off"].format(count=put_off)] if put_off else []
    lines += [says[name].format(count=times[name]) for name in COUNTED if times.get(name)]
    if mistake is not None:
        name = mistake["name"]
        how = "right" if mistake["right"] else "other" if mistake["answer"] else "unnoticed"
        if how == "other" and mistake["answer"] in ON_A_CARD:
            how = "card"
        if how == "unnoticed" and mistake["shown"] == 1:
            how = "waited"
        answer = _ANSWERS[tag].get(mistake["answer"], "")
        after, advice = time(mistake["after_s"]), says[f"advice {name}"]
        lines += [says[name], says[how].format(after=after, answer=answer, advice=advice)]
    return [*lines, _next(says, done, mistake)]


def _step(tag: str, step: dict[str, Any], time: Callable[[int], str]) -> str:
    words: Words = step["words"]
    first = (words.get(tag) or next(iter(words.values()), "")).partition(". ")[0].rstrip(".")
    name = f"{first or step['step']}."
    took_s, allowed_s = step["took_s"], step["allowed_s"]
    how = (
        "open" if took_s is None else "took" if not allowed_s else "late" if took_s > allowed_s else "in time"
    )
    return _SAID[tag][how].format(step=name, took=time(took_s or 0), allowed=time(allowed_s))


def _next(says: dict[str, str], done: Sequence[dict[str, Any]], mistake: dict[str, Any] | None) -> str:
    """What to try next."""
    if mistake is not None and not (mistake["right"] or mistake["shown"] == 1):
        return says["again"]
    if mistake is None and not any(one["script"] == "closing" for one in done):
        return says["closing"]
    after = MISTAKES.index(mistake["name"]) + 1 if mistake is not None else 0
    return says["try"].format(name=says[f"try {MISTAKES[after % len(MISTAKES)]}"])
