"""A caption, a tell-tale or a promise is withdrawn once what it says is over, and not shown after that."""

from __future__ import annotations

import pytest

from exhibit.facts import kinds
from tests.decisions.page.runs import (
    ALL_ON,
    AT_WORK,
    BEGUN,
    BEGUN_LINE,
    CLOSED,
    CORE,
    KEY,
    LOST,
    OPENED,
    OVER,
    PROMPT,
    SILENT,
    caption,
    frame,
    items,
    started,
    stopped,
)

TURNED = (
    kinds.ScriptStarted(script="round", title={}, by="x"),
    kinds.HandsOnConfirmed(step="turn", by="a docent"),
)


def shows(*facts: kinds.AnyFact) -> str:
    """The caption that is shown; both items agree."""
    shown = items(*facts)
    assert (shown["caption"] is None) == (shown["seen_caption"] is None)
    return shown["caption"]["id"] if shown["caption"] else ""


def seq_after(*facts: kinds.AnyFact) -> int:
    """The number of the last of these facts."""
    return len(facts) + 1


# -- captions


@pytest.mark.parametrize("fact", [SILENT, LOST, CLOSED, kinds.PlaceRecognised(place="silent", line="")])
def test_no_caption_stays_when_nobody_knows_what_the_machine_does(fact):
    assert shows(*ALL_ON, caption()) == "it"
    assert shows(*ALL_ON, caption(), fact) == ""


def test_while_the_line_is_lost_no_caption_is_shown_and_one_from_before_not_after_it():
    assert shows(*ALL_ON, LOST, caption()) == ""
    assert shows(*ALL_ON, LOST, OPENED, caption(because=(3,))) == ""
    assert shows(*ALL_ON, LOST, OPENED, caption()) == "it"


def test_the_caption_of_a_display_is_over_when_it_is_put_away():
    before = (*ALL_ON, *frame(1), caption(display="board"))
    assert shows(*before) == "it"
    assert shows(*before, *frame(2)) == "it"
    assert shows(*before, KEY) == ""
    assert shows(*before, PROMPT) == ""


def test_a_caption_that_waited_until_its_display_was_put_away_is_not_shown():
    facts = (*ALL_ON, *frame(1))
    late = caption(because=(seq_after(*facts),), display="board")
    other = caption("other")
    assert shows(*facts, other, KEY, late) == "other"
    assert shows(*facts, KEY, *frame(2), caption(display="board")) == "it"


def test_a_caption_of_a_job_is_over_when_that_has_ended():
    before = (*ALL_ON, BEGUN_LINE, caption(because=(6,), job="1"), BEGUN)
    assert shows(*before) == "it"
    assert shows(*before, kinds.ExerciserEnded(exerciser="work", job="2", by="x")) == "it"
    assert shows(*before, OVER) == ""
    assert shows(*before, OVER, BEGUN_LINE, caption("again", job="1"), BEGUN) == "again"


def test_a_caption_of_a_part_is_over_when_that_was_stopped_unless_it_came_with_the_stop():
    line = kinds.PatternSeen(pattern="left-stopped", line="LEFT STOPPED")
    assert shows(*ALL_ON, caption(part="left"), line, stopped("left")) == ""
    assert shows(*ALL_ON, caption(part="right"), line, stopped("left")) == "it"
    with_it = caption("slows", because=(seq_after(*ALL_ON, line),), part="left")
    assert shows(*ALL_ON, line, with_it, stopped("left")) == "slows"
    assert shows(*ALL_ON, line, stopped("left"), with_it) == "slows"
    by_hand = kinds.HandsOnConfirmed(step="stop", by="a docent")
    confirmed = caption("done", because=(seq_after(*ALL_ON, by_hand),), part="left")
    assert shows(*ALL_ON, caption(part="left"), by_hand, stopped("left", "round.stop")) == ""
    assert shows(*ALL_ON, by_hand, stopped("left", "round.stop"), confirmed) == "done"


def test_when_the_machine_is_off_only_a_later_caption_is_shown_even_after_the_recording():
    off = (*ALL_ON, caption(part="right"), stopped("processor"))
    assert shows(*off) == ""
    assert shows(*off, caption("quiet")) == "quiet"
    assert shows(*off, caption("quiet"), CLOSED) == "quiet"


def test_a_machine_that_is_started_anew_ends_what_was_said_but_not_what_its_start_brings():
    woken = caption("woken", because=(seq_after(*ALL_ON, caption(), CORE),), part="processor")
    assert shows(*ALL_ON, caption(part="right"), CORE, started("processor", "core-sound")) == ""
    assert shows(*ALL_ON, caption(), CORE, woken, started("processor", "core-sound")) == "woken"


@pytest.mark.parametrize(
    ("name", "fact"),
    [
        ("closed", kinds.PatternSeen(pattern="closed", line="OFFICE CLOSED")),
        ("ready", PROMPT),
        ("notice", kinds.InterruptionSeen(interruption="notice", text="== X ==")),
        ("round.look", kinds.StepEnded(script="round", step="look")),
    ],
)
def test_what_the_folder_names_ends_a_caption(name, fact):
    assert shows(*ALL_ON, caption(ends=[name]), fact) == ""
    assert shows(*ALL_ON, caption(ends=["another"]), fact) == "it"
    assert shows(*ALL_ON, fact, caption(ends=[name])) == "it"


def test_the_last_seen_caption_ends_apart_from_one_to_look_or_listen_for():
    shown = items(*ALL_ON, caption(part="left"), caption("hum", kind="look or listen for"), stopped("left"))
    assert (shown["caption"]["id"], shown["seen_caption"]) == ("hum", None)


# -- tell-tales


def told(*facts: kinds.AnyFact) -> list[str]:
    return [one["name"] for one in items(*TURNED, *facts)["tell_tales"]]


def test_a_tell_tale_ends_with_its_job_its_part_and_its_machine():
    assert told(*AT_WORK) == ["hum"]
    assert told(*AT_WORK, OVER) == []
    assert told(*AT_WORK, stopped("left")) == []
    assert told(*AT_WORK, stopped("right")) == ["hum"]
    assert told(*AT_WORK, stopped("processor")) == []
    assert told(*AT_WORK, CORE, started("processor", "core-sound")) == []


def test_a_tell_tale_that_a_display_began_ends_with_it():
    assert told(*ALL_ON, *frame(1)) == ["glow"]
    assert told(*ALL_ON, *frame(1), *frame(2)) == ["glow"]
    assert told(*ALL_ON, *frame(1), KEY) == []


# -- promises


def ahead(*facts: kinds.AnyFact) -> list[str]:
    return [one["name"] for one in items(*ALL_ON, *facts)["ahead"]]


def test_a_promise_ends_with_its_part_with_its_display_and_with_what_all_rests_on():
    promised = (*frame(1), kinds.StepStarted(script="round", step="go"))
    assert ahead(*promised) == ["next"]
    assert ahead(*promised, KEY) == []
    assert ahead(*promised, stopped("left")) == []
    assert ahead(*promised, stopped("right")) == ["next"]
    for fact in (stopped("processor"), SILENT, LOST, CLOSED):
        assert ahead(*promised, fact) == []
