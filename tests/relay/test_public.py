"""What leaves the building is what public.py names; what is typed, people's names and notes stay."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from exhibit.facts import kinds
from exhibit.relay.public import public
from exhibit.streams.recording import Tail
from exhibit.web.picture import Ask
from tests.pages import made_facts
from tests.relay.as_a_page import picture_of, tell
from tests.relay.private_day import MARK, PUBLIC, entries

SAMPLE = Path(__file__).resolve().parents[2] / "recordings/whimbrel-one-round.exhibit"
STAYS = ("badge.may_run", "picture.items.hands_on.", "picture.items.day.said_woken")
"""What a page in the museum gets and nobody else: how a docent stops what may be running, what to do by hand,
and what a person said was done."""


def marked(value: Any, path: str = "") -> Iterator[str]:
    """Where the mark stands."""
    if isinstance(value, dict):
        for name, one in value.items():
            yield from marked(one, f"{path}.{name}")
    elif isinstance(value, list):
        for one in value:
            yield from marked(one, f"{path}[]")
    elif isinstance(value, str) and MARK in value:
        yield path


def paths(value: Any, path: str = "") -> Iterator[str]:
    """The fields that there are."""
    if isinstance(value, list):
        for one in value:
            yield from paths(one, path)
    elif isinstance(value, dict):
        for name, one in value.items():
            yield f"{path}{name}"
            yield from paths(one, f"{path}{name}.")


def test_nothing_that_stays_inside_is_in_any_answer_that_goes_out() -> None:
    inside, outside = set(), set()
    picture = picture_of([])
    for entry in entries():
        tell(picture, [entry])
        answer = picture.answer(Ask())
        inside |= set(marked(answer))
        outside |= set(marked(public(answer)))
    assert {
        ".picture.items.recording.line",
        ".picture.items.hands_on.words.en",
        ".picture.items.caption.because[].value",
        ".picture.items.caption.because[].what",
        ".picture.items.session.why",
        ".picture.items.trouble.do.en",
        ".picture.cable[].text",
    } <= inside, "the day no longer has what should be kept back"
    assert outside == set()
    assert public(picture.answer(Ask()))["picture"]["items"]["caption"]["words"] == {"en": PUBLIC}


def test_what_is_typed_leaves_no_trace_on_the_cable() -> None:
    day = list(made_facts.entries(made_facts.a_day()))
    last = max(place for place, entry in enumerate(day) if isinstance(entry.fact, kinds.BytesTyped))
    picture = picture_of(day[: last + 1])
    pieces = [piece["way"] for piece in picture.view.batch(0).get("cable", [])]
    assert "typed" in pieces
    assert {piece["way"] for piece in public(picture.answer(Ask()))["picture"]["cable"]} <= {"received"}


def test_a_field_that_nobody_has_named_stays_inside() -> None:
    answer = picture_of(list(made_facts.entries(made_facts.a_day()))).answer(Ask())
    answer["picture"]["items"]["visitors"] = MARK
    answer["picture"]["items"]["caption"]["author"] = MARK
    answer["picture"]["typed"] = answer["docent"] = answer["badge"]["docent"] = MARK
    assert list(marked(public(answer))) == []


def test_of_a_whole_round_everything_else_goes_out() -> None:
    """A field that is new on the page is either named in public.py or here."""
    picture, tail = picture_of([]), Tail(SAMPLE)
    had: set[str] = set()
    has: set[str] = set()
    while found := tail.read_new(100):
        tell(picture, found)
        answer = picture.answer(Ask())
        had |= set(paths(answer))
        has |= set(paths(public(answer)))
    tail.close()
    kept_back = {path for path in had - has if not path.startswith(STAYS)}
    assert kept_back == set()
    assert "picture.items.hands_on" in has
    assert len(has) > 500
