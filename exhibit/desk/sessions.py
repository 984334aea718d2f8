"""Who is signed in on which device. Only this process knows; a browser has a random name for it.

Each device has one session at most. It is looked at with each message: it ends with its time, when the person
or the device is taken out of the list of people, or when a password was reset.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from typing import Final

from exhibit.desk.people import Engineer, People, Role, digest_of

DOCENT_S: Final = 12 * 3600.0
"""A docent's session lasts for the day."""
ENGINEER_IDLE_S: Final = 30 * 60.0
ENGINEER_S: Final = 12 * 3600.0


class Session:
    """A person who is signed in on a device."""

    def __init__(
        self, digest: str, device: int, role: Role, number: int, password: str, now_s: float
    ) -> None:
        self.digest = digest
        self.device = device
        self.role: Role = role
        self.number = number
        self.password = password
        """The hash of the password with which this began; empty for a docent."""
        self.began_s = self.touched_s = now_s
        self.ended = False
        self.open_asks: set[Callable[[], None]] = set()
        """What wakes the questions that wait."""

    @property
    def by(self) -> str:
        """What recordings call this person."""
        return f"{self.role} {self.number}"


def boot_s() -> float:
    """Seconds that also count while this computer sleeps."""
    return time.clock_gettime(time.CLOCK_BOOTTIME)


class Sessions:
    """All that there are."""

    def __init__(self, people: Callable[[], People], now_s: Callable[[], float] = boot_s) -> None:
        self._people = people
        self._now_s = now_s
        self._of: dict[int, Session] = {}
        """By the number of the device."""

    def sign_in(self, device: int, role: Role, number: int) -> str:
        """Begin a session in place of the one that this device had. Returns its new name."""
        person = self._people().person(role, number)
        if (before := self._of.get(device)) is not None:
            self.end(before)
        name = secrets.token_urlsafe(32)
        password = person.password if isinstance(person, Engineer) else ""
        self._of[device] = Session(digest_of(name), device, role, number, password, self._now_s())
        return name

    def find(self, name: str, device: int) -> Session | None:
        """The session of this name, if it is this device's and hasn't ended."""
        session = self._of.get(device)
        if session is None or session.digest != digest_of(name):
            return None
        if self._is_over(session):
            self.end(session)
            return None
        return session

    def touched(self, session: Session) -> None:
        """The person did something. That a page asks for news by itself doesn't count."""
        session.touched_s = self._now_s()

    def end(self, session: Session) -> None:
        """The person has signed out, or has to."""
        session.ended = True
        if self._of.get(session.device) is session:
            del self._of[session.device]
        for wake in list(session.open_asks):
            wake()

    def _is_over(self, session: Session) -> bool:
        people, now_s = self._people(), self._now_s()
        person = people.person(session.role, session.number)
        if person is None or session.device not in {device.number for device in people.devices}:
            return True
        if isinstance(person, Engineer):
            idle = now_s - session.touched_s > ENGINEER_IDLE_S
            return idle or now_s - session.began_s > ENGINEER_S or person.password != session.password
        return now_s - session.began_s > DOCENT_S
