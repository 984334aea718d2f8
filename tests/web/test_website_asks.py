"""What a page can ask the live web process, and the answers. Nothing fills its memory or breaks it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
import websocket

from exhibit.facts import kinds
from exhibit.streams.recording import RecordingWriter
from exhibit.web.frames import LONGEST_MESSAGE_BYTES
from tests.pages import made_facts, web_processes
from tests.pages.web_processes import WebProcess
from tests.web.page_line import Line, get, memory_kB


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RecordingWriter]:
    """A recording of the made day that is still open."""
    writer = made_facts.begin(tmp_path_factory.mktemp("recordings"))
    for at_s, fact in made_facts.a_day():
        writer.append(fact, int(at_s * 1e6))
    yield writer
    writer.abandon()


@pytest.fixture(scope="module")
def web(recording: RecordingWriter) -> Iterator[WebProcess]:
    """The web process that follows it."""
    with web_processes.live(recording.path.parent) as process:
        yield process


@pytest.fixture
def line(web: WebProcess) -> Iterator[Line]:
    """One page's connection."""
    with Line(web) as made:
        yield made


def test_a_page_asks_and_is_answered_with_the_whole_picture(line: Line) -> None:
    answer = line.ask(stream="", after=0, news=0)
    assert answer["whole"]
    assert answer["picture"]["items"]["seen_caption"]["id"] == "board-stands"


def test_pings_go_every_ten_seconds_and_are_waited_for_ten(line: Line) -> None:
    assert line.opened["pingInterval"] == 10_000
    assert line.opened["pingTimeout"] == 10_000
    assert line.opened["upgrades"] == []


@pytest.mark.parametrize("event", ["connect", "disconnect"])
def test_a_page_cannot_say_in_an_event_where_it_is_or_that_it_has_gone(line: Line, event: str) -> None:
    line.say(event, {"REMOTE_ADDR": "127.0.0.1"})
    asked = line.say("ask", {"stream": "", "after": 0, "news": 0})
    assert line.answer()[0] == asked


@pytest.mark.parametrize("said", [None, 5, "x", [], {"after": -1}, {"stream": 3}, {"other": 1}])
def test_what_is_not_understood_is_refused_and_the_next_question_answered(line: Line, said: Any) -> None:
    line.say("ask", said)
    assert line.answer()[1] == {"refused": "not understood"}
    assert line.ask(stream="", after=0, news=0)["whole"]


def test_a_second_question_before_the_answer_is_refused(line: Line) -> None:
    had = line.ask()
    has = {"stream": had["stream"], "after": had["picture"]["seq"], "news": had["news"]}
    first, second = line.say("ask", has), line.say("ask", has)
    answers = dict(line.answer() for _ in range(2))
    assert answers[second] == {"refused": "one at a time"}
    assert answers[first]["stream"] == had["stream"]


def test_live_there_is_nothing_to_control(line: Line) -> None:
    line.say("control", {"do": "pause"})
    assert line.ask()["whole"]
    assert "controls" not in line.ask()


def test_a_message_beyond_the_bound_ends_the_connection(web: WebProcess) -> None:
    with Line(web) as line:
        line.socket.send("42" + json.dumps(["ask", "x" * (LONGEST_MESSAGE_BYTES + 100)]))
        with pytest.raises((websocket.WebSocketConnectionClosedException, ConnectionError)):
            line.next("43")


def test_a_message_without_end_is_not_gathered(web: WebProcess) -> None:
    """None of its parts is marked as the last, so only the limit on their total size can stop it."""
    before_kB = memory_kB(web.pid)
    part = b"x" * 60_000
    with Line(web) as line, pytest.raises((websocket.WebSocketException, OSError)):
        send_for_ever(line, part)
    assert memory_kB(web.pid) - before_kB < 4_000


def send_for_ever(line: Line, part: bytes) -> None:
    line.socket.send_frame(websocket.ABNF.create_frame(part, websocket.ABNF.OPCODE_TEXT, 0))
    for _ in range(2_000):  # 120 MB
        line.socket.send_frame(websocket.ABNF.create_frame(part, websocket.ABNF.OPCODE_CONT, 0))
    pytest.fail("it was all taken")


@pytest.mark.parametrize("rubbish", ["", "9", "42", "42[", '42["ask"', "43999[]", "451-[]", "4" * 500])
def test_rubbish_ends_at_most_the_connection_that_sent_it(web: WebProcess, rubbish: str) -> None:
    with Line(web) as spoiled, Line(web) as other:
        spoiled.socket.send(rubbish)
        assert other.ask()["whole"]
    with Line(web) as later:
        assert later.ask()["whole"]


def test_a_page_of_another_origin_is_turned_away(web: WebProcess) -> None:
    upgrade = {
        "Connection": "Upgrade",
        "Upgrade": "websocket",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",  # RFC 6455 s.1.3
    }
    address = "/socket.io/?EIO=4&transport=websocket"
    assert get(web, address, Origin="http://elsewhere.example", **upgrade).status == 403
    with Line(web, origin=web.address.rstrip("/")) as line:
        assert line.ask()["whole"]


def test_only_the_websocket_transport_is_spoken(web: WebProcess) -> None:
    assert get(web, "/socket.io/?EIO=4&transport=polling").status == 400


def test_something_new_is_sent_without_waiting_for_the_second_to_end(
    web: WebProcess, recording: RecordingWriter, line: Line
) -> None:
    had = line.ask()
    asked = line.say("ask", {"stream": had["stream"], "after": had["picture"]["seq"], "news": had["news"]})
    written = recording.append(kinds.BytesReceived(bytes="\x1b[24;1HNEW", first_us=0), 20_000_000)
    number, answer = line.answer()
    assert number == asked
    if answer["picture"]["seq"] < written.seq:  # the second was over just before
        answer = line.ask(stream=answer["stream"], after=answer["picture"]["seq"], news=answer["news"])
    assert answer["picture"]["seq"] == written.seq
    assert answer["picture"]["console"]["rows"]["23"] == [["NEW", ""]]


def test_a_page_that_asks_but_never_reads_makes_no_queue(web: WebProcess, recording: RecordingWriter) -> None:
    """The web process keeps one answer for it, however much is printed meanwhile."""
    with Line(web) as slow, Line(web) as other:
        slow.ask()
        for _ in range(200):
            slow.say("ask", {"stream": "", "after": 0, "news": 0})
        before_kB = memory_kB(web.pid)
        for number in range(2000):
            recording.append(kinds.BytesReceived(bytes=f"\x1b[24;1H{number:40}" * 5, first_us=0), 20_000_000)
        has = other.ask()
        while has["picture"]["seq"] < 2000:
            has = other.ask(stream=has["stream"], after=has["picture"]["seq"], news=has["news"])
        # 2,000 pictures of 4 kB each would be 8 MB.
        assert memory_kB(web.pid) - before_kB < 4_000
