"""Tell-tales stand while a person's word for them is fresh; what comes next is told while it is known."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.visitor_words import Ahead, TellTale
from tests.decisions.heron import S, opened

FLICKER = TellTale(
    kind="lamps",
    state="busy",
    part="console",
    lamps="~~",
    begins=["begun", "round.start"],
    ends=["ended", "notice"],
    at_most_us=240 * S,
    confirmed_by=["opening.key"],
    words={"en": "The lamps should flicker."},
    see_or_feel={},
)
LOUD = Ahead(part="left", begins="round.a", step="round.c", usually_us=40 * S, words={"en": "It gets loud."})


class Told:
    """A page's view, told facts one after the other."""

    def __init__(self, **first: object) -> None:
        self.view = View()
        self.seq, self.at_us = 0, 0
        glosses = {"desk": {"en": "waits"}}
        told = {"tell_tales": {"flicker": FLICKER}, "ahead": {"loud": LOUD}, "glosses": glosses}
        self.fact(opened(**{**told, **first}), 0)

    def fact(self, fact: kinds.AnyFact, after_s: float = 1) -> None:
        self.seq += 1
        self.at_us += int(after_s * S)
        self.view.apply(kinds.Entry(self.seq, self.at_us, fact))

    def item(self, name: str):
        return self.view.batch(0)["items"][name]

    def stand(self) -> list[str]:
        return [one["name"] for one in self.item("tell_tales")]

    def ahead(self) -> list[tuple[str, str]]:
        return [(one["name"], one["due"][11:19]) for one in self.item("ahead")]

    def confirm(self, step: str = "key", script: str = "opening") -> None:
        self.fact(kinds.ScriptStarted(script=script, title={}, by="a docent"))
        self.fact(kinds.HandsOnConfirmed(step=step, by="docent 1"))

    def begin(self) -> None:
        self.fact(kinds.PatternSeen(pattern="begun", line="JOB 1 BEGUN"))

    def step(self, name: str, after_s: float = 1) -> None:
        self.fact(kinds.StepStarted(script="round", step=name), after_s)

    def confirmed_and_begun(self) -> None:
        self.confirm()
        self.begin()
        assert self.stand() == ["flicker"]


# -- tell-tales


def test_a_tell_tale_stands_from_what_begins_it_to_what_ends_it():
    told = Told()
    told.confirm()
    assert told.stand() == []
    told.begin()
    assert told.stand() == ["flicker"]
    told.fact(kinds.PatternSeen(pattern="ended", line="JOB 1 ENDED"))
    assert told.stand() == []


def test_it_says_who_confirmed_it_and_when():
    told = Told()
    told.confirmed_and_begun()
    said = told.item("tell_tales")[0]["confirmed"]
    assert (said["by"], said["at"][:19], said["seq"]) == ("docent 1", "2026-11-25T09:00:02", 3)


@pytest.mark.parametrize(
    "ends",
    [
        kinds.InterruptionSeen(interruption="notice", text="== NOTICE =="),
        kinds.LineLost(why="unplugged"),
        kinds.SessionFailed(why="", last_lines=[]),
        kinds.RecordingClosed(why=""),
    ],
)
def test_it_falls_when_nobody_knows_any_longer(ends):
    told = Told()
    told.confirmed_and_begun()
    told.fact(ends)
    assert told.stand() == []


def test_a_step_that_is_done_begins_it_too():
    told = Told()
    told.confirm()
    told.fact(kinds.StepStarted(script="round", step="start"))
    assert told.stand() == []
    told.fact(kinds.StepEnded(script="round", step="start"))
    assert told.stand() == ["flicker"]


def test_without_a_person_s_word_it_never_stands():
    told = Told()
    told.begin()
    assert told.stand() == []
    told.confirm("another")
    told.begin()
    assert told.stand() == []
    told.confirm("key", script="closing")
    told.begin()
    assert told.stand() == []


