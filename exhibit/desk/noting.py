"""Notes: what somebody saw, heard or smelt, a photograph, or the last minutes of the recording.

They are kept in files of their own. What the recording gets is their digest.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import flask
from gevent.lock import BoundedSemaphore

from exhibit.bridge.request_door import Request
from exhibit.desk import words
from exhibit.desk.answering import Desk, Refusal, as_json, checked, message
from exhibit.desk.browser import Browser
from exhibit.desk.messages import LONGEST_PHOTOGRAPH_BYTES, NoteTaken, without_controls

NOTES: Final = "notes"
"""The folder of the notes, within that of what is saved."""
PICTURES: Final = ("image/jpeg", "image/png")
_PIECE_BYTES: Final = 64 * 1024


def add_to(app: flask.Flask, desk: Desk) -> None:
    """Add the address of notes."""
    one_photograph = BoundedSemaphore(1)

    @app.post("/today/note")
    def note() -> flask.Response:
        browser = checked(desk)
        if browser.device is None:
            raise Refusal(403, words.NOT_PAIRED)
        if browser.session is None:
            raise Refusal(401, words.SIGN_IN_FIRST)
        desk.sessions.touched(browser.session)
        folder = f"{desk.saved / NOTES}"
        if flask.request.mimetype in PICTURES:
            if (flask.request.content_length or 0) > LONGEST_PHOTOGRAPH_BYTES:
                raise Refusal(413, words.PICTURE_TOO_LARGE)
            with one_photograph:
                kept = desk.helper.feed("photograph", folder, pieces=_pieces())
            return _told(desk, browser, kept, "photograph ")
        said = message(NoteTaken)
        if said.minutes:
            where = (f"{desk.recordings}", f"{desk.saved}")
            given = {"machine": desk.machine.name, "minutes": said.minutes}
            return _told(desk, browser, desk.helper.do("minutes", *where, given=given), "minutes kept ")
        text = without_controls(said.text)
        if not text:
            raise Refusal(400, words.NOTHING_WRITTEN)
        return _told(desk, browser, desk.helper.do("note", folder, given={"text": text}), "")


def _pieces() -> Iterator[bytes]:
    while piece := flask.request.stream.read(_PIECE_BYTES):
        yield piece


def _told(desk: Desk, browser: Browser, kept: dict[str, Any], kind: str) -> flask.Response:
    """Tells the bridge what was kept. It is kept even if there is no bridge: that is when notes matter."""
    digest = kept.get("digest")
    if not digest:
        raise Refusal(507, words.not_kept(kept.get("why", "")))
    answer = desk.door.ask(Request(request="note", by=browser.by, why=f"{kind}{digest}"))
    where = {"file": kept["file"]} if "file" in kept else {}
    why = "" if answer.accepted else words.KEPT_BUT_NOT_RECORDED
    return as_json({"accepted": True, "why": why, **where})
