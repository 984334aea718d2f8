"""When a session ends, by a clock that the test sets."""

from __future__ import annotations

import pytest

from exhibit.desk.people import Device, Docent, Engineer, People
from exhibit.desk.sessions import DOCENT_S, ENGINEER_IDLE_S, ENGINEER_S, Session, Sessions


class Clock:
    now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def people() -> People:
    return People(
        docents=[Docent(number=1, initials="AB")],
        engineers=[Engineer(number=1, name="Engineer", password="kept")],
        devices=[Device(number=number, digest="", paired="") for number in (1, 2)],
    )


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def sessions(people: People, clock: Clock) -> Sessions:
    return Sessions(lambda: people, clock)


def test_a_docent_s_session_lasts_for_the_day_and_no_longer(sessions: Sessions, clock: Clock) -> None:
    name = sessions.sign_in(1, "docent", 1)
    clock.now_s += DOCENT_S - 1
    assert sessions.find(name, 1)
    clock.now_s += 2
    assert sessions.find(name, 1) is None
    clock.now_s -= 10
    assert sessions.find(name, 1) is None, "it doesn't come back"


def test_an_engineer_s_session_ends_when_nothing_was_done_for_half_an_hour(
    sessions: Sessions, clock: Clock
) -> None:
    name = sessions.sign_in(1, "engineer", 1)
    for _ in range(5):
        clock.now_s += ENGINEER_IDLE_S - 1
        session = sessions.find(name, 1)
        assert session
        sessions.touched(session)
    clock.now_s += ENGINEER_IDLE_S + 1
    assert sessions.find(name, 1) is None


def test_an_engineer_s_session_ends_with_the_day_however_busy(sessions: Sessions, clock: Clock) -> None:
    name = sessions.sign_in(1, "engineer", 1)
    until_s = clock.now_s + ENGINEER_S
    while clock.now_s < until_s:
        clock.now_s += 600
        session = sessions.find(name, 1)
        if session:
            sessions.touched(session)
    clock.now_s += 1
    assert sessions.find(name, 1) is None


def test_a_session_belongs_to_its_device(sessions: Sessions) -> None:
    name = sessions.sign_in(1, "docent", 1)
    assert sessions.find(name, 2) is None
    assert sessions.find(name, 1)


def test_a_device_has_one_session_and_the_one_before_ends(sessions: Sessions) -> None:
    first = sessions.sign_in(1, "docent", 1)
    session = sessions.find(first, 1)
    second = sessions.sign_in(1, "docent", 1)
    assert first != second
    assert (sessions.find(first, 1), session and session.ended) == (None, True)
    assert sessions.find(second, 1)


@pytest.mark.parametrize("what", ["the person is removed", "the device is removed", "the password is reset"])
def test_a_session_ends_at_the_next_message_once(sessions: Sessions, people: People, what: str) -> None:
    name = sessions.sign_in(1, "engineer", 1)
    session = sessions.find(name, 1)
    assert session
    if what == "the person is removed":
        people.engineers = []
    elif what == "the device is removed":
        people.devices = people.devices[1:]
    else:
        people.engineers[0].password = "another"
    assert sessions.find(name, 1) is None
    assert session.ended


def test_what_waits_is_woken_at_the_end(sessions: Sessions) -> None:
    session = sessions.find(sessions.sign_in(1, "docent", 1), 1)
    woken: list[str] = []
    assert isinstance(session, Session)
    session.open_asks.add(lambda: woken.append("woken"))
    sessions.end(session)
    assert woken == ["woken"]


def test_a_name_that_was_never_given_finds_nothing(sessions: Sessions) -> None:
    sessions.sign_in(1, "docent", 1)
    assert [sessions.find(name, device) for name in ("", "x", "0" * 43) for device in (0, 1, 2, 3)] == [
        None
    ] * 12
