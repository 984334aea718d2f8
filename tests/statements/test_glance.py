"""Every statement about the day on the page for signing in: in which states it is made, and in no other."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from exhibit.decisions.page.badge import badge
from tests.pages.desk_states import STATES
from tests.pages.fake_desk import FakeDesk
from tests.statements.desk_in_node import ran_in_node
from tests.statements.test_desk import (
    DATES,
    FAILURES,
    HELD,
    IDLE,
    LATE,
    NOT_DONE,
    OVER,
    SILENT_SLOW,
    SLOW,
    STOPPED_IN,
    TROUBLED,
    UNHEARD,
    WITH_HANDS,
)

BY_WORD = {"before-opening", "away", "nobody-there", "stopped"} | STOPPED_IN
CALM = (
    IDLE
    | SLOW
    | {"opening", "closing", "closing-comes", "closed-by-limits", "quiet", "quiet-after", "troubles"}
)
NOT_HEARD = {"silent", "silent-in-opening"} | UNHEARD | SILENT_SLOW
AT_THE_KEYS = {"keyboard", "at-the-keys"}
ASKED = (WITH_HANDS | DATES | LATE) - {"trouble-in-step"}
SAID: dict[str, tuple[str, set[str]]] = {
    "since": (
        "It has been so since 09:",
        (CALM | BY_WORD | ASKED | OVER | TROUBLED | {"seeking"}) - {"before-opening"},
    ),
    "nothing": ("Nothing waits for somebody now.", CALM),
    "byWord": ("It goes on when somebody signs in and says so.", BY_WORD),
    "needs.failure": ("Stopped at 09:5", FAILURES),
    "needs.trouble": ("A trouble needs somebody, since 09:", TROUBLED),
    "needs.hands on": ("A step by hand waits for an answer, since 09:", WITH_HANDS),
    "needs.date": ("A question waits for an answer, since 09:", DATES),
    "needs.late": ("A step takes too long: since 09:", LATE),
    "needs.held": ("The rounds wait for a person", HELD),
}
"""By the name of its words: what is said, and the states in which it is."""
BORROWED: dict[str, tuple[str, set[str]]] = {
    "rounds": (
        "The rounds run by themselves.",
        IDLE | SLOW | {"troubles", "trouble", "trouble-typing-held"},
    ),
    "runs": (
        "Now: ",
        (CALM | TROUBLED | ASKED | {"rounds", "tidying"}) - {"resting", "engineer", "quiet"},
    ),
    "rests": ("A rest. The next round begins at ", {"resting", "engineer"}),
    "next": ("What comes next: The next round, at ", {"resting", "engineer"}),
    "looked": ("Nothing, until somebody has looked at the machine.", FAILURES),
    "held": ("No round begins until somebody has seen to this.", HELD - {"held-silent"}),
    "silent": ("The machine is silent.", NOT_HEARD),
    "not done": ("As far as this page knows, not all of the closing was done.", NOT_DONE),
    "typed": ("Somebody types at the console.", AT_THE_KEYS),
    "stopping": ("What was started is being stopped.", {"stopping", "stopping-silent", "tidying"}),
    "hands off": ("Hands off: nothing more is typed.", {"hands-off", "hands-off-silent"}),
    "gone": ("The program that talks to the machine has stopped.", {"bridge-gone"}),
    "link": ("The link to the machine is lost.", {"link-lost"}),
    "none": ("Nothing has been started at the machine today.", {"not-started"}),
    "starts": ("The program that talks to the machine is starting.", {"starting"}),
}
"""What the docent's page says too."""
LABELS = {"head", "stop", "handsOff", "nobodyNeeded"}


def day(desk: FakeDesk) -> dict[str, Any]:
    """What a paired device is answered."""
    judged = badge(desk.view.recorded_state(), desk.sight)
    stands = desk.view.at_a_glance() or {}
    return {"badge": {"name": judged.name, "since": judged.since}, "bridge": desk.bridge, **stands}


@pytest.fixture(scope="module")
def said(needs: Any, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    script = Path(__file__).with_name("glance_said.mjs")
    given = [day(make()) for make in STATES.values()]
    told: dict[str, Any] = ran_in_node(needs.node(), script, tmp_path_factory.mktemp("glance"), given)
    return {**told, "by_state": dict(zip(STATES, told["en"], strict=True))}


@pytest.mark.parametrize("key", [*SAID, *BORROWED])
def test_how_the_day_stands_is_said_where_it_is_true_and_nowhere_else(key: str, said: dict[str, Any]) -> None:
    says, where = {**SAID, **BORROWED}[key]
    assert {state for state, text in said["by_state"].items() if says in text} == where


def test_every_state_is_said_in_both_languages(said: dict[str, Any]) -> None:
    assert [state for state, text in said["by_state"].items() if not text] == []
    assert [text for text in said["de"] if not text or "undefined" in text] == []
    assert [text for text in said["en"] if "undefined" in text or " since ." in text] == []


def test_every_word_is_held_to_its_states(said: dict[str, Any]) -> None:
    assert set(said["keys"]) == set(SAID) | LABELS


def test_nothing_that_a_person_wrote_and_nobody_s_number_is_in_it() -> None:
    for make in STATES.values():
        given = json.dumps(day(make()))
        assert "docent" not in given
        assert "engineer" not in given
        assert "comes at three" not in given
