"""The web process: serves the pages and answers their questions. The only module that imports Flask.

    serve_live(folder, port=8000)        # follows the newest recording there, until SIGTERM or SIGINT
    serve_replay(file, rate=1.0)         # plays a recording

It reads recordings and nothing else. It imports neither the bridge nor the line, so a page can't type at the
machine, not even by accident. It runs in a process of its own, on one thread under gevent, with nothing
patched: the libraries get gevent's own parts.
"""

from __future__ import annotations

import errno
import json
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import flask
import gevent
import msgspec
from flask_socketio import SocketIO
from gevent import pywsgi, socket
from werkzeug.exceptions import HTTPException

from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.output.terminal import put
from exhibit.web import bounded_websocket, encoded_json, places
from exhibit.web.admission import Doors
from exhibit.web.bounded_connections import allow_open_files
from exhibit.web.bounded_log import PAGES_LOG, EventLog, NotPrinted, keep_log, library_logger, nothing_printed
from exhibit.web.drawn import drawn_picture
from exhibit.web.encoded_json import EncodedJson
from exhibit.web.following import Follower
from exhibit.web.guarding import Guard, GuardedHandler, served_names
from exhibit.web.meanwhile import TURN_AFTER_S, Meanwhile
from exhibit.web.phone import Phone, in_url, is_loopback
from exhibit.web.picture import Ask, Picture
from exhibit.web.replaying import Control, Replayer

HOST = "127.0.0.1"
PORT = 8000
PING_S = 10
MOST_CONNECTIONS = 1500
SEND_BUFFER_BYTES = 200_000
"""Room for a whole answer: the websocket library sends a message in one go or not at all."""

SERVED = ("visitor", "shared", "words", "drawing", "charts")
"""The folders of web/ whose files are served, each under its folder's name."""
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}


def serve_live(
    where: Path,
    *,
    machine: str | None = None,
    host: str = HOST,
    port: int = PORT,
    name: str = "",
    turn_after_s: float = TURN_AFTER_S,
    ready: Callable[[str], None] = lambda _: None,
) -> None:
    """Serve the visitor page of the newest recording in `where`, until SIGTERM or SIGINT.

    `where` is a folder of recordings or one recording. The folder can be empty or still missing: the page
    then says that nothing has started. `ready` gets the page's address once it can be opened; port 0 takes
    any free one. Browsers can also call this computer by `name`. When the machine has been away or resting
    for `turn_after_s`, the page shows a recording instead. Raises SetUpFault if the port isn't available or
    the pages' files are missing.
    """
    picture = Picture("live")
    follower = Follower(picture, where, machine, _complain)
    meanwhile = Meanwhile(picture, where, machine, turn_after_s)
    log = keep_log((where.parent if where.is_file() else where) / PAGES_LOG.format(port=port))
    _serve(picture, [follower.run, meanwhile.run], None, host, port, ready, log, name)


def serve_replay(
    path: Path,
    *,
    rate: float = 1.0,
    host: str = HOST,
    port: int = PORT,
    name: str = "",
    ready: Callable[[str], None] = lambda _: None,
    cache_folder: Path | None = None,
) -> None:
    """Serve the visitor page from a recording, with controls to play, pause and go to a place.

    `rate` is how many times the original speed. The rest is as for serve_live. Raises RecordingFault if the
    file isn't a readable recording.
    """
    picture = Picture("replay")
    replayer = Replayer(picture, path, rate, cache_folder)
    try:
        log = keep_log(path.parent / PAGES_LOG.format(port=port))
        _serve(picture, [replayer.run], replayer.control, host, port, ready, log, name)
    finally:
        replayer.close()


def make_app(
    picture: Picture,
    control: Callable[[Control], None] | None,
    doors: Doors | None = None,
    phone: Phone | None = None,
    names: frozenset[str] = served_names(HOST),
    note: Callable[[str], None] = lambda _: None,
) -> flask.Flask:
    """The web application: the pages' files, and the one question that they can ask.

    `control` is None if there is nothing to control: then nothing listens for such requests. Only pages on
    this computer can control anything. `phone` knows where a visitor's phone finds the page. `names` are
    those by which browsers can call this computer. `note` gets lines for the log.
    """
    app = flask.Flask("exhibit", static_folder=None)
    socketio = SocketIO(
        app,
        async_mode="gevent",
        transports=["websocket"],
        ping_interval=PING_S,
        ping_timeout=PING_S,
        max_http_buffer_size=bounded_websocket.LONGEST_MESSAGE_BYTES,
        manage_session=False,
        cookie=None,
        json=encoded_json,
        logger=library_logger(),
        engineio_logger=library_logger(),
        cors_allowed_origins=[],  # the guard has looked at the origin
    )
    socketio.server.eio._async = bounded_websocket.parts()
    phone = phone or Phone(HOST, PORT)
    _add_pages(app, phone, picture)
    _add_questions(socketio, picture, control, doors or Doors(), phone)
    app.wsgi_app = Guard(app.wsgi_app, names, note)  # type: ignore[method-assign]
    return app


