"""What a person can type at the terminal: English always counts, German where the folder begins with it."""

from __future__ import annotations

import re
from typing import Final, Literal

Means = Literal[
    "yes",
    "not yet",
    "no",
    "can't",
    "too early",
    "it didn't",
    "wait on",
    "leave out",
    "it is the prompt",
    "stop",
    "hands off",
    "go on",
    "let go",
    "no job is running",
    "open",
    "close",
    "away",
    "back",
    "quiet",
    "round now",
    "here",
    "",
]
"""What a line means; empty if it is no answer."""
_ENGLISH: Final[dict[str, Means]] = {
    "yes": "yes",
    "y": "yes",
    "done": "yes",  # as the docent's page calls it
    "not yet": "not yet",
    "too early": "too early",
    "i did it too early": "too early",
    "it didn't": "it didn't",
    "it didn’t": "it didn't",
    "it didnt": "it didn't",
    "didn't": "it didn't",
    "wait on": "wait on",
    "leave out": "leave out",
    "it is the prompt": "it is the prompt",
    "stop": "stop",
    "hands off": "hands off",
    "go on": "go on",
    "let go": "let go",
    "open": "open",
    "close": "close",
    "away": "away",
    "lunch": "away",
    "back": "back",
    "round now": "round now",
    "here": "here",
}
_GERMAN: Final[dict[str, Means]] = {
    "ja": "yes",
    "j": "yes",
    "erledigt": "yes",
    "noch nicht": "not yet",
    "zu früh": "too early",
    "ich war zu früh dran": "too early",
    "es ging nicht": "it didn't",
    "ging nicht": "it didn't",
    "warten": "wait on",
    "weiter warten": "wait on",
    "auslassen": "leave out",
    "das ist der prompt": "it is the prompt",
    "es ist der prompt": "it is the prompt",
    "stopp": "stop",
    "hände weg": "hands off",
    "weiter": "go on",
    "freigeben": "let go",
    "öffnen": "open",
    "schließen": "close",
    "schliessen": "close",
    "weg": "away",
    "mittag": "away",
    "zurück": "back",
    "runde jetzt": "round now",
    "jetzt eine runde": "round now",
    "hier": "here",
}
_QUIET: Final = re.compile(r"(quiet|ruhe) (?:for )?([0-9]{1,3})(?: ?min(?:utes|uten)?)?")
"""For how many minutes, in each language."""
_NO_JOB: Final = ("no job is running",)
_KEIN_AUFTRAG: Final = ("kein auftrag läuft", "es läuft kein auftrag")
"""These are whole sentences, so a full stop may follow."""
_REASON: Final = r"(?:\b[\s,:;.-]+(.*)|)"
"""After a no, or after that it can't be done: the reason, if there is one."""
_ENGLISH_NOES: Final[tuple[tuple[re.Pattern[str], Means], ...]] = (
    (re.compile(rf"(?:it can[’']t be done|can'?t|can’t|cannot){_REASON}", re.IGNORECASE), "can't"),
    (re.compile(rf"(?:no|n){_REASON}", re.IGNORECASE), "no"),
)
_GERMAN_NOES: Final[tuple[tuple[re.Pattern[str], Means], ...]] = (
    (re.compile(rf"(?:geht nicht|das geht nicht|es geht nicht){_REASON}", re.IGNORECASE), "can't"),
    (re.compile(rf"nein{_REASON}", re.IGNORECASE), "no"),
)


def meaning(line: str, *, german: bool) -> tuple[Means, str]:
    """What this line means, and the reason in it, or the minutes: only no, can't and quiet have that."""
    stripped = line.strip()
    word = stripped.lower().rstrip(".")
    if word in (*_NO_JOB, *(_KEIN_AUFTRAG if german else ())):
        return "no job is running", ""
    if (found := _QUIET.fullmatch(word)) and (german or found[1] == "quiet"):
        return "quiet", found[2]
    means = _ENGLISH.get(word) or (_GERMAN.get(word) if german else None)
    if means:
        return means, ""
    for pattern, no in (*_ENGLISH_NOES, *(_GERMAN_NOES if german else ())):
        if found := pattern.fullmatch(stripped):
            return no, (found[1] or "").strip(" .")
    return "", ""
