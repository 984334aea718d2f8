"""A page beyond the museum has what a page in it has, whatever it asks, and whichever worker it asks."""

from __future__ import annotations

import json
import random

import msgspec
import pytest

from exhibit.decisions.page.badge import Sight
from exhibit.relay.hosted_picture import NOT_HEARD, NOT_HEARD_AFTER_S, HostedPicture
from exhibit.relay.messages import Sent
from exhibit.relay.public import public
from exhibit.streams.recording import Tail
from exhibit.web.picture import Ask, Picture
from tests.pages import made_facts
from tests.relay.as_a_page import Page, picture_of, tell
from tests.relay.test_public import SAMPLE

DAY = list(made_facts.entries(made_facts.a_day()))


class Museum:
    """A picture in the museum, and the relay's answers of it."""

    def __init__(self, picture: Picture, run: str = "run 1") -> None:
        self.picture, self.run, self.number, self.asked = picture, run, 0, Ask()

    def next(self) -> Sent:
        """The next answer of the stream, as Redis gives it back."""
        answer = self.picture.answer(self.asked)
        self.number += 1
        self.asked = Ask(stream=answer["stream"], after=answer["picture"]["seq"], news=answer["news"])
        return self._sent(answer)

    def whole(self) -> Sent:
        """The whole answer up to the last one."""
        return self._sent(self.picture.answer(Ask()))

    def _sent(self, answer: dict[str, object]) -> Sent:
        sent = Sent(run=self.run, number=self.number, answer=public(answer))
        return msgspec.json.decode(msgspec.json.encode(sent), type=Sent)


def heard(*answers: Sent) -> HostedPicture:
    hosted = HostedPicture()
    for one in answers:
        assert hosted.take(one)
    hosted.hear()
    return hosted


def in_the_museum(picture: Picture) -> Page:
    """A page in the museum, of which only what is public is looked at."""
    page = Page()
    page.take(public(picture.answer(Ask())))
    return page


@pytest.mark.parametrize("seed", range(3))
def test_pages_that_change_workers_have_the_whole_picture(seed: int) -> None:
    chance = random.Random(seed)
    tail = Tail(SAMPLE)
    museum = Museum(picture_of(tail.read_new(30)))
    first = museum.next()
    workers = [heard(first), heard(first)]
    pages = [Page() for _ in range(6)]
    while entries := tail.read_new(chance.choice((1, 5, 40, 300))):
        tell(museum.picture, entries)
        sent = museum.next()
        for place, worker in enumerate(workers):
            if chance.random() < 0.05:
                workers[place] = heard(museum.whole())  # it was killed, and another one began
            else:
                assert worker.take(sent)
        for page in pages:
            if chance.random() < 0.3:
                page.asks(chance.choice(workers))
    tail.close()
    for page in pages:
        page.asks(chance.choice(workers))
        assert page.shown == in_the_museum(museum.picture).shown
        assert page.wholes == 1, "it went on where it was"


def test_a_page_that_asks_after_every_fact_lacks_nothing() -> None:
    museum, page = Museum(picture_of(DAY[:1])), Page()
    hosted = heard(museum.next())
    for entry in DAY[1:]:
        tell(museum.picture, [entry])
        assert hosted.take(museum.next())
        page.asks(hosted)
        assert page.items == in_the_museum(museum.picture).items
    assert page.shown == in_the_museum(museum.picture).shown
    assert page.wholes == 1


def test_an_answer_that_is_missing_is_noticed_and_a_whole_one_mends_it() -> None:
    museum = Museum(picture_of(DAY[:100]))
    hosted, page = heard(museum.next()), Page()
    page.asks(hosted)
    tell(museum.picture, DAY[100:150])
    museum.next()
    tell(museum.picture, DAY[150:])
    assert not hosted.take(museum.next())
    assert hosted.take(museum.whole())
    page.asks(hosted)
    assert page.shown == in_the_museum(museum.picture).shown