def test_every_confirmation_that_it_needs_must_be_there():
    both = msgspec.structs.replace(FLICKER, confirmed_by=["opening.key", "opening.lid"])
    told = Told(tell_tales={"flicker": both})
    told.confirm()
    told.begin()
    assert told.stand() == []
    told.confirm("lid")
    told.begin()
    assert told.stand() == ["flicker"]


def test_a_word_of_yesterday_counts_no_more_by_the_museum_s_own_date():
    told = Told(wall="2026-11-25T23:59:50.000+11:00")
    told.confirmed_and_begun()  # 23:59:52 and 53
    told.fact(kinds.StepEnded(script="round", step="other"), 10)
    assert told.stand() == []


def test_it_stands_no_longer_than_its_folder_says():
    told = Told()
    told.confirmed_and_begun()
    told.fact(kinds.StepEnded(script="round", step="other"), 239)
    assert told.stand() == ["flicker"]
    told.fact(kinds.StepEnded(script="round", step="another"), 1)
    assert told.stand() == []


# -- what comes next


def test_what_is_ahead_is_told_with_its_time_until_its_step_begins():
    told = Told()
    told.step("a")
    assert told.ahead() == [("loud", "09:00:41")]
    told.step("b")
    assert told.ahead() == [("loud", "09:00:41")]
    told.step("c")
    assert told.ahead() == []


def test_it_is_foretold_by_how_long_it_took_the_last_time():
    told = Told()
    told.step("a")
    told.step("c", after_s=25)
    told.step("a", after_s=10)
    assert told.ahead() == [("loud", "09:01:01")]


@pytest.mark.parametrize(
    "fact",
    [
        kinds.StepOverdue(script="round", step="b", waited_for=[], within_us=1, last_lines=[]),
        kinds.StepFailed(script="round", step="b", why=""),
        kinds.StepLeftOut(script="round", step="c", why=""),
        kinds.HandsOnAsked(script="round", step="b", words={}, caution={}),
        kinds.TidyUpStarted(script="round", why=""),
        kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why=""),
        kinds.ScriptStarted(script="closing", title={}, by=""),
        kinds.SessionFailed(why="", last_lines=[]),
        kinds.LineLost(why=""),
        kinds.RecordingClosed(why=""),
    ],
)
def test_nothing_is_foretold_any_longer_when_the_script_leaves_its_way(fact):
    told = Told()
    told.step("a")
    told.fact(fact)
    assert told.ahead() == []


def test_how_long_it_took_when_the_script_left_its_way_is_not_learned():
    told = Told()
    told.step("a")
    told.fact(kinds.StepOverdue(script="round", step="b", waited_for=[], within_us=1, last_lines=[]))
    told.step("c", after_s=500)
    told.step("a")
    began, due = told.item("ahead")[0]["began"], told.item("ahead")[0]["due"]
    assert (int(due[17:19]) - int(began[17:19])) % 60 == 40


# -- glosses


def test_lines_with_a_gloss_are_named_as_they_stand_and_no_others():
    told = Told()
    told.fact(kinds.LandmarkReached(landmark="desk", line="DESK TERN: "))
    told.fact(kinds.LandmarkReached(landmark="ready", line="READY:"))
    assert told.item("known") == [{"name": "desk", "line": "DESK TERN:"}]


# -- keyframes


def test_a_view_that_was_kept_goes_on_as_if_nothing_had_been():
    told, kept = Told(), View()
    told.confirmed_and_begun()
    told.step("a")
    kept.restore(told.view.snapshot())
    for fact in (
        kinds.StepStarted(script="round", step="c"),
        kinds.StepStarted(script="round", step="a"),
        kinds.LandmarkReached(landmark="desk", line="DESK TERN: "),
    ):
        told.fact(fact)
        kept.apply(kinds.Entry(told.seq, told.at_us, fact))
    for name in ("tell_tales", "ahead", "known"):
        assert kept.batch(0)["items"][name] == told.item(name) != []
