"""What the page says of a machine from which nothing is heard although something is due."""

from __future__ import annotations

import pytest

from exhibit.decisions.page.badge import Sight, badge
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.visitor_words import Ahead, TellTale
from tests.decisions.heron import S, opened

SILENT = kinds.MachineSilent(heard_us=60 * S, due_us=61 * S, due="typing")
HEARD = kinds.BytesReceived(bytes="X", first_us=90 * S)
TELL_TALE = TellTale(
    kind="sound", part="left", state="busy", words={"en": "It hums."}, lamps="", see_or_feel={},
    begins=["begun"], ends=[],
    confirmed_by=["round.turn"], at_most_us=600 * S,
)  # fmt: skip
AHEAD = Ahead(part="left", begins="round.go", step="round.next", usually_us=40 * S, words={"en": "A list."})


def caption(name: str = "works", **changes) -> kinds.CaptionShown:
    return kinds.CaptionShown(
        caption=name, kind="seen", words={"en": "It works."}, part="", because=[], source={}
    )


def at_work(*then: tuple[int, kinds.AnyFact]) -> View:
    """A round in which all is said that can be said, and what happened then, each with its second."""
    view = View()
    facts = [
        (0, opened(tell_tales={"hum": TELL_TALE}, ahead={"list": AHEAD})),
        (0, kinds.LineOpened(line="x")),
        (1, kinds.ScriptStarted(script="round", title={"en": "A round"}, by="x", round=1)),
        (2, kinds.HandsOnConfirmed(step="turn", by="a docent")),
        (3, kinds.PatternSeen(pattern="begun", line="BEGUN")),
        (4, kinds.StepStarted(script="round", step="go")),
        (5, caption()),
        *then,
    ]
    for seq, (at_s, fact) in enumerate(facts, 1):
        view.apply(kinds.Entry(seq, at_s * S, fact))
    return view


def items(view: View) -> dict:
    return view.batch(0)["items"]


def said(view: View) -> list[str]:
    return [n for n in ("caption", "seen_caption", "tell_tales", "ahead") if items(view).get(n)]


def name(view: View, mode="live") -> str:
    return badge(view.recorded_state(), Sight(mode=mode, writer="writing")).name


def test_before_that_all_of_it_is_said():
    assert said(at_work()) == ["caption", "seen_caption", "tell_tales", "ahead"]
    assert name(at_work()) == "simulated machine"
    assert items(at_work())["silent"] is None


def test_nothing_is_said_in_the_present_tense_but_since_when_nothing_was_heard():
    view = at_work((70, SILENT))
    assert said(view) == []
    assert items(view)["silent"]["since"] == "2026-11-25T09:01:00.000+00:00"
    told = badge(view.recorded_state(), Sight(mode="live", writer="writing"))
    assert (told.name, told.since) == ("silent", "2026-11-25T09:01:00.000+00:00")


def test_of_a_machine_that_was_never_heard_no_time_is_told():
    view = at_work((70, kinds.MachineSilent(heard_us=0, due_us=61 * S, due="typing")))
    assert items(view)["silent"]["since"] == ""


@pytest.mark.parametrize(
    "fact",
    [HEARD, kinds.HandsOnConfirmed(step="turn", by="x"), kinds.LineLost(why="x"), kinds.LineOpened(line="x")],
)
def test_it_is_withdrawn_when_something_is_heard_or_done_at_the_machine(fact):
    view = at_work((70, SILENT), (90, fact))
    assert items(view)["silent"] is None
    assert said(view) in ([], ["tell_tales"])
    assert "caption" not in said(view)


def test_what_is_given_while_nothing_is_heard_is_not_shown_then_or_later():
    started = kinds.StepStarted(script="round", step="go")
    view = at_work((70, SILENT), (80, caption("later")), (81, started), (90, HEARD))
    assert said(view) == []
    view = at_work((70, SILENT), (90, HEARD), (91, caption("again")))
    assert items(view)["caption"]["id"] == "again"


def test_after_a_failure_the_badge_says_that_it_failed():
    failed = kinds.SessionFailed(why="x", last_lines=[])
    assert name(at_work((70, SILENT), (80, failed))) == "failed"


def test_a_recording_is_badged_as_one_and_says_the_same():
    view = at_work((70, SILENT))
    assert name(view, "replay") == "recorded"
    assert said(view) == []


def test_where_homing_finds_the_machine_silent_no_caption_from_before_stays():
    view = at_work((70, kinds.PlaceRecognised(place="silent", line="")))
    assert "caption" not in said(view)
    assert "seen_caption" not in said(view)


def test_a_keyframe_keeps_it():
    view, again = at_work((70, SILENT)), View()
    again.restore(view.snapshot())
    assert items(again)["silent"] == items(view)["silent"]
    assert name(again) == "silent"