def _add_pages(app: flask.Flask, phone: Phone, picture: Picture) -> None:
    web, built = places.web_folder(), places.built_web_folder()
    folders = [built, *(web / name for name in SERVED if (web / name).is_dir())]
    paths = [path for folder in folders for path in folder.iterdir() if path.suffix in TYPES]
    files = {f"/{path.parent.name}/{path.name}": path for path in paths}
    files["/"] = web / "visitor" / "index.html"
    tags = sorted(path.stem for path in (web / "words").glob("*.js"))
    languages = f"export const LANGUAGES = {json.dumps(tags)};\n"

    @app.get("/phone.svg")
    def phone_picture() -> flask.Response:
        return flask.Response(phone.picture() or flask.abort(404), content_type="image/svg+xml")

    @app.get("/drawn/<name>")
    def drawn(name: str) -> flask.Response:
        content, kind = drawn_picture(picture, name) or flask.abort(404)
        return flask.Response(content, content_type=kind)

    @app.get("/words/languages.js")
    def languages_there_are() -> flask.Response:
        return flask.Response(languages, content_type=TYPES[".js"])

    @app.get("/")
    @app.get("/<path:address>")
    def page(address: str = "") -> flask.Response:
        path = files.get(f"/{address}")
        if path is None:
            flask.abort(404)
        response = flask.Response(path.read_bytes(), content_type=TYPES[path.suffix])
        response.add_etag()
        response.make_conditional(flask.request)
        return response

    @app.errorhandler(HTTPException)
    def refusal(trouble: HTTPException) -> flask.Response:
        return flask.Response("There is no such page here.\n", trouble.code, content_type="text/plain")


def _add_questions(
    socketio: SocketIO,
    picture: Picture,
    control: Callable[[Control], None] | None,
    doors: Doors,
    phone: Phone,
) -> None:
    # The server beneath Flask-SocketIO, whose own layer would make a Flask request for each question:
    # no question here needs one.
    server = socketio.server

    here: set[str] = set()
    """The pages that are open on this computer."""

    def connect(sid: str, environ: dict[str, Any], auth: object = None) -> bool:
        address = str(environ.get("REMOTE_ADDR", ""))
        if not doors.let_in(sid, address):
            return False
        if is_loopback(address):
            here.add(sid)
        return True

    def disconnect(sid: str, reason: object = None) -> None:
        doors.let_out(sid)
        here.discard(sid)

    def ask(sid: str, message: object = None) -> EncodedJson | dict[str, Any]:
        try:
            question = msgspec.convert(message, Ask)
        except msgspec.ValidationError:
            return {"refused": "not understood"}
        if not doors.begin(sid, question.console):
            return {"refused": "one at a time"}
        try:
            if (pause_s := doors.pause_s(sid)) > 0:
                gevent.sleep(pause_s)
            picture.wait_for_newer(question)
            return picture.encoded_answer(question, {"phone": phone.address()}, controls=sid in here)
        finally:
            doors.end(sid)

    server.on("connect", connect)
    server.on("disconnect", disconnect)
    server.on("ask", ask)
    if control is None:
        return

    def take_control(sid: str, message: object = None) -> dict[str, Any]:
        if sid not in here:
            return {"refused": "only on the computer itself"}
        try:
            control(msgspec.convert(message, Control))
        except msgspec.ValidationError:
            return {"refused": "not understood"}
        return {"done": True}

    server.on("control", take_control)


def _serve(
    picture: Picture,
    run: list[Callable[[], None]],
    control: Callable[[Control], None] | None,
    host: str,
    port: int,
    ready: Callable[[str], None],
    log: EventLog,
    name: str,
) -> None:
    listener = _listen(host, port)
    phone = Phone(host, listener.getsockname()[1])
    app = make_app(picture, control, phone=phone, names=served_names(host, name), note=log.note)
    gevent.get_hub().print_exception = log.hub_error  # type: ignore[method-assign, assignment]
    allow_open_files(MOST_CONNECTIONS)
    server = pywsgi.WSGIServer(
        listener,
        app,
        log=None,
        error_log=NotPrinted(log),
        spawn=MOST_CONNECTIONS,
        handler_class=GuardedHandler,
    )
    server.start()
    for number in (signal.SIGTERM, signal.SIGINT):
        gevent.signal_handler(number, server.stop, 1)
    greenlets = [gevent.spawn(work) for work in run]
    for greenlet in greenlets:
        # A picture that has stopped changing would be untrue: no page at all is better.
        greenlet.link_exception(lambda _: server.stop(1))
    ready(phone.address() or f"http://{in_url(host)}:{listener.getsockname()[1]}/")
    try:
        with nothing_printed(log):
            server.serve_forever()
    finally:
        gevent.killall(greenlets)
    for greenlet in greenlets:
        if isinstance(greenlet.exception, ExhibitError):
            raise greenlet.exception
        if isinstance(greenlet.exception, Exception):
            raise SetUpFault(
                "The page has met a fault in the software, and has ended.",
                "It would have stopped changing, and then what it says would be untrue.",
                "Start it again. Show whoever looks after this program the last line of the page's log.",
            )


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
    try:
        listener.bind((host, port))
    except (OSError, OverflowError, TypeError, ValueError) as error:
        listener.close()
        in_use = isinstance(error, OSError) and error.errno == errno.EADDRINUSE
        reason = error.strerror if isinstance(error, OSError) and error.strerror else f"{error}"
        raise SetUpFault(
            f"The page can't be served at {in_url(host)}, port {port}"
            + (": that port is in use." if in_use else f": {reason[:1].lower()}{reason[1:]}."),
            "Another program uses it, perhaps another exhibit, so nobody could see the page."
            if in_use
            else "So nobody could see the page. The address may not be one of this computer's.",
            f"End that program, or choose another port, such as --port {8001 if port != 8001 else 8002}.",
        ) from error
    listener.listen(128)
    return listener


def _complain(words: str) -> None:
    put(words, to=sys.__stderr__)
