"""The desk process: serves the docent's page, follows the recording, and asks the bridge at its door.

    serve_desk(order, ready=print)       # until SIGTERM or SIGINT

One thread under gevent, as for the visitors' page, but a process of its own: a fault there is none here. It
lives on when the bridge is killed, and finds the next one's door.
"""

from __future__ import annotations

import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import gevent
import msgspec
from gevent import ssl

from exhibit.decisions.desk.desk_view import DeskView
from exhibit.decisions.machine.description import Machine
from exhibit.desk.answering import Desk
from exhibit.desk.door import Door
from exhibit.desk.pages import make_app
from exhibit.desk.people import PeopleFile
from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.output.service_manager import ServiceManager
from exhibit.web.admission import Room
from exhibit.web.bounded_connections import BoundedServer, most_connections
from exhibit.web.bounded_log import NotPrinted, keep_log, nothing_printed
from exhibit.web.following import Follower
from exhibit.web.guarding import READING, Guard, GuardedHandler, served_names
from exhibit.web.headers import HEADERS
from exhibit.web.phone import in_url, is_loopback, own_address
from exhibit.web.picture import Picture
from exhibit.web.turns import Turns
from exhibit.web.website import beat, listen

PORT: Final = 8001
DESKS_LOG: Final = "desk-{port}.log"
METHODS: Final = (*READING, "POST")
LONGEST_BODY_BYTES: Final = 40 * 1024 * 1024
"""What is longer isn't even read. A photograph that is too large still gets a sentence."""
DESKS_HEADERS: Final = {**HEADERS, "Cache-Control": "no-store"}
_FILES: Final = "/today/files/"


class DeskOrder(msgspec.Struct, frozen=True, kw_only=True):
    """Where the desk serves what."""

    machine: Machine
    recordings: Path
    people: Path
    saved: Path
    host: str = "127.0.0.1"
    port: int = PORT
    name: str = ""
    certificate: Path | None = None
    key: Path | None = None
    practice: bool = False
    """Whoever is asked to sign in is told that it is practice; then the recording itself says it."""


class DeskHandler(GuardedHandler):
    """Takes requests with a body, since people send something here."""

    methods = METHODS
    ours = DESKS_HEADERS
    longest_body_bytes = LONGEST_BODY_BYTES


def serve_desk(order: DeskOrder, ready: Callable[[str], None] = lambda _: None) -> None:
    """Serve the docent's page, until SIGTERM or SIGINT. `ready` gets its address.

    Raises SetUpFault if it can't be served there, or not so that others can't listen.
    """
    tls = _tls(order)
    people = PeopleFile(order.people)
    with people.change():
        pass  # there is one from now on
    listener = listen(order.host, order.port)
    port = listener.getsockname()[1]
    log = keep_log(order.recordings / DESKS_LOG.format(port=port))
    picture = Picture("live")
    desk = Desk(
        picture=picture,
        machine=order.machine,
        recordings=order.recordings,
        saved=order.saved,
        people=people,
        door=Door(order.recordings, order.machine.name),
        encrypted=tls is not None,
        note=log.note,
        practice=order.practice,
    )
    follower = Follower(
        picture,
        order.recordings,
        order.machine.name,
        log.note,
        make_view=DeskView,
        took_in=desk.by_hand.take,
    )
    app = make_app(desk)
    guard = Guard(
        _in_turns(app), served_names(order.host, order.name), log.note, methods=METHODS, ours=DESKS_HEADERS
    )
    gevent.get_hub().print_exception = log.hub_error  # type: ignore[method-assign, assignment]
    server = BoundedServer(listener, guard, NotPrinted(log), Room(most_connections()), DeskHandler, tls=tls)
    server.start()
    for number in (signal.SIGTERM, signal.SIGINT):
        gevent.signal_handler(number, server.stop, 1)
    service_manager = ServiceManager()
    beating = gevent.spawn(beat, service_manager)
    following = gevent.spawn(follower.run)
    following.link_exception(lambda _: server.stop(1))
    service_manager.ready()
    ready(_address(order, port, encrypted=tls is not None))
    try:
        with nothing_printed(log):
            server.serve_forever()
    finally:
        following.kill()
        beating.kill()
    if isinstance(following.exception, ExhibitError):
        raise following.exception
    if isinstance(following.exception, Exception):
        raise SetUpFault(
            "The docent's page has met a fault in the software, and has ended.",
            "What it says would have become untrue. The machine's scripts go on without it.",
            "Start it again. Show whoever looks after this program the last line of the page's log.",
        )


def _in_turns(app: Callable[..., Any]) -> Callable[..., Any]:
    """Files take turns, as for the visitors' page; what people ask for never waits behind a file."""
    turns = Turns(app)

    def answered(environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        answer = turns if environ["PATH_INFO"].startswith(_FILES) else app
        return answer(environ, start_response)

    return answered


def _address(order: DeskOrder, port: int, *, encrypted: bool) -> str:
    host = order.name or (own_address() if order.host in ("0.0.0.0", "::") else order.host)
    return f"{'https' if encrypted else 'http'}://{in_url(host or 'localhost')}:{port}/today"


def _tls(order: DeskOrder) -> ssl.SSLContext | None:
    if order.certificate is None and order.key is None:
        if is_loopback(order.host):
            return None
        raise SetUpFault(
            f"At {order.host} other computers can reach the docent's page, and it has no certificate.",
            "Whoever is on the same network could then read a password, sign in with it, and type.",
            "Give --certificate and --key (docs/desk.md says how to make them), or leave out --host.",
        )
    if order.certificate is None or order.key is None:
        raise SetUpFault(
            "Only one of --certificate and --key is given.",
            "A certificate is of no use without its key, so the page can't be served encrypted.",
            "Give both files.",
        )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        if order.key.stat().st_mode & 0o077:
            raise SetUpFault(
                f"Other users of this computer can read the key {order.key}.",
                "With it they could pretend to be the docent's page.",
                f"Run: chmod 600 {order.key}",
            )
        context.load_cert_chain(order.certificate, order.key)
    except OSError as error:  # ssl's own errors are such, too
        raise SetUpFault(
            f"The certificate {order.certificate} can't be used with the key {order.key}: "
            f"{error.strerror or 'they are not a pair in PEM form'}.",
            "So the page can't be served encrypted.",
            "Make both anew, as docs/desk.md says.",
        ) from error
    return context
