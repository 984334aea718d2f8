"""The two processes: the relay in the museum, and a hosted page worker."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import gevent

from exhibit.output.terminal import put
from exhibit.relay.access import Access
from exhibit.relay.hosted_picture import LOOK_EVERY_S, HostedPicture
from exhibit.relay.receiving import Receiver
from exhibit.relay.redis_connection import FAULTS, Redis, connected
from exhibit.relay.sending import Relay
from exhibit.web import website
from exhibit.web.bounded_log import keep_log
from exhibit.web.following import Follower
from exhibit.web.meanwhile import TURN_AFTER_S, Meanwhile
from exhibit.web.picture import Picture


def relay(
    where: Path,
    access: Access,
    *,
    machine: str | None = None,
    turn_after_s: float = TURN_AFTER_S,
    ready: Callable[[], None] = lambda: None,
) -> None:
    """Send what a page of these recordings would show, until SIGTERM or SIGINT.

    `ready` is called each time that Redis begins to take it. The rest is as for website.serve_live.
    """
    picture = Picture("live")
    follower = Follower(picture, where, machine, _complain)
    meanwhile = Meanwhile(picture, where, machine, turn_after_s)
    sender = Relay(picture, _connect(access), FAULTS, _about(access), ready)
    greenlets = [gevent.spawn(work) for work in (follower.run, meanwhile.run, sender.run)]
    for number in (signal.SIGTERM, signal.SIGINT):
        gevent.signal_handler(number, gevent.killall, greenlets, block=False)
    # If one of them ends, what is sent would be untrue: nothing at all is better.
    ended = gevent.wait(greenlets, count=1)
    gevent.killall(greenlets)
    for greenlet in ended:
        if isinstance(greenlet.exception, Exception):
            raise greenlet.exception


def serve_hosted(
    access: Access,
    *,
    host: str = website.HOST,
    port: int = website.PORT,
    name: str = "",
    shares_port: bool = False,
    proxy: str = "",
    ready: Callable[[str], None] = lambda _: None,
) -> None:
    """Serve the visitor page of what the relay sends. The rest is as for website.serve_live."""
    picture = HostedPicture()
    receiver = Receiver(picture, _connect(access), FAULTS, _about(access))
    received = gevent.spawn(receiver.run)
    looked = gevent.spawn(receiver.look)
    # A page that comes from a worker that was killed goes on here at once, rather than with an empty picture.
    while not picture.is_ready:
        gevent.sleep(LOOK_EVERY_S)
    try:
        website.serve(
            picture,
            [received.get, looked.get],
            None,
            host,
            port,
            ready,
            keep_log(None),
            name,
            proxy,
            shares_port=shares_port,
            in_museum=False,
        )
    finally:
        gevent.killall([received, looked])


def _connect(access: Access) -> Callable[[], AbstractContextManager[Redis]]:
    return lambda: connected(access)


def _about(access: Access) -> Callable[[Exception], None]:
    def complain(fault: Exception) -> None:
        _complain(
            f"Redis can't be used at {access.address}: {fault}\n"
            "Until it can, pages beyond the museum show what came last, and say that they don't hear it.\n"
            "This program tries again by itself. Look whether Redis runs there, and whether its certificate, "
            "the name and the password are right."
        )

    return complain


def _complain(words: str) -> None:
    put(*words.split("\n"), to=sys.__stderr__)
