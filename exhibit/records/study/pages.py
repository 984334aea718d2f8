"""The addresses of the engineer's page, all under its token: its files, and what it asks for.

    line?recording=NAME                  the day's line
    moment?recording=NAME&seq=4711       how everything stood just after that fact, or at at_us=...
    facts?recording=NAME&seqs=12,19      these facts
    search?recording=NAME&in=printed&wanted=TIDE    the places at which this was found
    recordings                           which recordings there are
    summaries                            what each of them had
    charts                               which charts there are
    chart?machine=whimbrel&of=round.add  the numbers of one
    checked?recording=NAME               how far it was read through, and what is damaged

The only module of exhibit/records that imports flask.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import flask
import msgspec
from werkzeug.exceptions import HTTPException

from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.records.study.charting import DAYS, charts, day_chart, step_chart, summaries
from exhibit.records.study.searching import WITHIN, search
from exhibit.records.study.shelf import Shelf
from exhibit.records.study.studied import Studied

SERVED: Final = ("records", "shared")
"""The folders of web/ whose files are served, besides what is built."""
TYPES: Final = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}
MOST: Final = 2**53
MOST_SEQS: Final = 50


def make_app(shelf: Shelf, web: Path) -> flask.Flask:
    """The web application. Raises SetUpFault if the page's files are missing."""
    app = flask.Flask("exhibit", static_folder=None)
    app.url_map.merge_slashes = False
    _add_files(app, web)
    kept: dict[str, Any] = {}

    @app.get("/recordings")
    def recordings() -> flask.Response:
        return _as_json(msgspec.json.encode({"recordings": shelf.rows()}))

    @app.get("/line")
    def line() -> flask.Response:
        studied = _studied(shelf)
        answer = studied.line()
        studied.start()
        return _as_json(answer)

    @app.get("/moment")
    def moment() -> flask.Response:
        studied = _studied(shelf)
        seq, at_us = _number("seq"), _number("at_us")
        if (seq is None) == (at_us is None):
            flask.abort(400)
        answer = studied.moment(
            seq=seq,
            at_us=at_us,
            after=_number("after") or 0,
            stream=_number("stream") or 0,
            whole=flask.request.args.get("playing") is None,
        )
        return _as_json(answer)

    @app.get("/facts")
    def facts() -> flask.Response:
        given = flask.request.args.get("seqs", "").split(",")
        seqs = [int(one) for one in given[:MOST_SEQS] if one.isdecimal() and len(one) < 16]
        return _as_json(msgspec.json.encode({"facts": _studied(shelf).facts(seqs)}))

    @app.get("/search")
    def found() -> flask.Response:
        args = flask.request.args
        within = WITHIN.get(args.get("in", "")) or flask.abort(400)
        name, wanted = args.get("recording", ""), args.get("wanted", "")
        answer = search(shelf, name, wanted, within, everywhere=args.get("everywhere") is not None)
        return _as_json(msgspec.json.encode(answer))

    @app.get("/summaries")
    def what_each_had() -> flask.Response:
        return _as_json(msgspec.json.encode(summaries(shelf)))

    @app.get("/charts")
    def which_charts() -> flask.Response:
        state = shelf.state()
        if kept.get("state") != state:
            # All steps of many days take some seconds, and are the same until there is something new.
            kept.update(state=state, charts=msgspec.json.encode(charts(shelf)))
        return _as_json(kept["charts"])

    @app.get("/chart")
    def chart() -> flask.Response:
        machine, of = flask.request.args.get("machine", ""), flask.request.args.get("of", "")
        answer = day_chart(shelf, machine, of) if of in DAYS else step_chart(shelf, machine, of)
        return _as_json(msgspec.json.encode(answer))

    @app.get("/checked")
    def checked() -> flask.Response:
        return _as_json(msgspec.json.encode(_studied(shelf).checked()))

    @app.errorhandler(ExhibitError)
    def refused(fault: ExhibitError) -> flask.Response:
        said = {"what": fault.what, "why": fault.why, "do": fault.do}
        return _as_json(msgspec.json.encode({"fault": said}), 422)

    @app.errorhandler(HTTPException)
    def no_page(trouble: HTTPException) -> flask.Response:
        return flask.Response("There is no such page here.\n", trouble.code, content_type="text/plain")

    return app


def _studied(shelf: Shelf) -> Studied:
    return shelf.studied(flask.request.args.get("recording", ""))


def _number(name: str) -> int | None:
    given = flask.request.args.get(name)
    if given is None:
        return None
    if not given.isdecimal() or len(given) > 16 or int(given) > MOST:
        flask.abort(400)
    return int(given)


def _as_json(encoded: bytes, status: int = 200) -> flask.Response:
    return flask.Response(encoded, status, content_type="application/json")


def _file(path: Path) -> flask.Response:
    return flask.Response(path.read_bytes(), content_type=TYPES[path.suffix])


def _add_files(app: flask.Flask, web: Path) -> None:
    built = web / "built"
    if not (built / "faces.css").is_file() or not (web / "records" / "index.html").is_file():
        raise SetUpFault(
            "The records page's own files are missing.",
            "Without them a browser shows an empty page.",
            "Install it again with `pip install .` in its folder, while connected to the internet.",
        )
    folders = [built, *(web / name for name in SERVED)]
    paths = [path for folder in folders for path in folder.iterdir() if path.suffix in TYPES]
    files = {(path.parent.name, path.name): path for path in paths}

    @app.get("/")
    def page() -> flask.Response:
        return _file(web / "records" / "index.html")

    @app.get("/files/<folder>/<name>")
    def file(folder: str, name: str) -> flask.Response:
        path = files.get((folder, name))
        return _file(path) if path is not None else flask.abort(404)
