"""What all answers of the desk rest on: which browser asks, whether its page does, and what it says.

Every request that isn't for a file says by its cookies which browser it comes from; every POST shows with a
token that it comes from a page of this site.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import flask
import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.desk import browser as browsers
from exhibit.desk import words
from exhibit.desk.browser import DEVICE, SESSION, Browser, browser_of
from exhibit.desk.delays import Delays
from exhibit.desk.door import Door
from exhibit.desk.helping import Helper
from exhibit.desk.messages import LONGEST_MESSAGE_BYTES, Message, read
from exhibit.desk.people import People, PeopleFile
from exhibit.desk.sessions import Sessions
from exhibit.desk.shown import AskedByHand
from exhibit.web.picture import Picture

_JSON: Final = "application/json"


@dataclass
class Desk:
    """All that the answers rest on."""

    picture: Picture
    machine: Machine
    recordings: Path
    saved: Path
    people: PeopleFile
    door: Door
    encrypted: bool = False
    practice: bool = False
    note: Callable[[str], None] = lambda _: None
    """Gets lines for the log, without a word that a browser sent."""
    helper: Helper = field(default_factory=Helper)
    delays: Delays = field(default_factory=Delays)
    by_hand: AskedByHand = field(default_factory=AskedByHand)

    def __post_init__(self) -> None:
        self.sessions = Sessions(self.people.current)


class Refusal(Exception):
    """A request isn't carried out, and why.

    The page goes by the status: 401, nobody is signed in; 403, it isn't allowed, or the device isn't paired;
    409, the page has to be reloaded.
    """

    def __init__(self, status: int, why: str, **more: Any) -> None:
        super().__init__(why)
        self.status, self.why, self.more = status, why, more


def here(desk: Desk) -> Browser:
    """The browser from which the current request comes."""
    return browser_of(flask.request, desk.people.current(), desk.sessions)


def checked(desk: Desk) -> Browser:
    """The same, once it is clear that a page of this site asks. Raises Refusal."""
    browser = here(desk)
    from_here = flask.request.headers.get("Sec-Fetch-Site", "same-origin") == "same-origin"
    if not from_here or not browsers.has_token(flask.request, browser, desk.people.current()):
        desk.note("a request without its page's token was refused")
        raise Refusal(409, words.NOT_FROM_THE_PAGE)
    return browser


def message(kind: type[Message]) -> Message:
    """What the current request says. Raises Refusal."""
    request = flask.request
    if request.mimetype != _JSON:
        raise Refusal(415, words.NOT_UNDERSTOOD)
    if (request.content_length or 0) > LONGEST_MESSAGE_BYTES:
        raise Refusal(413, words.TOO_LONG)
    said = read(request.get_data(cache=False), kind)
    if said is None:
        raise Refusal(400, words.NOT_UNDERSTOOD)
    return said


def as_json(content: Any, status: int = 200) -> flask.Response:
    """An answer for the page's code."""
    encoded = content if isinstance(content, bytes) else msgspec.json.encode(content)
    return flask.Response(encoded, status, content_type=_JSON)


def signed_in(browser: Browser, people: People) -> dict[str, str] | None:
    """Who is signed in there, as the page says it."""
    session = browser.session
    person = people.person(session.role, session.number) if session else None
    if session is None or person is None:
        return None
    return {"role": session.role, "name": getattr(person, "initials", "") or getattr(person, "name", "")}


def renewed(desk: Desk, answer: dict[str, Any], name: str, device: str = "") -> flask.Response:
    """The answer, with a new name for the browser and the token that goes with it."""
    response = as_json({**answer, "token": browsers.token_for(name, desk.people.current())})
    browsers.give_cookie(response, SESSION, name, encrypted=desk.encrypted)
    if device:
        browsers.give_cookie(response, DEVICE, device, encrypted=desk.encrypted)
    return response
