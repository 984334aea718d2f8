"""A line that the machine showed again because a script asked is known as such, and nothing else is."""

from __future__ import annotations

from typing import Any

import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from tests.decisions.heron import S, opened

KEY = "\x0e"
FIRST, LINE = "READY: LIST AGAIN", "READY: LIST"


def view_after(*facts: kinds.AnyFact, **first: Any) -> View:
    view = View()
    for seq, fact in enumerate((opened(**first), *facts), 1):
        view.apply(kinds.Entry(seq, seq * S, fact))
    return view


def shown(*facts: kinds.AnyFact) -> list[tuple[str, str, bool]]:
    again = view_after(*facts).batch(0)["items"]["shown_again"]
    return [(one["first"], one["line"], one["told"]) for one in again]


def printed(text: str) -> kinds.BytesReceived:
    return kinds.BytesReceived(bytes=text, first_us=0)


def typed(text: str, by: str = "script round") -> kinds.BytesTyped:
    return kinds.BytesTyped(bytes=text, count=1, by=by)


ASKED = (printed("READY: LIST"), typed(KEY), printed(" AGAIN\r\n"), printed("READY: "), printed("LIST"))


def test_a_line_shown_again_is_known_with_its_first_showing_and_told_once_a_day():
    once_more = (typed("\r"), printed("\r\nNOTHING\r\n"), *ASKED)
    assert shown(*ASKED) == [(FIRST, LINE, True)]
    assert shown(*ASKED, *once_more) == [(FIRST, LINE, True), (FIRST, LINE, False)]


@pytest.mark.parametrize(
    "facts",
    [
        (printed("READY: LIST"), printed(" AGAIN\r\nREADY: LIST")),
        (printed("READY: LIST"), typed("\r"), printed("\r\nREADY: LIST")),
        (printed("READY: LIST"), typed(KEY, "the terminal"), printed(" AGAIN\r\nREADY: LIST")),
        (printed("READY: LIST"), typed(KEY), printed(" CANCELLED\r\nREADY: ")),
        (printed("READY: LIST"), typed(KEY), printed(" CANCELLED\r\nREADY: "), typed("L"), printed("LIST")),
        (printed("READY: LIST"), typed(KEY), printed(" AGAIN\r\nREADY: LOST")),
        (printed("READY: LIST"), typed(KEY), printed("\r\n== NOTICE ==\r\nREADY: LIST")),
        (printed("A:"), typed(KEY), printed(" AGAIN\r\nA:")),
    ],
    ids=[
        "nobody asked",
        "RETURN",
        "a person",
        "cancelled",
        "typed anew",
        "another",
        "a broadcast",
        "too short",
    ],
)
def test_a_line_that_only_looks_so_is_not(facts: tuple[kinds.AnyFact, ...]):
    assert shown(*facts) == []


def test_a_keyframe_between_the_key_and_the_line_changes_nothing():
    for count in range(len(ASKED) + 1):
        kept = view_after(*ASKED[:count]).snapshot()
        view = View()
        view.restore(kept)
        for seq, fact in enumerate(ASKED[count:], count + 2):
            view.apply(kinds.Entry(seq, seq * S, fact))
        assert [one["first"] for one in view.batch(0)["items"]["shown_again"]] == [FIRST]
