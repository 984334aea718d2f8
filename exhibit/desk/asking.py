"""A page asks what is newer than what it has. The answer comes once there is something, or after a while."""

from __future__ import annotations

import time
from collections import Counter
from typing import Any, Final

import flask
from gevent.event import Event

from exhibit.desk import words
from exhibit.desk.answering import Desk, Refusal, as_json, checked, here, message, signed_in
from exhibit.desk.browser import Browser
from exhibit.web.picture import Ask

ANSWER_WITHIN_S: Final = 10.0
MOST_OPEN: Final = 6
"""How many questions of a device can wait at a time: one for each of its windows."""


def add_to(app: flask.Flask, desk: Desk) -> None:
    """Add the address of this question."""
    open_asks: Counter[int] = Counter()

    @app.post("/today/ask")
    def ask() -> flask.Response:
        browser = checked(desk)
        if browser.device is None:
            raise Refusal(403, words.NOT_PAIRED, mains_stop=desk.machine.site.mains_stop)
        device = browser.device.number
        asked = message(Ask)
        if open_asks[device] >= MOST_OPEN:
            raise Refusal(429, words.TOO_MANY_OPEN)
        open_asks[device] += 1
        try:
            _wait(desk, browser, asked)
        finally:
            open_asks[device] -= 1
        return _answer(desk, browser, asked)


def _wait(desk: Desk, browser: Browser, asked: Ask) -> None:
    """Until there is something newer, or the person signs out, or it has taken long enough."""
    give_up_s = time.monotonic() + ANSWER_WITHIN_S
    picture, session = desk.picture, browser.session
    while not picture.has_newer(asked) and not (session and session.ended):
        left_s = give_up_s - time.monotonic()
        if left_s <= 0:
            return
        woken = Event()
        waiting = picture.waking.add(woken.set)
        if session is not None:
            session.open_asks.add(woken.set)
        try:
            woken.wait(left_s)
        finally:
            waiting.pop(woken.set, None)
            if session is not None:
                session.open_asks.discard(woken.set)


def _answer(desk: Desk, browser: Browser, asked: Ask) -> flask.Response:
    now = here(desk)
    if now.device is None:
        raise Refusal(403, words.NOT_PAIRED)
    if browser.session is not None and now.session is not browser.session:
        raise Refusal(401, words.SIGNED_OUT)
    people = desk.people.current()
    besides: dict[str, Any] = {"signed_in": signed_in(now, people), "bridge": desk.door.is_there()}
    if now.session is None:
        besides["docents"] = sorted(docent.initials for docent in people.docents)
    return as_json(desk.picture.encoded_answer(asked, besides, controls=False))
