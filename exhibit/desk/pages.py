"""The addresses of the docent's page, all under /today: its files, what is new, and what people ask for.

What somebody may is looked up in rights.MAY, for each message anew.
"""

from __future__ import annotations

from typing import Any, Final

import flask
import msgspec
from werkzeug.exceptions import HTTPException

from exhibit.bridge.request_door import Request
from exhibit.decisions.desk.desk_view import DeskView
from exhibit.desk import asking, entering, noting, words
from exhibit.desk import browser as browsers
from exhibit.desk.answering import Desk, Refusal, as_json, checked, here, message, signed_in
from exhibit.desk.browser import SESSION, Browser
from exhibit.desk.messages import Requested
from exhibit.desk.rights import MAY, STOPPING
from exhibit.web import places
from exhibit.web.drawn import drawn_picture
from exhibit.web.website import TYPES

SERVED: Final = ("desk", "shared", "words", "drawing", "charts")
"""The folders of web/ whose files are served, besides what is built."""
SIGN_IN_PAGE: Final = "sign_in.html"
TODAY_PAGE: Final = "index.html"
_TOKENS_PLACE: Final = '<meta name="token" content="">'


def make_app(desk: Desk) -> flask.Flask:
    """The web application."""
    app = flask.Flask("exhibit", static_folder=None)
    app.url_map.merge_slashes = False  # an address is itself, and leads to no other
    _add_files(app, desk)

    @app.get("/today/who")
    def who() -> flask.Response:
        return as_json(_who(desk, here(desk)))

    @app.post("/today/request")
    def request() -> flask.Response:
        browser = checked(desk)
        return _request(desk, browser, message(Requested))

    for add in (asking.add_to, entering.add_to, noting.add_to):
        add(app, desk)

    @app.errorhandler(Refusal)
    def refused(refusal: Refusal) -> flask.Response:
        return as_json({"accepted": False, "why": refusal.why, **refusal.more}, refusal.status)

    @app.errorhandler(HTTPException)
    def no_page(trouble: HTTPException) -> flask.Response:
        return flask.Response("There is no such page here.\n", trouble.code, content_type="text/plain")

    return app


def _who(desk: Desk, browser: Browser) -> dict[str, Any]:
    people, site = desk.people.current(), desk.machine.site
    answer: dict[str, Any] = {
        "machine": desk.machine.title,
        "mains_stop": site.mains_stop,
        "practice": desk.practice,
        "paired": browser.device is not None,
        "signed_in": signed_in(browser, people),
    }
    if browser.device is not None:
        answer["docents"] = sorted(docent.initials for docent in people.docents)
        answer["keyholder"] = site.keyholder
        answer["day"] = _day(desk)
    return answer


def _day(desk: Desk) -> dict[str, Any] | None:
    """How the day stands; None while the recording is still being read."""
    picture = desk.picture
    if picture.catching_up:
        return None
    stands = picture.view.at_a_glance() if isinstance(picture.view, DeskView) else None
    badge = {"name": picture.badge.name, "since": picture.badge.since}
    return {"badge": badge, "bridge": desk.door.is_there(), **(stands or {})}


def _request(desk: Desk, browser: Browser, asked: Requested) -> flask.Response:
    if asked.request not in MAY[browser.who]:
        status = 401 if browser.who == "device" else 403
        raise Refusal(status, words.why_not(browser.who, asked.request))
    if browser.session is not None:
        desk.sessions.touched(browser.session)
    if asked.request == "confirm" and (why := desk.by_hand.why_not(asked.step)):
        return as_json({"accepted": False, "why": why})
    if asked.request in STOPPING:
        desk.note(f"{asked.request} was asked for")
    answer = desk.door.ask(
        Request(
            request=asked.request,
            by=browser.by,
            step=asked.step,
            why=asked.why,
            about=asked.about,
            minutes=asked.minutes,
            text=asked.text,
        )
    )
    return as_json({"accepted": answer.accepted, "why": answer.why})


def _add_files(app: flask.Flask, desk: Desk) -> None:
    web, built = places.web_folder(), places.built_web_folder()
    folders = [built, *(web / name for name in SERVED if (web / name).is_dir())]
    paths = [path for folder in folders for path in folder.iterdir() if path.suffix in TYPES]
    files = {(path.parent.name, path.name): path for path in paths if path.suffix != ".html"}
    tags = sorted(path.stem for path in (web / "words").glob("*.js"))
    languages = f"export const LANGUAGES = {msgspec.json.encode(tags).decode()};\n"

    @app.get("/today/files/words/languages.js")
    def languages_there_are() -> flask.Response:
        return flask.Response(languages, content_type=TYPES[".js"])

    @app.get("/today/files/drawn/<name>")
    def drawn(name: str) -> flask.Response:
        if here(desk).device is None:
            flask.abort(404)
        content, kind = drawn_picture(desk.picture, name) or flask.abort(404)
        return flask.Response(content, content_type=kind)

    @app.get("/today/files/<folder>/<name>")
    def file(folder: str, name: str) -> flask.Response:
        path = files.get((folder, name))
        if path is None:
            flask.abort(404)
        return flask.Response(path.read_bytes(), content_type=TYPES[path.suffix])

    @app.get("/today")
    def page() -> flask.Response:
        browser = here(desk)
        today = web / "desk" / TODAY_PAGE
        path = today if browser.session and today.is_file() else web / "desk" / SIGN_IN_PAGE
        name = browser.name or browsers.new_name()
        token = browsers.token_for(name, desk.people.current())
        text = path.read_text("utf-8")
        text = text.replace(_TOKENS_PLACE, f'<meta name="token" content="{token}">', 1)
        response = flask.Response(text, content_type=TYPES[".html"])
        if not browser.name:
            browsers.give_cookie(response, SESSION, name, encrypted=desk.encrypted)
        return response
