"""Which browser a request comes from, by its two cookies, and the token that shows it comes from its page.

One cookie is the device's, for as long as it stays paired; the other is renewed at each sign-in and sign-out.
The page's token is made from the latter and a key that only this computer has, so strangers cost no memory.
"""

from __future__ import annotations

import hmac
import re
import secrets
from dataclasses import dataclass
from typing import Final

import flask

from exhibit.desk.people import Device, People
from exhibit.desk.rights import Who
from exhibit.desk.sessions import Session, Sessions

DEVICE, SESSION = "exhibit_device", "exhibit_session"
TOKEN_HEADER: Final = "X-Exhibit-Token"
PATH: Final = "/today"
"""The cookies' path. Ports don't matter to cookies, so without it the visitors' page would get them too."""
DEVICE_LASTS_S: Final = 400 * 24 * 3600
_NAME: Final = re.compile(r"[A-Za-z0-9_-]{43}")


@dataclass(frozen=True)
class Browser:
    """A request's browser: its paired device and who is signed in there, if any."""

    name: str
    """What its second cookie says; "" if it has none."""
    device: Device | None
    session: Session | None

    @property
    def who(self) -> Who:
        """What its rights depend on."""
        if self.device is None:
            return "stranger"
        return "device" if self.session is None else self.session.role

    @property
    def by(self) -> str:
        """What recordings call whoever uses it."""
        if self.session is not None:
            return self.session.by
        return f"tablet {self.device.number}" if self.device is not None else "stranger"


def browser_of(request: flask.Request, people: People, sessions: Sessions) -> Browser:
    """The browser from which this request comes."""
    name, token = request.cookies.get(SESSION, ""), request.cookies.get(DEVICE, "")
    name = name if _NAME.fullmatch(name) else ""
    device = people.device(token) if _NAME.fullmatch(token) else None
    session = sessions.find(name, device.number) if name and device is not None else None
    return Browser(name, device, session)


def new_name() -> str:
    """A name for a browser in which nobody is signed in."""
    return secrets.token_urlsafe(32)


def token_for(name: str, people: People) -> str:
    """The token of the page that was given to the browser of this name."""
    return hmac.new(bytes.fromhex(people.key), b"token:" + name.encode(), "sha256").hexdigest()


def has_token(request: flask.Request, browser: Browser, people: People) -> bool:
    """Whether the request comes from the page that this browser was given."""
    given = request.headers.get(TOKEN_HEADER, "").encode()
    return bool(browser.name) and hmac.compare_digest(given, token_for(browser.name, people).encode())


def give_cookie(response: flask.Response, cookie: str, value: str, *, encrypted: bool) -> None:
    """Give the browser this cookie, which no script can read and no other site can have sent."""
    response.set_cookie(
        cookie,
        value,
        max_age=DEVICE_LASTS_S if cookie == DEVICE else None,
        path=PATH,
        secure=encrypted,
        httponly=True,
        samesite="Strict",
    )
