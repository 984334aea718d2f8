"""The web process: serves the pages and answers their questions. The only module that imports Flask.

    serve_live(folder, port=8000)        # follows the newest recording there, until SIGTERM or SIGINT
    serve_replay(file, rate=1.0)         # plays a recording

It reads recordings and nothing else. It imports neither the bridge nor the line, so a page can't type at the
machine, not even by accident. It runs in a process of its own, on one thread under gevent, with nothing
patched: the libraries get gevent's own parts.
"""

from __future__ import annotations

import errno
import ipaddress
import json
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import flask
import gevent
from flask_socketio import SocketIO
from gevent import socket
from werkzeug.exceptions import HTTPException

from exhibit.decisions.page.views import VIEW_VERSION, View
from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.output.service_manager import ServiceManager
from exhibit.output.terminal import put
from exhibit.streams.keyframes import LastKeyframe
from exhibit.web import places
from exhibit.web.admission import MOST_NOT_JOINED, Doors, Room
from exhibit.web.bounded_connections import BoundedServer, most_connections
from exhibit.web.bounded_log import PAGES_LOG, EventLog, NotPrinted, keep_log, library_logger, nothing_printed
from exhibit.web.bounded_websocket import PageSockets
from exhibit.web.conversation import PING_S, Exhibit
from exhibit.web.drawn import drawn_picture
from exhibit.web.following import Follower
from exhibit.web.frames import LONGEST_MESSAGE_BYTES
from exhibit.web.guarding import Guard, GuardedHandler, served_names
from exhibit.web.meanwhile import TURN_AFTER_S, Meanwhile
from exhibit.web.phone import Phone, in_url
from exhibit.web.picture import Picture, Shown
from exhibit.web.replaying import Control, Replayer
from exhibit.web.turns import Turns

HOST = "127.0.0.1"
PORT = 8000
SEND_BUFFER_BYTES = 200_000
"""Room for a whole answer, and no more: what a page doesn't read, this computer keeps for it."""

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
    shares_port: bool = False,
    turn_after_s: float = TURN_AFTER_S,
    proxy: str = "",
    ready: Callable[[str], None] = lambda _: None,
) -> None:
    """Serve the visitor page of the newest recording in `where`, until SIGTERM or SIGINT.

    `where` is a folder of recordings or one recording. The folder can be empty or still missing: the page
    then says that nothing has started. `ready` gets the page's address once it can be opened; port 0 takes
    any free one; with `shares_port`, other processes that share it serve some of the pages. Browsers can also
    call this computer by `name`. When the machine has been away or resting for `turn_after_s`, the page shows
    a recording instead. `proxy` is the address of the one through which visitors come, if they do, and which
    says in the header X-Forwarded-For what address they have. Raises SetUpFault if the port isn't available
    or the pages' files are missing.
    """
    picture = Picture("live")
    kept = LastKeyframe(View, VIEW_VERSION)
    follower = Follower(picture, where, machine, _complain, kept=kept)
    meanwhile = Meanwhile(picture, where, machine, turn_after_s)
    run = [follower.run, meanwhile.run]
    log = keep_log((where.parent if where.is_file() else where) / PAGES_LOG.format(port=port))
    serve(picture, run, None, host, port, ready, log, name, proxy, shares_port=shares_port)


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
        serve(picture, [replayer.run], replayer.control, host, port, ready, log, name)
    finally:
        replayer.close()


def make_app(
    picture: Shown,
    control: Callable[[Control], None] | None,
    doors: Doors | None = None,
    phone: Phone | None = None,
    names: frozenset[str] = served_names(HOST),
    note: Callable[[str], None] = lambda _: None,
) -> flask.Flask:
    """The web application: the pages' files, and the one question that they can ask.

    `control` is None if there is nothing to control: then nothing listens for such requests. Only pages on
    this computer can control anything. `doors` admits the pages, and `phone` knows where a visitor's phone
    finds the page. `names` are those by which browsers can call this computer. `note` gets lines for the log.
    """
    app = flask.Flask("exhibit", static_folder=None)
    socketio = SocketIO(
        app,
        async_mode="gevent",
        transports=["websocket"],
        ping_interval=PING_S,
        ping_timeout=PING_S,
        max_http_buffer_size=LONGEST_MESSAGE_BYTES,
        manage_session=False,
        cookie=None,
        logger=library_logger(),
        engineio_logger=library_logger(),
        cors_allowed_origins=[],  # the guard has looked at the origin
    )
    phone = phone or Phone(HOST, PORT)
    _add_pages(app, phone, picture)
    about = Exhibit(picture, doors or Doors(MOST_NOT_JOINED), control, lambda: {"phone": phone.address()})
    # The library still checks each request: its version, and that it asks for a websocket.
    socketio.server.eio._handle_connect = PageSockets(about, socketio.server)
    app.wsgi_app = Guard(app.wsgi_app, names, note)  # type: ignore[method-assign]
    return app


def _add_pages(app: flask.Flask, phone: Phone, picture: Shown) -> None:
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


def serve(
    picture: Shown,
    run: list[Callable[[], None]],
    control: Callable[[Control], None] | None,
    host: str,
    port: int,
    ready: Callable[[str], None],
    log: EventLog,
    name: str = "",
    proxy: str = "",
    *,
    shares_port: bool = False,
    in_museum: bool = True,
) -> None:
    """Serve the visitor page of this picture, while the greenlets `run` keep it current.

    Only a page that is served `in_museum` shows visitors a code for their phones. The rest is as above.
    """
    proxy = _one_address(proxy) if proxy else ""
    listener = listen(host, port, shares_port)
    phone = Phone(host if in_museum else HOST, listener.getsockname()[1])
    most = most_connections()
    app = make_app(picture, control, Doors(most), phone, served_names(host, name), log.note)
    gevent.get_hub().print_exception = log.hub_error  # type: ignore[method-assign, assignment]
    server = BoundedServer(listener, Turns(app), NotPrinted(log), Room(most), GuardedHandler, proxy)
    server.start()
    for number in (signal.SIGTERM, signal.SIGINT):
        gevent.signal_handler(number, server.stop, 1)
    service_manager = ServiceManager()
    greenlets = [gevent.spawn(work) for work in [*run, lambda: beat(service_manager)]]
    for greenlet in greenlets:
        # A picture that has stopped changing would be untrue: no page at all is better.
        greenlet.link_exception(lambda _: server.stop(1))
    service_manager.ready()
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


def listen(host: str, port: int, shares_port: bool = False) -> socket.socket:
    """A socket that listens there; with `shares_port` beside others that share it. Raises SetUpFault."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
    if shares_port:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
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


def beat(service_manager: ServiceManager) -> None:
    """Beat as long as greenlets get their turns."""
    while service_manager.beat_every_s:
        service_manager.beat()
        gevent.sleep(service_manager.beat_every_s)


def _one_address(proxy: str) -> str:
    try:
        return str(ipaddress.ip_address(proxy))
    except ValueError:
        raise SetUpFault(
            f"The proxy's address `{proxy}` isn't an IP address.",
            "So the page would count all visitors as one, and let in only half as many.",
            "Give the address from which the proxy connects, such as --proxy 127.0.0.1.",
        ) from None


def _complain(words: str) -> None:
    # If even that can't be written, as into a file on a full disc, the page still goes on.
    with suppress(OSError):
        put(words, to=sys.__stderr__)
