"""What a page gets as an answer: what is newer than what it has, once, and always the badge."""

from __future__ import annotations

import json
from typing import Any

import gevent
import gevent.event
import msgspec
import pytest

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.web import picture as module
from exhibit.web.picture import MOST_KEPT_ANSWERS, TOO_MANY, Ask, Picture
from tests.pages import made_facts

DAY = list(made_facts.entries(made_facts.a_day()))
WRITING = Sight(mode="live", writer="writing", silent_s=0.1)


def shown(mode: str = "live", upto: int = len(DAY)) -> Picture:
    picture = Picture(mode)  # type: ignore[arg-type]
    view = View()
    for entry in DAY[:upto]:
        view.apply(entry)
    picture.see(WRITING if mode == "live" else Sight(mode="replay"))
    picture.show(view, "stream 1")
    return picture


def has(picture: Picture) -> Ask:
    """What a page asks after the last answer."""
    answer = picture.answer(Ask())
    return Ask(stream=answer["stream"], after=answer["picture"]["seq"], news=answer["news"])


def answer_when_newer(picture: Picture, ask: Ask) -> dict[str, Any]:
    """As the website answers: when there is something newer."""
    while not picture.has_newer(ask):
        woken = gevent.event.Event()
        picture.waking.add(woken.set, phone=not ask.console)
        assert woken.wait(60)
    return picture.answer(ask)


def test_a_new_page_gets_the_whole_picture() -> None:
    answer = shown().answer(Ask())
    assert answer["whole"]
    assert answer["picture"]["items"]["caption"]["id"] == "board-stands"
    assert answer["badge"]["name"] == "live"
    assert answer["mode"] == "live"


def test_a_page_that_has_all_is_answered_with_the_badge() -> None:
    picture = shown()
    ask = has(picture)
    assert not picture.has_newer(ask)
    answer = picture.answer(ask)
    assert answer["picture"].keys() == {"seq", "at"}
    assert not answer["whole"]


def test_a_waiting_page_is_answered_as_soon_as_there_is_something_newer() -> None:
    picture = shown(upto=len(DAY) - 1)
    waiting = gevent.spawn(answer_when_newer, picture, has(picture))
    gevent.sleep(0)
    picture.view.apply(DAY[-1])
    picture.changed()
    waiting.join(30)
    assert waiting.value["picture"]["seq"] == len(DAY)


def test_a_waiting_page_is_told_of_a_changed_badge_at_once() -> None:
    picture = shown()
    waiting = gevent.spawn(answer_when_newer, picture, has(picture))
    gevent.sleep(0)
    picture.see(Sight(mode="live", writer="gone"))
    waiting.join(30)
    assert waiting.value["badge"]["name"] == "bridge gone"
    assert not waiting.value["badge"]["speaks"]


def test_a_page_of_another_stream_or_from_the_future_gets_the_whole_picture() -> None:
    picture = shown()
    assert picture.answer(Ask(stream="stream 0", after=3))["whole"]
    assert picture.answer(Ask(stream="stream 1", after=len(DAY) + 5))["whole"]
    assert not picture.answer(Ask(stream="stream 1", after=3))["whole"]


def test_nobody_is_shown_half_a_record_while_it_is_being_read() -> None:
    picture = shown()
    picture.see(Sight(mode="live", catching_up=True))
    answer = picture.answer(Ask())
    assert answer["badge"]["name"] == "reading the record"
    assert "picture" not in answer
    assert not picture.has_newer(Ask(stream="stream 1", after=0, news=answer["news"]))


def test_a_replay_sends_no_look_or_listen_captions_at_all() -> None:
    place = next(i for i, e in enumerate(DAY) if getattr(e.fact, "kind", "") == "look or listen for")
    assert "Listen: the lower drive" in str(shown("live", place + 1).answer(Ask()))
    answer = shown("replay", place + 1).answer(Ask())
    assert answer["badge"]["name"] == "recorded"
    assert "Listen: the lower drive" not in str(answer)
    assert answer["picture"]["items"]["seen_caption"]["id"] == "core-is-sound"


def test_every_answer_says_stream_mode_and_date() -> None:
    for mode in ("live", "replay"):
        answer = shown(mode).answer(Ask())
        assert answer["stream"] == "stream 1"
        assert answer["mode"] == mode
        assert answer["picture"]["at"].startswith("2026-11-25T09:12:")


