"""The relay and the workers through a Redis that loses its connections, its stream, or everything."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import gevent
import msgspec

from exhibit.relay import connecting, receiving, sending
from exhibit.relay.hosted_picture import HostedPicture
from exhibit.relay.messages import DRAWN, LAST_WHOLE, MOST_DRAWN_BYTES, Sent
from exhibit.relay.receiving import Receiver
from exhibit.relay.sending import Relay
from exhibit.web.picture import Picture
from tests.pages import made_facts
from tests.relay import private_day
from tests.relay.as_a_page import Page, picture_of, tell
from tests.relay.fake_redis import FAULTS, FakeRedis
from tests.relay.test_hosted_picture import in_the_museum

DAY = list(made_facts.entries(made_facts.a_day()))
WITHIN_S = 30


@contextmanager
def running(*work: Callable[[], None]) -> Iterator[None]:
    greenlets = [gevent.spawn(one) for one in work]
    try:
        yield
    finally:
        gevent.killall(greenlets)
        for greenlet in greenlets:
            assert greenlet.exception is None or isinstance(greenlet.value, gevent.GreenletExit)


def relay_of(picture: Picture, redis: FakeRedis) -> Callable[[], None]:
    return Relay(picture, redis.connected, FAULTS).run


def receiver_of(hosted: HostedPicture, redis: FakeRedis) -> Callable[[], None]:
    return Receiver(hosted, redis.connected, FAULTS).run


def until(holds: Callable[[], object], what: str) -> None:
    give_up_s = time.monotonic() + WITHIN_S
    while not holds():
        assert time.monotonic() < give_up_s, f"not within {WITHIN_S} s: {what}"
        gevent.sleep(0.01)


def shows_the_same(hosted: HostedPicture, museum: Picture) -> Callable[[], bool]:
    def same() -> bool:
        page = Page()
        page.asks(hosted)
        return hosted.is_ready and page.shown == in_the_museum(museum).shown

    return same


def test_what_happens_in_the_museum_reaches_a_worker() -> None:
    museum, hosted, redis = picture_of(DAY[:50]), HostedPicture(), FakeRedis()
    with running(relay_of(museum, redis), receiver_of(hosted, redis)):
        until(shows_the_same(hosted, museum), "the beginning")
        tell(museum, DAY[50:])
        until(shows_the_same(hosted, museum), "what came then")


def test_nothing_that_redis_ever_gets_is_private() -> None:
    museum, redis = picture_of([]), FakeRedis()
    with running(relay_of(museum, redis)):
        for entry in private_day.entries():
            tell(museum, [entry])
            gevent.sleep(0.001)
        until(lambda: any(private_day.PUBLIC.encode() in one for one in redis.got), "the last caption")
    assert not [one for one in redis.got if private_day.MARK.encode() in one]


def test_after_an_outage_of_redis_it_goes_on_by_itself_with_the_state_of_that_moment() -> None:
    museum, hosted, redis = picture_of(DAY[:50]), HostedPicture(), FakeRedis()
    said: list[Exception] = []
    relay = Relay(museum, redis.connected, FAULTS, said.append).run
    with running(relay, receiver_of(hosted, redis)):
        until(shows_the_same(hosted, museum), "the beginning")
        redis.down = True
        until(lambda: said, "that somebody is told")
        tell(museum, DAY[50:])
        gevent.sleep(2 * connecting.AGAIN_AFTER_S)
        redis.down = False
        until(shows_the_same(hosted, museum), "the state after the outage")
    assert len(said) == 1, "once for an outage"


def test_a_redis_that_lost_everything_gets_it_anew() -> None:
    museum, hosted, redis = picture_of(DAY[:50]), HostedPicture(), FakeRedis()
    with running(relay_of(museum, redis), receiver_of(hosted, redis)):
        until(shows_the_same(hosted, museum), "the beginning")
        redis.lose_all()
        tell(museum, DAY[50:])
        until(shows_the_same(hosted, museum), "the state after the loss")
        assert LAST_WHOLE in redis.keys
        late = HostedPicture()
        with running(receiver_of(late, redis)):
            until(shows_the_same(late, museum), "the same for a worker that begins now")


def test_a_stream_whose_numbers_are_lower_than_before_is_found_again() -> None:
    museum, hosted, redis = picture_of(DAY[:50]), HostedPicture(), FakeRedis()
    redis.begin_again_at(1_000_000)
    with running(relay_of(museum, redis), receiver_of(hosted, redis)):
        until(shows_the_same(hosted, museum), "the beginning")
        redis.lose_all()
        redis.begin_again_at(0)
        tell(museum, DAY[50:])
        until(shows_the_same(hosted, museum), "the state in the new stream")


def test_a_relay_that_is_started_again_is_followed() -> None:
    museum, hosted, redis = picture_of(DAY[:50]), HostedPicture(), FakeRedis()
    with running(receiver_of(hosted, redis)):
        with running(relay_of(museum, redis)):
            until(shows_the_same(hosted, museum), "the beginning")
        again = picture_of(DAY[:60])
        with running(relay_of(again, redis)):
            until(shows_the_same(hosted, again), "what the second relay sends")


def test_a_sign_of_life_comes_at_least_every_two_seconds() -> None:
    museum, redis = picture_of(DAY), FakeRedis()
    with running(relay_of(museum, redis)):
        until(lambda: redis.stream, "the first answer")
        begun_s, had = time.monotonic(), len(redis.stream)
        until(lambda: len(redis.stream) >= had + 3, "three signs")
        assert time.monotonic() - begun_s < 3 * 2


def test_what_stands_in_redis_is_no_sign_that_the_museum_is_there() -> None:
    museum, hosted, redis = picture_of(DAY), HostedPicture(), FakeRedis()
    with running(relay_of(museum, redis)):
        until(lambda: len(redis.stream) > 2, "some answers")
    receiver = Receiver(hosted, redis.connected, FAULTS)
    with running(receiver.run, receiver.look):
        until(lambda: hosted.is_ready, "that it is known what to say")
    page = Page()
    page.asks(hosted)
    assert page.badge["name"] == "museum not heard"
    assert page.shown == in_the_museum(museum).shown


def test_a_machine_that_prints_without_a_pause_costs_a_bounded_number_of_entries() -> None:
    museum, redis = picture_of(DAY[:1]), FakeRedis()
    with running(relay_of(museum, redis)):
        until(lambda: redis.stream, "the first answer")
        begun_s, had = time.monotonic(), redis._next
        for entry in DAY[1:]:
            tell(museum, [entry])
            gevent.sleep(0.001)
        took_s = time.monotonic() - begun_s
        assert redis._next - had <= took_s / sending.EVERY_S + 1


def test_pictures_of_parts_go_along_and_no_more_of_them_than_is_allowed() -> None:
    museum, hosted, redis = picture_of(DAY), HostedPicture(), FakeRedis()
    museum.drawn = {"a.svg": "<svg/>", "b.svg": "x" * MOST_DRAWN_BYTES}
    with running(relay_of(museum, redis), receiver_of(hosted, redis)):
        until(lambda: hosted.drawn_now() == [{"a.svg": "<svg/>"}], "the picture")
        museum.drawn = {}
        museum.changed()
        until(lambda: hosted.drawn_now() == [{}], "that it is gone")
    assert msgspec.json.decode(redis.keys[DRAWN]) == {}


def test_a_worker_that_begins_reads_on_from_the_whole_answer() -> None:
    museum, redis = picture_of(DAY[:50]), FakeRedis()
    with running(relay_of(museum, redis)):
        until(lambda: LAST_WHOLE in redis.keys, "the whole answer")
        for end in range(60, len(DAY), 10):
            tell(museum, DAY[museum.view.seq : end])
            until(lambda: b"%d" % museum.view.seq in redis.stream[-1][1], "the next answer")
        whole = msgspec.json.decode(redis.keys[LAST_WHOLE], type=Sent)
        assert whole.answer["picture"]["seq"] == 50
        late = HostedPicture()
        with running(receiver_of(late, redis)):
            until(shows_the_same(late, museum), "all of it")


def test_nonsense_in_redis_ends_no_worker() -> None:
    museum, hosted, redis = picture_of(DAY), HostedPicture(), FakeRedis()
    redis.keys[LAST_WHOLE] = b"nonsense"
    said: list[Exception] = []
    receiver = Receiver(hosted, redis.connected, FAULTS, said.append)
    with running(receiver.run):
        until(lambda: said, "that somebody is told")
        with running(relay_of(museum, redis)):
            until(shows_the_same(hosted, museum), "the picture")


def test_the_worker_waits_no_longer_for_redis_than_a_connection_allows() -> None:
    from exhibit.relay.redis_connection import ANSWERS_WITHIN_S

    assert receiving.WAIT_MS / 1000 < ANSWERS_WITHIN_S