def test_what_was_taken_before_is_not_taken_again() -> None:
    museum = Museum(picture_of(DAY[:100]))
    answers = [museum.next()]
    for end in (120, 140, len(DAY)):
        tell(museum.picture, DAY[len(DAY[: museum.picture.view.seq]) : end])
        answers.append(museum.next())
    hosted = heard(*answers)
    for old in answers[:2]:
        assert hosted.take(old)
    page = Page()
    page.asks(hosted)
    assert page.shown == in_the_museum(museum.picture).shown


def test_what_did_not_change_is_not_sent_again_when_the_relay_begins_anew() -> None:
    museum = Museum(picture_of(DAY[:-1]))
    hosted, page = heard(museum.next()), Page()
    page.asks(hosted)
    tell(museum.picture, DAY[-1:])
    again = Museum(museum.picture, "run 2")
    assert hosted.take(again.next())
    answer = hosted.encoded_answer(page.ask, {}, False)
    assert b'"caption"' in answer
    assert b'"recording"' not in answer
    page.asks(hosted)
    assert page.shown == in_the_museum(museum.picture).shown


def test_two_workers_number_their_news_alike() -> None:
    museum = Museum(picture_of(DAY))
    one, other = heard(museum.next()), heard(museum.whole())
    page = Page()
    page.asks(one)
    assert not other.has_newer(page.ask)


def test_a_worker_that_is_behind_by_a_moment_waits_and_shows_nothing_older() -> None:
    museum = Museum(picture_of(DAY[:100]))
    behind = heard(museum.next())
    tell(museum.picture, DAY[100:])
    late = museum.next()
    page = Page()
    page.asks(heard(museum.whole()))
    assert not behind.has_newer(page.ask)
    behind.take(late)
    page.asks(behind)
    assert page.wholes == 1


class Clock:
    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_when_nothing_comes_the_page_keeps_what_it_has_and_says_so() -> None:
    clock, museum, page = Clock(), Museum(picture_of(DAY)), Page()
    hosted = HostedPicture(clock)
    hosted.take(museum.next())
    page.asks(hosted)
    assert page.badge["name"] == "opening", "what stood in Redis may be old"
    hosted.hear()
    page.asks(hosted)
    assert page.badge["name"] == "live"
    clock.now_s += NOT_HEARD_AFTER_S + 0.1
    hosted.look()
    assert hosted.has_newer(page.ask)
    page.asks(hosted)
    assert (page.badge["name"], page.badge["speaks"]) == (NOT_HEARD, False)
    assert page.badge["since"] == museum.picture.view.wall(museum.picture.view.at_us)
    assert page.shown == in_the_museum(museum.picture).shown
    hosted.hear()
    page.asks(hosted)
    assert page.badge["name"] == "live"
    assert page.wholes == 1


def test_a_worker_to_which_nothing_ever_came_says_so() -> None:
    clock, page = Clock(), Page()
    hosted = HostedPicture(clock)
    clock.now_s += NOT_HEARD_AFTER_S + 0.1
    hosted.look()
    page.asks(hosted)
    assert (page.badge["name"], page.badge["since"]) == (NOT_HEARD, "")


def test_it_is_said_beside_a_recording_that_is_shown_instead() -> None:
    clock, museum = Clock(), Museum(picture_of(DAY))
    instead = Picture("replay")
    instead.see(Sight(mode="replay"))
    instead.show(picture_of(DAY).view, "another stream")
    museum.picture.show_instead(instead)
    hosted = HostedPicture(clock)
    hosted.take(museum.next())
    hosted.hear()
    clock.now_s += NOT_HEARD_AFTER_S + 0.1
    hosted.look()
    answer = json.loads(hosted.encoded_answer(Ask(), {}, False))
    assert (answer["mode"], answer["badge"]["name"]) == ("meanwhile", "recorded")
    assert answer["machine"]["name"] == NOT_HEARD


def test_numbers_that_a_stranger_makes_up_fill_no_memory() -> None:
    hosted = heard(Museum(picture_of(DAY)).next())
    for after in range(1, len(DAY)):
        hosted.encoded_answer(Ask(stream="a stream", after=after), {}, False)
    assert len(hosted._encoded) <= 2