@pytest.mark.parametrize(
    "said",
    [
        None,
        7,
        [],
        "ask",
        {"stream": 5},
        {"stream": "x" * 201},
        {"after": -1},
        {"after": TOO_MANY},
        {"after": 1.5},
        {"after": "3"},
        {"after": True},
        {"news": -1},
        {"stream": "", "after": 0, "more": 1},
    ],
)
def test_what_is_not_an_ask_is_not_understood(said: object) -> None:
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(said, Ask)


def test_no_page_leaves_anything_behind() -> None:
    """However many pages ask after however many places, only current answers are kept."""
    picture = shown(upto=20)
    for entry in DAY[20:]:
        for after in range(entry.seq):
            picture.answer(Ask(stream="stream 1", after=after))
            picture.encoded_answer(Ask(stream="stream 1", after=after, console=False), {}, controls=True)
        picture.view.apply(entry)
        picture.changed()
    assert vars(picture)["_encoded"] == {}


@pytest.mark.parametrize("console", [True, False])
def test_while_nothing_happens_a_page_that_asks_after_every_number_fills_no_memory(console: bool) -> None:
    """While the bridge is away nothing changes for hours, and a page may ask after any number."""
    picture = shown()
    assert picture.view.seq > 2 * MOST_KEPT_ANSWERS
    for after in range(picture.view.seq):
        ask = Ask(stream="stream 1", after=after, console=console)
        encoded = picture.encoded_answer(ask, {}, controls=True)
        assert json.loads(encoded) == json.loads(msgspec.json.encode(picture.answer(ask)))
        vars(picture)["_given"][after + 1] = None  # as if pages had been given it
    kept = [kept for what in vars(picture).values() if isinstance(what, dict) for kept in what.values()]
    assert 0 < sum(isinstance(what, bytes) for what in kept) <= MOST_KEPT_ANSWERS


def test_of_the_numbers_that_pages_were_given_the_last_are_known(monkeypatch) -> None:
    monkeypatch.setattr(module, "MOST_GIVEN", 10)
    picture = shown(upto=1)
    given(picture, DAY[1:])
    assert list(vars(picture)["_given"]) == [0, *range(len(DAY) - 8, len(DAY) + 1)]
    picture.show(picture.view, "stream 2")
    assert list(vars(picture)["_given"]) == [0]


def test_a_view_s_facts_reach_every_page_whatever_their_pace() -> None:
    picture = Picture("live")
    picture.see(WRITING)
    picture.show(View(), "stream 1")
    seen: list[int] = []

    def page() -> None:
        ask = Ask()
        while not seen or seen[-1] < len(DAY):
            answer = answer_when_newer(picture, ask)
            seen.append(answer["picture"]["seq"])
            ask = Ask(stream=answer["stream"], after=seen[-1], news=answer["news"])

    reader = gevent.spawn(page)
    for entry in DAY:
        picture.view.apply(entry)
        picture.changed()
        gevent.sleep(0)
    reader.join(60)
    assert seen[-1] == len(DAY)
    assert seen == sorted(set(seen))


def test_a_caption_is_never_older_than_the_badge_that_it_is_shown_with() -> None:
    picture = shown()
    picture.view.apply(kinds.Entry(len(DAY) + 1, DAY[-1].at_us, kinds.LineLost(why="unplugged")))
    picture.changed()
    answer = picture.answer(Ask())
    assert answer["badge"]["name"] == "link lost"
    assert answer["picture"]["seq"] == len(DAY) + 1


# -- phones: captions and readings, not every row ---------------------------------------------------


@pytest.mark.parametrize("console", [True, False])
@pytest.mark.parametrize("mode", ["live", "replay"])
def test_the_shared_answer_is_what_each_page_would_get(mode: str, console: bool) -> None:
    picture = shown(mode)
    for after in (0, 3, len(DAY) - 5, len(DAY)):
        ask = Ask(stream="stream 1", after=after, console=console)
        encoded = picture.encoded_answer(ask, {"phone": "http://192.0.2.1/"}, controls=True)
        assert json.loads(encoded) == json.loads(
            msgspec.json.encode(picture.answer(ask) | {"phone": "http://192.0.2.1/"})
        )


def test_only_pages_that_may_use_the_controls_get_them() -> None:
    picture = shown("replay")
    picture.control({"playing": True})
    assert "controls" in json.loads(picture.encoded_answer(Ask(), {}, controls=True))
    assert "controls" not in json.loads(picture.encoded_answer(Ask(), {}, controls=False))


