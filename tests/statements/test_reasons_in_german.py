"""Every reason that a docent's page can show has its German; what is never shown there is named here."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from exhibit.desk import words as desk_words
from tests.statements.desk_in_node import ran_in_node
from tests.statements.driven import ON_THE_PAGE
from tests.statements.reasons_in_code import reasons
from tests.statements.test_reasons import STATEMENTS

SECRET = (
    "The secret word {}. It can't be typed. Look at the place where the secrets are kept; README.md says "
    "how to "
    "write them."
)
LOOK = (
    "Nothing more is typed, because RETURN could execute it. Remove it at the machine itself, see that "
    "nothing "
    "is left after its prompt, and only then say go on"
)
EXAMPLES = {
    SECRET.format("has a character that no keyboard of its time has"),
    SECRET.format("isn't known here"),
    f"part of a secret is half typed on the console. The cancel key was typed, but this machine doesn't show "
    f"whether it took it. {LOOK}",
    f"part of a command may be half typed on the console, and this machine has no key that cancels it. "
    f"{LOOK}",
    f"RETURN alone was typed, and the machine hasn't shown that it took it, and this machine has no key that "
    f"cancels it. {LOOK}",
    f'the step end failed, because "g" is half typed on the console (the console shows "X"), and this '
    f"machine has no key that cancels it. {LOOK}",
    "the step end failed, because ready did not come in time",
    "the machine is silent: nothing has come since the cancel key was typed, so these were not tried: "
    "end-two "
    "(for number 2, which may still run), leave",
    "the machine is silent, and a question may be open unseen, so nothing was typed",
    "the machine is blocking typing, and an earlier command still has to be cancelled",
    "the machine was asked to show the line again, but may have taken the command instead",
    "nothing answered the key that was typed before, so it may answer sure: look at what the machine has "
    "taken, "
    "then say go on",
    "what was typed came back before the machine can have received it, so it proves nothing",
    "Nobody has agreed that the machine's tall calendar is given this date. A tidy-up doesn't ask anybody",
    "job of the step go isn't known from the run before",
    "the line was lost: the adapter is gone",
    "a person said that the machine may not be given this date: the disc is younger",
    "what the machine sends is not text (of the last 96 characters 95 have an eighth bit that these settings "
    "don't give; without it they are text): is its parity set differently?",
    "it has a character that can't be typed",
    "the keyholder agrees",
    "there is nothing to type",
    "this machine has no character for part of it",
    "only one line can be typed at a time, so that what asks for a secret is seen first",
    "nobody has the keyboard: take it first",
    'the folder of this machine bars such a command (HALT): say "I mean it" to type it',
    "somebody has just asked that nothing more be typed",
}
"""Reasons that other tests drive."""
NEVER_SHOWN = {
    "a trouble's line, which the page puts in other words": ("XOFF for {} s",),
    "who turned the day, and the names of limits": (
        "the start of this program", "the hours in day.toml", "the limits in day.toml",
        "the rules about the packs", "the state of the machine's parts", "the presence in day.toml",
        "the end of the quiet time", "exercise in a year", "exercise in a day", "exercise in an hour",
        "starts in a day", "the machine rests between two rounds",
    ),
    "in both languages already": (
        "If it doesn't work this time either, leave everything as it is and call: {keyholder}",
        "Geht es auch diesmal nicht, lassen Sie alles, wie es ist, und rufen Sie an: {keyholder}",
        "Touch nothing more for now. Wait until everything that the step needs is ready, then do it once "
        "more.",
        "Berühren Sie erst einmal nichts mehr. Warten Sie, bis alles bereit ist, was der Schritt braucht, "
        "und "
        "machen Sie es dann noch einmal.",
        "Look whether every switch and lamp is as the step says. Then do it once more, without haste.",
        "Sehen Sie nach, ob jeder Schalter und jede Lampe so ist, wie der Schritt sagt. Machen Sie es "
        "dann in "
        "Ruhe noch einmal.",
    ),
    "why a script, a tidy-up or a search for the console's state began, or a key was typed": (
        "somebody asked for it", "somebody is there again", "something else is wanted now",
        "a person has looked", "the line was opened", "the keyboard was given back", "it was opened anew",
        "an answer came late, and all was tidied up", "the script is done", "the way home",
        "a job may still be running, so the tidy-up is tried once more", "the console shows no state that "
        "we know",
        "a person has looked, and the machine has sent nothing since", "part of a command may be on the "
        "console",
        "the display {} was showing, and this key has it painted anew",
        "the machine may be at {}, and this key wakes it",
    ),
    "how a step or a command went on": (
        "the machine took the command", "the command came back wrong, and is typed again when its prompt "
        "is showing",
        "awaiting new line", "it was done before", "it was late, and {} said to leave it out",
    ),
    "what a job in doubt or a count of errors rests on": (
        "the program was ended before the machine had answered",
        "the line was lost before the machine had answered",
        "the machine answered with {}, which doesn't fit the command",
        "another command was typed before the machine had answered", "{} begin with the same line",
        "the command fits {}", "the machine may have taken {} before RETURN was typed",
        "{} was showing, but not the line that says that it has begun",
        "it doesn't end by itself, and nothing was recorded for more than an hour", "the error log",
    ),
    "the terminal's words about the echo": (
        "Switch off the local echo of the adapter (often called half duplex), then start again. To test "
        "that it "
        "is off, switch the machine off and type something: nothing must come back.",
        " If it can't be switched off, an engineer can set echo = \"none\" in machine.toml; `exhibit "
        "check` then "
        "says what noise on the line could do.",
        "What was typed came back before the machine can have received it: something nearer than the "
        "machine is "
        "sending it back, so the echo doesn't prove what the machine took.",
        "What was typed came back in small letters, although this machine makes capitals of them: something "
        "nearer than the machine may be sending it back.",
        "What was typed came back twice: something nearer than the machine may be sending it back too.",
        "The key that was typed came back, and nothing else. If the machine is off, something nearer than "
        "the "
        "machine sends back what is typed.",
    ),
}  # fmt: skip
"""By why: the reasons that no fact holds of which a docent's page says why."""
ENGLISH = re.compile(r"\b(the|were|is|isn't|and|not|did|nothing|nobody|because|undefined)\b")
OTHERS_WORDS = re.compile(r"(gedrückt|nicht geht|bekommen darf|in Ordnung|senden|unterbrochen): .*")
"""What people wrote, and what the machine's folder and the computer say, stays as it is."""


