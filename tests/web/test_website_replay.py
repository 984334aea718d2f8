"""What a page asks a replay to do, and what it then shows."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest

from tests.pages import made_facts, web_processes
from tests.pages.web_processes import WebProcess
from tests.web.page_line import Line


@pytest.fixture(scope="module")
def replayed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    """A replay of the made day, whose recording was closed properly."""
    folder = tmp_path_factory.mktemp("replay")
    path = made_facts.write(folder / "recordings", made_facts.a_day())
    with web_processes.replay(path, folder / "cache") as web:
        yield web


@pytest.fixture
def line(replayed: WebProcess) -> Iterator[Line]:
    """One page's connection."""
    with Line(replayed) as made:
        yield made


def control(line: Line, do: str, value: float = 0) -> Any:
    line.say("control", {"do": do, "value": value})
    return line.answer()[1]


def test_a_replay_goes_to_a_fact_and_to_a_time_and_says_where_it_is(line: Line) -> None:
    assert control(line, "pause") == {"done": True}
    control(line, "go to fact", 40)
    answer = line.ask()
    assert answer["picture"]["seq"] == 40
    assert answer["badge"]["name"] == "recorded"
    assert answer["controls"]["playing"] is False
    control(line, "go to time", 5_000_000)
    later = line.ask()
    assert later["stream"] != answer["stream"]
    assert later["controls"]["at_us"] == 5_000_000
    assert later["picture"]["seq"] != 40


def test_a_replay_plays_on_and_ends_with_the_last_fact(line: Line) -> None:
    control(line, "go to fact", 1)
    control(line, "rate", 50)
    control(line, "play")
    has = line.ask()
    until_s = time.monotonic() + 60
    while not has["controls"]["ended"] and time.monotonic() < until_s:
        has = line.ask(stream=has["stream"], after=has["picture"]["seq"], news=has["news"])
    assert has["picture"]["seq"] == has["controls"]["end_seq"]
    assert has["controls"]["rate"] == 50


@pytest.mark.parametrize(
    "said",
    [
        None,
        {"do": "stop"},
        {"do": "rate", "value": 0},
        {"do": "rate", "value": -1},
        {"do": "rate", "value": 1e9},
        {"do": "go to fact", "value": -5},
        {"do": "go to fact", "value": 1e300},
        {"do": "go to time", "value": "soon"},
        {"do": "play", "and": 1},
    ],
)
def test_what_a_replay_cannot_do_is_refused(line: Line, said: Any) -> None:
    line.say("control", said)
    assert line.answer()[1] == {"refused": "not understood"}
    assert line.ask()["whole"]


@pytest.mark.parametrize(("do", "value"), [("go to fact", 2**52), ("go to time", 2**52), ("go to fact", 0)])
def test_a_place_beyond_the_recording_is_its_end_or_its_beginning(line: Line, do: str, value: float) -> None:
    control(line, "pause")
    control(line, do, value)
    answer = line.ask()
    assert answer["picture"]["seq"] in (0, answer["controls"]["end_seq"])