def put_together(picture: Picture) -> list[tuple[int, bool]]:
    """What is put together from now on."""
    made: list[tuple[int, bool]] = []
    batch = picture.view.batch
    picture.view.batch = lambda *said: made.append(said) or batch(*said)  # type: ignore[method-assign, func-returns-value]
    return made


def given(picture: Picture, entries: list[kinds.Entry]) -> None:
    """Pages are given an answer after each of these."""
    for entry in entries:
        picture.view.apply(entry)
        picture.changed()
        picture.encoded_answer(Ask(), {}, controls=False)


def test_what_is_new_is_put_together_once_for_all_pages_that_have_the_same() -> None:
    picture = shown(upto=29)
    given(picture, DAY[29:30])
    picture.view.apply(DAY[30])
    picture.changed()
    made = put_together(picture)
    for _ in range(500):
        picture.encoded_answer(Ask(stream="stream 1", after=30, console=False), {}, controls=False)
    assert made == [(30, False)]


def test_a_number_that_no_page_was_given_is_kept_for_none() -> None:
    picture = shown()
    for after in range(1, picture.view.seq):
        picture.encoded_answer(Ask(stream="stream 1", after=after), {}, controls=False)
    assert vars(picture)["_encoded"] == {}


def test_a_stranger_who_asks_after_every_number_pushes_no_shared_answer_out() -> None:
    """Neither with numbers of his own, nor with all that were ever given, before and after the visitors."""
    picture = shown(upto=1)
    given(picture, DAY[1:-1])
    picture.view.apply(DAY[-1])
    picture.changed()
    shared = [Ask(stream="stream 1", after=after) for after in (0, *range(len(DAY) - 30, len(DAY)))]
    made = put_together(picture)
    for _ in range(3):
        for after in range(1, len(DAY)):
            for console in (True, False):
                picture.encoded_answer(Ask(stream="stream 1", after=after, console=console), {}, False)
        made.clear()
        for ask in shared:
            picture.encoded_answer(ask, {}, controls=False)
    assert made == []


def test_a_phone_gets_captions_and_readings_and_no_rows() -> None:
    picture = shown()
    whole, phone = picture.answer(Ask())["picture"], picture.answer(Ask(console=False))["picture"]
    assert "console" in whole
    assert "console" not in phone
    assert (phone["items"], phone["readings"]) == (whole["items"], whole["readings"])


def test_a_phone_is_not_woken_by_what_the_machine_prints_but_by_a_caption() -> None:
    picture = shown(upto=40)
    answer = picture.answer(Ask(console=False))
    ask = Ask(stream=answer["stream"], after=answer["picture"]["seq"], news=answer["news"], console=False)
    seq = answer["picture"]["seq"]
    waiting = gevent.spawn(answer_when_newer, picture, ask)
    printed = kinds.BytesReceived(bytes="X", first_us=DAY[39].at_us)
    picture.view.apply(kinds.Entry(seq + 1, DAY[39].at_us, printed))
    picture.changed()
    gevent.sleep(0.05)
    assert not waiting.ready()
    assert picture.has_newer(msgspec.structs.replace(ask, console=True))
    words = {"en": "Look"}
    told = kinds.CaptionShown(caption="c", kind="seen", words=words, part="x", because=[1], source={})
    picture.view.apply(kinds.Entry(seq + 2, DAY[39].at_us, told))
    picture.changed()
    waiting.join(30)
    assert waiting.value["picture"]["items"]["caption"]["words"] == words
    assert "console" not in waiting.value["picture"]


def test_phones_also_get_the_badge_and_a_recording_shown_instead_of_the_machine() -> None:
    picture = shown()
    phone = msgspec.structs.replace(has(picture), console=False)
    waiting = gevent.spawn(answer_when_newer, picture, phone)
    gevent.sleep(0)
    picture.see(Sight(mode="live", writer="gone"))
    waiting.join(30)
    assert waiting.value["badge"]["name"] == "bridge gone"
    recording = shown("replay", upto=30)
    picture.show_instead(recording)
    answer = picture.answer(Ask(console=False))
    phone = Ask(stream="stream 1", after=answer["picture"]["seq"], news=answer["news"], console=False)
    waiting = gevent.spawn(answer_when_newer, picture, phone)
    gevent.sleep(0.2)  # earlier news has been delivered
    assert not waiting.ready()
    for entry in DAY[30:]:
        recording.view.apply(entry)
    recording.changed()
    waiting.join(30)
    assert waiting.value["picture"]["items"]["seen_caption"]["id"] == "board-stands"