@pytest.fixture(scope="module")
def shown() -> set[str]:
    """The reasons that the page shows in the scenarios of all statements, and in those of other tests."""
    for one in STATEMENTS:
        one.true_when()
        one.not_when()
    return (ON_THE_PAGE | EXAMPLES) - {""}


def in_german(given: list[str], needs: Any, place: Path) -> list[str]:
    script = Path(__file__).with_name("reasons_said.mjs")
    said: list[str] = ran_in_node(needs.node(), script, place, given)
    return said


def test_every_reason_that_can_be_shown_is_in_german(shown: set[str], needs: Any, tmp_path: Path) -> None:
    parts = sorted({part for why in shown for part in re.split(r"; (?![^()]*\))", why)})
    said = in_german(parts, needs, tmp_path)
    assert [part for part, german in zip(parts, said, strict=True) if part == german] == []
    assert [one for one in said if ENGLISH.search(OTHERS_WORDS.sub("", one))] == []


def test_every_reason_is_shown_somewhere_or_named_as_never_shown(shown: set[str]) -> None:
    """So a new one fails here until it has its German, or is known to stay inside."""
    never = {reason for some in NEVER_SHOWN.values() for reason in some}
    text = "\n".join(shown)
    found = {r for r in reasons() if re.search(".+?".join(re.escape(part) for part in r.split("{}")), text)}
    assert set(reasons()) - found - never == set()
    assert never - set(reasons()) == set()
    assert never & found == set()


def test_what_the_desk_itself_answers_is_in_german(needs: Any, tmp_path: Path) -> None:
    constants = [one for name, one in vars(desk_words).items() if name.isupper() and isinstance(one, str)]
    given = [*constants, desk_words.wait(5.0), desk_words.not_paired("")]
    assert len(given) > 20
    said = in_german(given, needs, tmp_path)
    assert [english for english, german in zip(given, said, strict=True) if english == german] == []
    assert [one for one in said if ENGLISH.search(one)] == []
