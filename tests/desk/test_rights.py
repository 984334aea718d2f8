"""Each address and each message against each who could send it, on the wire of a real desk."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

import pytest

from exhibit.desk.rights import MAY, Who
from exhibit.desk.serving import DESKS_HEADERS
from exhibit.facts.session_facts import RequestKind
from tests.desk.desks import PASSWORD, Tablet, World, world
from tests.web.raw_http import answer, written

WHO: tuple[Who, ...] = get_args(Who)
REQUESTS: tuple[RequestKind, ...] = get_args(RequestKind)
STOPS = {"stop", "hands off"}
ENGINEERS = {"take keyboard", "key in"}
"""Written here once more, so that a slip in the code is seen."""
JPEG = b"\xff\xd8\xff\xe0" + bytes(100)

# What each gets: stranger, paired device, docent, engineer.
MESSAGES: list[tuple[str, Any, tuple[int, int, int, int]]] = [
    ("/today/ask", {"stream": "", "after": 0, "news": 0}, (403, 200, 200, 200)),
    *(
        (
            "/today/request",
            {"request": request, "step": "turn-the-key"},
            (
                403,
                200 if request in STOPS else 401,
                403 if request in ENGINEERS or request == "note" else 200,
                403 if request == "note" else 200,
            ),
        )
        for request in REQUESTS
    ),
    ("/today/pair", {"code": "00000000"}, (403, 409, 409, 409)),
    ("/today/sign-in", {"initials": "AB"}, (403, 200, 200, 200)),
    ("/today/sign-in", {"name": "Engineer", "password": PASSWORD}, (403, 200, 200, 200)),
    ("/today/sign-in", {"initials": "XX"}, (403, 403, 403, 403)),
    ("/today/sign-in", {}, (403, 403, 403, 403)),
    ("/today/note", {"text": "it smelt of warm dust"}, (403, 401, 200, 200)),
    ("/today/note", {"minutes": 20}, (403, 401, 200, 200)),
    ("/today/note", JPEG, (403, 401, 200, 200)),
    ("/today/sign-out", {}, (200, 200, 200, 200)),
]
READ = {
    "/today": (200, 200, 200, 200),
    "/today/who": (200, 200, 200, 200),
    "/today/files/desk/sign_in.js": (200, 200, 200, 200),
    "/today/files/words/languages.js": (200, 200, 200, 200),
    "/today/files/desk/sign_in.html": (404, 404, 404, 404),
    "/today/files/visitor/page.js": (404, 404, 404, 404),
    "/today/files/drawn/nothing": (404, 404, 404, 404),
    "/today/notes": (404, 404, 404, 404),
    "/today/": (404, 404, 404, 404),
    "/": (404, 404, 404, 404),
}


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    with world(tmp_path_factory.mktemp("desk")) as made:
        yield made


def as_who(there: World, who: Who) -> Tablet:
    """A browser of this kind. Its signing in isn't what a test is about."""
    tablet = there.tablet(
        "AB" if who == "docent" else "", "Engineer" if who == "engineer" else "", paired=who != "stranger"
    )
    there.bridge.taken()
    return tablet


def post(tablet: Tablet, path: str, message: Any, **more: str | None) -> int:
    headers = {"Content-Type": "image/jpeg"} if message is JPEG else {}
    return tablet.post(path, message, {**headers, **{k.replace("_", "-"): v for k, v in more.items()}})[0]


def named(message: Any) -> str:
    return (
        "photograph" if message is JPEG else " ".join(f"{value}" for value in message.values()) or "nothing"
    )


@pytest.mark.parametrize("who", WHO)
def test_every_message_is_answered_as_the_table_says(there: World, who: Who) -> None:
    tablet = as_who(there, who)
    for path, message, expected in MESSAGES:
        if who != "stranger" and path == "/today/sign-in":
            continue  # that would be somebody else from then on; the next test does it
        assert (path, named(message), post(tablet, path, message)) == (
            path,
            named(message),
            expected[WHO.index(who)],
        )


@pytest.mark.parametrize("who", WHO)
def test_signing_in_is_answered_as_the_table_says(there: World, who: Who) -> None:
    for path, message, expected in MESSAGES:
        if path == "/today/sign-in":
            assert post(as_who(there, who), path, message) == expected[WHO.index(who)]


