"""What is asked of the bridge: not too soon, well formed, in nobody else's name, and always answered."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.bridge.request_door import LONGEST_REQUEST_BYTES, Answer, Request
from exhibit.desk.door import MAY_STILL_STOP, NOBODY_KNOWS, PASSED_TO_NOBODY, STOPPED_ANYWAY
from exhibit.desk.messages import LONGEST_MESSAGE_BYTES, Requested, read
from exhibit.desk.shown import AT_LEAST_S, NOT_ASKED, TOO_SOON, AskedByHand
from exhibit.facts import kinds
from tests.desk.desks import Bridge, World, world

ASKED = kinds.HandsOnAsked(script="opening", step="turn-the-key", words={"en": "Turn it."}, caution={})


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    with world(tmp_path_factory.mktemp("desk")) as made:
        yield made


@pytest.fixture
def there(shared: World) -> World:
    shared.bridge.answer = Answer(accepted=True)
    shared.bridge.taken()
    return shared


def test_what_the_bridge_answers_comes_back_in_a_sentence(there: World) -> None:
    tablet = there.tablet("AB")
    there.bridge.answer = Answer(accepted=False, why="nothing has failed")
    assert tablet.asks("clear") == (200, {"accepted": False, "why": "Nothing has failed."})


def test_nothing_is_confirmed_within_a_second_of_being_asked(there: World) -> None:
    tablet = there.tablet("AB")
    before = tablet.news()[1]
    has = {"stream": before["stream"], "after": before["picture"]["seq"], "news": before["news"]}
    there.happens(ASKED)
    assert tablet.news(**has)[0] == 200  # so the desk knows by now
    known_s = time.monotonic()
    answer = tablet.asks("confirm", step="turn-the-key")[1]
    if time.monotonic() - known_s < AT_LEAST_S:  # the computer didn't stall in between
        assert answer == {"accepted": False, "why": TOO_SOON}
        assert there.bridge.taken() == []
    while not tablet.asks("confirm", step="turn-the-key")[1]["accepted"]:
        pass
    assert time.monotonic() - known_s > AT_LEAST_S / 2
    assert [(one.request, one.step, one.by) for one in there.bridge.taken()] == [
        ("confirm", "turn-the-key", "docent 1")
    ]
    assert tablet.asks("confirm", step="another")[1] == {"accepted": False, "why": NOT_ASKED}
    assert there.bridge.taken() == []


def test_why_a_step_is_not_done_yet_reaches_the_recording(there: World) -> None:
    why = "a step before was confirmed before it was done, one of: start-small"
    assert there.tablet("AB").asks("not yet", step="start-upper", why=why)[1]["accepted"]
    (asked,) = there.bridge.taken()
    made = asked.made()
    assert (made.request, made.step, made.why) == ("not yet", "start-upper", why)


class Clock:
    now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def test_a_step_can_be_confirmed_a_second_after_it_was_asked_for_and_until_it_is_over() -> None:
    clock = Clock()
    asked = AskedByHand(clock)
    assert asked.why_not("turn-the-key") == NOT_ASKED
    asked.take(kinds.Entry(1, 0, ASKED))
    assert asked.why_not("turn-the-key") == TOO_SOON
    clock.now_s += 0.999
    assert asked.why_not("turn-the-key") == TOO_SOON
    clock.now_s += 0.001
    assert asked.why_not("turn-the-key") == ""
    assert asked.why_not("") == asked.why_not("another") == NOT_ASKED
    asked.take(kinds.Entry(2, 0, kinds.HandsOnPutOff(step="turn-the-key", by="docent 1")))
    assert asked.why_not("turn-the-key") == TOO_SOON, "it is asked anew"
    clock.now_s += 1
    assert asked.why_not("turn-the-key") == ""
    asked.take(kinds.Entry(3, 0, kinds.HandsOnConfirmed(step="turn-the-key", by="docent 1")))
    assert asked.why_not("turn-the-key") == NOT_ASKED


@pytest.mark.parametrize(
    "message",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'"stop"',
        b"{}",
        b"\xff\xfe",
        b"[" * 20_000,
        {"request": "reboot"},
        {"request": ["stop"]},
        {"request": "stop", "by": "engineer 1"},
        {"request": "stop", "extra": 1},
        {"request": "here", "step": "x" * 101},
        {"request": "here", "why": "x" * 401},
        {"request": "here", "text": "x" * 201},
        {"request": "here", "step": "a\nb"},
        {"request": "here", "step": "a\n"},
        {"request": "here", "why": "a\x1b[2Jb"},
        {"request": "here", "text": "a\u2713b"},
        {"request": "here", "why": "a\u202eb"},
        {"request": "here", "about": -1},
        {"request": "here", "about": 2**53},
        {"request": "here", "about": 1.5},
        {"request": "here", "about": "1"},
        {"request": "here", "minutes": 24 * 60 + 1},
        {"request": "here", "minutes": True},
    ],
)
def test_what_is_malformed_is_refused_and_reaches_nobody(there: World, message: Any) -> None:
    status, answer = there.tablet("AB").post("/today/request", message)
    assert (status, answer["accepted"]) == (400, False)
    assert there.bridge.taken() == []


@pytest.mark.parametrize(
    "kind", [None, "text/plain", "application/x-www-form-urlencoded", "multipart/form-data"]
)
def test_what_a_form_of_another_page_could_send_is_refused(there: World, kind: str | None) -> None:
    status, _ = there.tablet("AB").post("/today/request", {"request": "here"}, {"Content-Type": kind})
    assert status == 415
    assert there.bridge.taken() == []


def test_what_is_too_long_is_refused_unread(there: World) -> None:
    tablet = there.tablet("AB")
    assert tablet.post("/today/request", b" " * (LONGEST_MESSAGE_BYTES + 1))[0] == 413
    assert tablet.post("/today/sign-in", b" " * (LONGEST_MESSAGE_BYTES + 1))[0] == 413
    assert there.bridge.taken() == []


def test_the_longest_request_fits_through_the_bridge_s_door() -> None:
    widest = "\U0001f30a"
    assert read(
        msgspec.json.encode(
            {"request": "set aside", "step": widest * 100, "why": widest * 400, "text": "\x01" * 200}
        ),
        Requested,
    )
    longest = Request(
        request="set aside",
        by="engineer 1000",
        step=widest * 100,
        why=widest * 400,
        text="\x01" * 200,
        about=2**53 - 1,
        minutes=1440,
    )
    assert len(msgspec.json.encode(longest)) < LONGEST_REQUEST_BYTES


def test_a_bridge_that_does_not_answer_in_time_is_told_of_in_words_and_others_are_not_held_up(
    there: World,
) -> None:
    there.bridge.answer = None
    said: dict[str, Any] = {}

    def ask(request: str) -> None:
        said[request] = there.tablet("AB").asks(request)

    threads = [threading.Thread(target=ask, args=(request,)) for request in ("stop", "round now")]
    for thread in threads:
        thread.start()
    began_s = time.monotonic()
    there.tablet("CD").news()
    for thread in threads:
        thread.join()
    assert said == {
        "stop": (200, {"accepted": False, "why": MAY_STILL_STOP}),
        "round now": (200, {"accepted": False, "why": NOBODY_KNOWS}),
    }
    assert time.monotonic() > began_s


def test_the_desk_lives_on_when_the_bridge_is_killed_and_finds_the_next_one(tmp_path: Path) -> None:
    with world(tmp_path) as there:
        tablet = there.tablet("AB")
        assert tablet.news()[1]["bridge"] is True
        there.bridge.end()
        assert tablet.asks("stop")[1] == {"accepted": False, "why": STOPPED_ANYWAY}
        assert tablet.asks("round now")[1] == {"accepted": False, "why": PASSED_TO_NOBODY}
        assert tablet.news()[1]["bridge"] is False
        there.bridge = Bridge(tmp_path)
        assert tablet.asks("stop")[1]["accepted"] is True
        assert [one.request for one in there.bridge.taken()] == ["stop"]
        assert tablet.news()[1]["bridge"] is True


def test_a_page_gets_what_is_newer_as_soon_as_it_is_there(there: World) -> None:
    tablet = there.tablet("AB")
    whole = tablet.news()[1]
    assert whole["signed_in"] == {"role": "docent", "name": "AB"}
    assert whole["badge"]["name"]
    has = {"stream": whole["stream"], "after": whole["picture"]["seq"], "news": whole["news"]}
    came: list[dict[str, Any]] = []
    waiting = threading.Thread(target=lambda: came.append(tablet.news(**has)[1]))
    waiting.start()
    seq = there.happens(kinds.BytesReceived(bytes="HELLO", first_us=1))
    waiting.join()
    assert came[0]["picture"]["seq"] >= seq
    assert came[0]["whole"] is False


@pytest.mark.parametrize("has", [{"after": -1}, {"after": 2**53}, {"more": 1}, {"stream": "x" * 10_000}])
def test_a_question_beyond_its_bounds_is_refused(there: World, has: dict[str, Any]) -> None:
    assert there.tablet("AB").news(**has)[0] == 400


def test_a_device_can_have_some_questions_open_and_no_more(there: World) -> None:
    tablet = there.tablet("AB")
    whole = tablet.news()[1]
    has = {"stream": whole["stream"], "after": whole["picture"]["seq"], "news": whole["news"]}
    statuses: list[int] = []
    threads = [
        threading.Thread(target=lambda: statuses.append(tablet.copy().news(**has)[0])) for _ in range(9)
    ]
    for thread in threads:
        thread.start()
    while 429 not in statuses:
        assert any(thread.is_alive() for thread in threads)
        time.sleep(0.01)
    there.happens(kinds.BytesReceived(bytes="HELLO", first_us=1))
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [200] * 6 + [429] * 3
    assert tablet.news()[0] == 200
