"""Cookies, signing in and out, pairing and guessing, on the wire of a real desk."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.desk.asking import MOST_OPEN
from exhibit.desk.browser import DEVICE, SESSION
from exhibit.desk.delays import AT_ONCE
from exhibit.desk.passwords import hashed
from exhibit.desk.people import new_code
from exhibit.facts import kinds
from tests.desk.desks import CHEAP, DESK, PASSWORD, Desk, Tablet, World, world


@pytest.fixture
def there(tmp_path: Path) -> Iterator[World]:
    with world(tmp_path) as made:
        yield made


def code_in(there: World) -> str:
    with there.people.change() as people:
        return new_code(people, time.time())


def attributes(line: str) -> set[str]:
    return {
        part.strip() for part in line.split(";")[1:] if not part.strip().startswith(("Expires", "Max-Age"))
    }


def test_every_cookie_is_for_this_page_only_and_out_of_reach_of_scripts(there: World) -> None:
    tablet = there.tablet(paired=False)
    assert tablet.post("/today/pair", {"code": code_in(there)})[0] == 200
    tablet.post("/today/sign-in", {"initials": "AB"})
    tablet.post("/today/sign-out")
    assert len(tablet.cookie_lines) == 5
    for line in tablet.cookie_lines:
        assert attributes(line) == {"HttpOnly", "SameSite=Strict", "Path=/today"}
    lasting = [line for line in tablet.cookie_lines if "Max-Age" in line]
    assert [line.startswith(DEVICE) for line in lasting] == [True], "a session's cookie goes with the browser"


def test_a_code_pairs_a_device_that_then_may_stop_and_see(there: World) -> None:
    tablet = there.tablet(paired=False)
    assert tablet.news()[0] == 403
    assert tablet.post("/today/pair", {"code": code_in(there)})[0] == 200
    assert tablet.news()[0] == 200
    assert tablet.asks("stop") == (200, {"accepted": True, "why": ""})
    assert [one.by for one in there.bridge.taken()] == ["tablet 1"]


def test_a_code_is_good_for_one_device(there: World) -> None:
    code = code_in(there)
    first, second = there.tablet(paired=False), there.tablet(paired=False)
    assert first.post("/today/pair", {"code": code})[0] == 200
    status, answer = second.post("/today/pair", {"code": code})
    assert (status, answer["accepted"]) == (403, False)
    assert "No code is valid" in answer["why"]
    assert second.news()[0] == 403


def test_signing_in_renews_the_name_and_the_token_and_the_old_ones_are_worth_nothing(there: World) -> None:
    tablet = there.tablet()
    before = tablet.copy()
    tablet.post("/today/sign-in", {"initials": "AB"})
    assert tablet.cookies[SESSION] != before.cookies[SESSION]
    assert tablet.token != before.token
    assert tablet.asks("here")[0] == 200
    assert before.asks("here")[0] == 401
    there.bridge.taken()


def test_a_name_that_somebody_planted_before_signing_in_is_not_the_session_s(there: World) -> None:
    tablet, planted = there.tablet(), "A" * 43
    tablet.cookies[SESSION] = planted
    tablet.open()
    tablet.post("/today/sign-in", {"initials": "AB"})
    assert tablet.cookies[SESSION] != planted


def test_cookies_that_were_copied_do_nothing_after_signing_out(there: World) -> None:
    tablet = there.tablet("AB")
    copied = tablet.copy()
    assert copied.asks("here")[0] == 200
    tablet.post("/today/sign-out")
    assert copied.asks("here")[0] == 401
    assert tablet.asks("here")[0] == 401
    assert [one.by for one in there.bridge.taken()] == ["docent 1"]
    assert copied.news()[1]["signed_in"] is None


def test_a_session_s_cookie_is_worth_nothing_on_another_device(there: World) -> None:
    tablet, other = there.tablet(engineer="Engineer"), there.tablet()
    other.cookies[SESSION], other.token = tablet.cookies[SESSION], tablet.token
    assert other.asks("take keyboard")[0] == 401
    without = tablet.copy()
    del without.cookies[DEVICE]
    assert without.asks("stop")[0] == 403
    assert tablet.asks("take keyboard")[0] == 200


def test_a_question_that_waits_ends_when_the_person_signs_out(there: World) -> None:
    tablet = there.tablet("AB")
    has = tablet.news()[1]
    newest = {"stream": has["stream"], "after": has["picture"]["seq"], "news": has["news"]}
    copies = [tablet.copy() for _ in range(MOST_OPEN + 1)]
    ended: list[int] = []
    threads = [threading.Thread(target=lambda one=one: ended.append(one.news(**newest)[0])) for one in copies]
    for thread in threads:
        thread.start()
    while 429 not in ended:  # then all the others wait
        assert any(thread.is_alive() for thread in threads)
        time.sleep(0.01)
    tablet.post("/today/sign-out")
    for thread in threads:
        thread.join()
    assert sorted(ended) == [401] * MOST_OPEN + [429]


def test_a_tablet_that_is_removed_can_do_nothing_from_then_on(there: World) -> None:
    tablet = there.tablet("AB")
    assert tablet.asks("here")[0] == 200
    with there.people.change() as people:
        people.devices = []
    assert tablet.asks("here")[0] == 403
    assert tablet.asks("stop")[0] == 403
    assert tablet.news()[0] == 403


def test_after_a_password_was_reset_the_old_one_and_its_session_are_over(there: World) -> None:
    tablet = there.tablet(engineer="Engineer")
    with there.people.change() as people:
        people.engineers[0].password = hashed("another long word", CHEAP)
    assert tablet.asks("take keyboard")[0] == 401
    assert tablet.post("/today/sign-in", {"name": "Engineer", "password": PASSWORD})[0] == 403
    assert tablet.post("/today/sign-in", {"name": "engineer", "password": "another long word"})[0] == 200


def test_guessing_passwords_and_codes_soon_has_to_wait_whatever_address_a_request_names(there: World) -> None:
    tablet, stranger = there.tablet(), there.tablet(paired=False)
    statuses = []
    for number in range(AT_ONCE + 3):
        forged = {"X-Forwarded-For": f"192.0.2.{number}", "Forwarded": f"for=192.0.2.{number}"}
        guess = {"name": "Engineer", "password": f"wrong word {number}"}
        statuses.append(tablet.post("/today/sign-in", guess, forged)[0])
    assert statuses[:AT_ONCE] == [403] * AT_ONCE
    assert 429 in statuses
    with there.people.change() as people:
        people.code = None
    status, answer = stranger.post("/today/pair", {"code": "12345678"})
    assert status == 429
    assert "Wait" in answer["why"]
    # A docent isn't held up by that, nor is anybody who wants to stop.
    assert tablet.asks("stop")[0] == 200
    assert tablet.post("/today/sign-in", {"initials": "AB"})[0] == 200


def test_many_guesses_at_once_gain_nothing(there: World) -> None:
    tablet = there.tablet()
    statuses: list[int] = []

    def guess(number: int) -> None:
        said = {"name": "Engineer", "password": f"wrong word {number}"}
        statuses.append(tablet.copy().post("/today/sign-in", said)[0])

    threads = [threading.Thread(target=guess, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses.count(429) >= 12 - AT_ONCE - 3
    assert 200 not in statuses


def test_a_wrong_name_and_a_wrong_password_get_the_same_answer(there: World) -> None:
    tablet = there.tablet()
    answers = [
        tablet.post("/today/sign-in", {"name": name, "password": "some other words"})
        for name in ("Engineer", "Nobody")
    ]
    assert answers[0] == answers[1]


def test_no_answer_and_no_file_holds_a_password_a_code_or_a_token(there: World) -> None:
    code = code_in(there)
    tablet = there.tablet(paired=False)
    said = [tablet.post("/today/pair", {"code": code})[1]]
    said.append(tablet.post("/today/sign-in", {"name": "Engineer", "password": PASSWORD})[1])
    said.append(tablet.news()[1])
    secret = [PASSWORD, code, tablet.cookies[DEVICE], tablet.cookies[SESSION]]
    files = [path.read_bytes() for path in there.here.rglob("*") if path.is_file()]
    for one in secret:
        assert one not in json.dumps(said)
        assert not any(one.encode() in content for content in files)


def test_a_log_line_tells_of_signing_in_by_number_and_of_refusals(there: World) -> None:
    tablet = there.tablet("AB")
    tablet.post("/today/sign-in", {"name": "Engineer", "password": "some other words"})
    tablet.copy().post("/today/request", {"request": "stop"}, {"X-Exhibit-Token": "0" * 64})
    log = (there.here / "recordings" / f"desk-{there.port}.log").read_text()
    assert "docent 1 signed in" in log
    assert "a password was not right" in log
    assert "without its page's token" in log
    assert "AB" not in log
    assert "some other words" not in log


def test_after_the_desk_was_started_again_a_tablet_can_stop_at_once_and_its_people_sign_in_again(
    there: World,
) -> None:
    tablet = there.tablet("AB")
    there.desk.end()
    there.desk = Desk(DESK.format(here=f"{there.here}", more={}))
    again = tablet.copy()
    again.port = there.port
    assert again.asks("stop")[0] == 200
    assert again.asks("here")[0] == 401
    assert again.post("/today/sign-in", {"initials": "AB"})[0] == 200


def test_a_stranger_learns_where_the_mains_stop_is_and_nobody_s_initials(there: World) -> None:
    stranger = Tablet(there.port)
    page = stranger.open()
    status, who = stranger.get("/today/who")
    assert status == 200
    assert json.loads(who)["mains_stop"]
    assert "AB" not in who + page
    assert stranger.news()[1]["mains_stop"] == json.loads(who)["mains_stop"]
    assert json.loads(there.tablet().get("/today/who")[1])["docents"] == ["AB", "CD"]


def test_a_paired_device_is_told_how_the_day_stands_and_a_stranger_is_not(there: World) -> None:
    there.happens(kinds.DayTurned(phase="rounds", by="docent 1"))
    there.happens(kinds.ScriptStarted(script="round", title={"en": "Tides"}, by="session", round=4))
    there.happens(kinds.HandsOnAsked(script="round", step="look", words={"en": "Look."}, caution={"en": "!"}))
    device, stranger = there.tablet(), Tablet(there.port)
    until_s = time.monotonic() + 60
    while not (day := json.loads(device.get("/today/who")[1])["day"]) or not day.get("needs"):
        assert time.monotonic() < until_s
        time.sleep(0.05)
    assert (day["phase"], day["round"], day["bridge"]) == (
        "rounds",
        {"title": {"en": "Tides"}, "number": 4, "tidying": False},
        True,
    )
    assert day["needs"]["what"] == "hands on"
    assert not {"docent 1", "Look."} & set(json.dumps(day).split('"')), "no more than how the day stands"
    who = json.loads(stranger.get("/today/who")[1])
    assert set(who) == {"machine", "mains_stop", "practice", "paired", "signed_in"}