@pytest.mark.parametrize("who", WHO)
def test_of_the_requests_those_that_somebody_may_reach_the_bridge_and_no_other(
    there: World, who: Who
) -> None:
    tablet = as_who(there, who)
    for request in REQUESTS:
        tablet.asks(request, step="turn-the-key", why="because", about=3, minutes=5, text="HELLO\r")
    allowed = {"stranger": set(), "device": STOPS, "docent": set(REQUESTS) - ENGINEERS - {"note"}}.get(
        who, set(REQUESTS) - {"note"}
    ) - {"confirm"}  # nobody asks for that step
    asked = there.bridge.taken()
    assert {one.request for one in asked} == allowed
    by = {"device": f"tablet {tablet.number}", "docent": "docent 1", "engineer": "engineer 1"}.get(who, "")
    assert {one.by for one in asked} == ({by} if allowed else set())
    for one in asked:
        assert (one.step, one.why, one.about, one.minutes, one.text) == (
            "turn-the-key",
            "because",
            3,
            5,
            "HELLO\r",
        )


@pytest.mark.parametrize("who", WHO)
def test_every_address_that_can_be_read_is_answered_as_the_table_says(there: World, who: Who) -> None:
    tablet = as_who(there, who)
    for path, expected in READ.items():
        assert (path, tablet.get(path)[0]) == (path, expected[WHO.index(who)])


@pytest.mark.parametrize("who", ["device", "docent", "engineer"])
def test_nothing_that_a_page_from_elsewhere_sends_is_done_even_with_the_cookies(
    there: World, who: Who
) -> None:
    """The visitors' page is such a page: the same computer, another port."""
    tablet = as_who(there, who)
    elsewhere = ("http://127.0.0.1:8000", "http://elsewhere.example", "null", "", None)
    for path, message, _ in MESSAGES:
        for origin in elsewhere:
            assert post(tablet, path, message, Origin=origin) == 403, (path, origin)
        assert post(tablet, path, message, Sec_Fetch_Site="same-site") == 409
    assert there.bridge.taken() == []


@pytest.mark.parametrize("who", ["device", "docent", "engineer"])
def test_nothing_is_done_without_the_token_of_the_page(there: World, who: Who) -> None:
    tablet, other = as_who(there, who), as_who(there, who)
    for path, message, _ in MESSAGES:
        for token in (None, "", "0" * 64, other.token, tablet.token[:-1], tablet.token.upper(), "ä"):
            if token is not None and not token.isascii():
                token = token.encode().decode("latin-1")
            assert post(tablet, path, message, X_Exhibit_Token=token) == 409, (path, token)
    assert there.bridge.taken() == []


def test_every_answer_carries_the_headers_and_is_not_to_be_stored(there: World) -> None:
    tablet = as_who(there, "docent")
    cookie = "; ".join(f"{name}={value}" for name, value in tablet.cookies.items())
    requests = [("GET", path, b"") for path in READ] + [("HEAD", "/today", b""), ("PUT", "/today", b"")]
    requests += [("POST", path, b"{}") for path, _, _ in MESSAGES if path != "/today/ask"]
    for method, path, body in requests:
        lines = (f"Host: 127.0.0.1:{there.port}", f"Origin: {tablet.origin}", f"Cookie: {cookie}")
        lines += ("Connection: close", f"Content-Length: {len(body)}")
        came = answer(there.port, written(method, path, *lines) + body)
        for name, value in DESKS_HEADERS.items():
            assert came.headers.get(name.lower()) == [value], (method, path, came.status)
    assert DESKS_HEADERS["Cache-Control"] == "no-store"
    assert "script-src 'self'" in DESKS_HEADERS["Content-Security-Policy"]
    assert "unsafe" not in DESKS_HEADERS["Content-Security-Policy"]


def test_methods_that_no_page_uses_are_refused(there: World) -> None:
    tablet = as_who(there, "engineer")
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert tablet._say(method, "/today/request", b"{}", {"Origin": tablet.origin})[0] == 405
    assert tablet._say("GET", "/today/request", None, {})[0] == 405


def test_the_rights_in_the_code_are_those_of_this_table() -> None:
    assert MAY["stranger"] == set()
    assert MAY["device"] == STOPS
    assert MAY["docent"] == set(REQUESTS) - ENGINEERS - {"note"}
    assert MAY["engineer"] == set(REQUESTS) - {"note"}
