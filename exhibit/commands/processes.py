"""The commands of `exhibit` that are each one process; people too use `simulate` and `page`."""

from __future__ import annotations

import importlib.util
import os
import sys
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypedDict
from urllib.parse import urlsplit

import click

from exhibit.commands.options import (
    FILE,
    FOLDER,
    host_option,
    line_option,
    name_option,
    port_option,
    recordings_option,
    redis_options,
    starter_option,
)
from exhibit.facts.errors import SetUpFault, not_installed
from exhibit.output.terminal import put

if TYPE_CHECKING:
    from exhibit.bridge.setup import BridgeOrder
    from exhibit.folder.secret_words import Secrets
    from exhibit.relay.access import Access

MOST_WORKERS: Final = 64


@click.command(short_help="Runs the simulated machine alone.")
@click.option(
    "--speed", type=float, default=1.0, show_default=True, help="How fast time runs; 1 is real time."
)
@click.option(
    "--tcp",
    type=click.IntRange(0, 65535),
    default=None,
    help="TCP port instead of a pseudo-terminal; 0 picks a free one.",
)
@click.option("--link", type=FILE, default=None, help="Symbolic link to create to the pseudo-terminal.")
@click.option("--control", type=FILE, default=None, help="Socket to create for acts at the machine's front.")
@click.option("--truth", type=FILE, default=None, help="File to which the simulator appends its own log.")
@starter_option
def simulate(
    speed: float,
    tcp: int | None,
    link: Path | None,
    control: Path | None,
    truth: Path | None,
    with_starter: bool,
) -> None:
    """Runs the simulated machine alone, on a pseudo-terminal or a TCP port.

    Type acts at its front, such as `key on`, in this terminal; `help` lists them.
    """
    from exhibit.simulator.shell import serve

    _end_with_starter(with_starter)
    serve(
        speed=speed,
        tcp_port=tcp,
        link=link,
        control=control,
        truth=truth,
        acts_from_terminal=False if with_starter else None,
    )


@click.command(hidden=True)
@click.argument("folder", type=FOLDER)
@line_option
@recordings_option
@click.option("--rate", type=float, default=1.0)
@click.option("--simulated", is_flag=True)
@click.option("--just-made", is_flag=True)
@click.option("--practice", is_flag=True)
@click.option("--watch", "watch_only", is_flag=True)
@click.option("--typed", default="")
@click.option("--passed-by", type=FILE, default=None)
@click.option("--rounds", type=click.IntRange(0), default=None)
@click.option("--by-day", is_flag=True)
@click.option("--script", "scripts", multiple=True)
@click.option("--secrets", type=FILE, default=None)
@click.option("--end-when-failed", is_flag=True)
@click.option("--requests", type=FILE, default=None)
@starter_option
def bridge(
    folder: Path,
    line: str,
    recordings: Path,
    rate: float,
    simulated: bool,
    just_made: bool,
    practice: bool,
    watch_only: bool,
    typed: str,
    passed_by: Path | None,
    rounds: int | None,
    by_day: bool,
    scripts: tuple[str, ...],
    secrets: Path | None,
    end_when_failed: bool,
    requests: Path | None,
    with_starter: bool,
) -> None:
    """The process that owns the line and the recording; the commands that run something start it."""
    from exhibit.bridge.setup import BridgeOrder
    from exhibit.folder.whole import read_folder

    described = read_folder(folder)
    if practice and not simulated:
        raise SetUpFault(
            "A practice needs the simulated machine.",
            "At a real one, what is typed would be recorded as if it had never been typed.",
            "Leave out --practice, or use `exhibit practice`.",
        )
    if practice:
        described = described.at_any_hour()  # whoever practises may do so before the doors open
    order = BridgeOrder(
        folder=described,
        line=line,
        recordings=recordings,
        rate=rate,
        # Over a line, a simulator looks like a machine, so the folder has to say which it is.
        machine_is="simulated" if simulated or described.simulated_docent else "real",
        just_made=just_made,
        practice=practice,
        requests=requests,
        typed=typed,
        passed_by=passed_by,
        stay_when_failed=not end_when_failed,
    )
    _end_with_starter(with_starter)
    if watch_only:
        from exhibit.bridge.watching import watch
        from exhibit.folder.secret_words import read_secrets

        known = read_secrets((), os.environ, secrets)
        _say_which_are_short(known)
        sys.exit(watch(order, known))
    sys.exit(_run_scripts(order, rounds, scripts, secrets, demonstrated=simulated, by_day=by_day))


@click.command(short_help="Serves the visitors' page all day, whatever runs.")
@recordings_option
@click.option("--machine", default="", help="Show this machine; if not given, whichever recorded last.")
@port_option
@host_option
@click.option(
    "--proxy",
    default="",
    help="IP address of a proxy that visitors come through, if it says in X-Forwarded-For where each is.",
)
@click.option(
    "--workers",
    type=click.IntRange(1, MOST_WORKERS),
    default=1,
    show_default=True,
    help="How many processes serve it at this port.",
)
@redis_options("from", help="Show what `exhibit relay` sends to this Redis: rediss://HOST:PORT.")
@name_option
@click.option("--shares-port", is_flag=True, hidden=True)
@starter_option
def page(
    recordings: Path,
    machine: str,
    port: int,
    host: str,
    proxy: str,
    name: str,
    workers: int,
    address: str,
    login: Path | None,
    ca: Path | None,
    shares_port: bool,
    with_starter: bool,
) -> None:
    """Serves the visitors' page until it is stopped, whatever is started and stopped meanwhile.

    `run`, `watch` and `demo` with the same folder of recordings use this page instead of starting their own.
    Between them, and after a restart of this computer, it shows a recording and says that it is one.

    With --from it needs no recordings: it is a page for people elsewhere, as docs/hosting.md describes.
    """
    from exhibit.commands.visitors_page import OPEN_TO_ALL, SERVED_AT, Note, note_left, refuse_a_second
    from exhibit.web.phone import is_loopback
    from exhibit.web.website import serve_live

    _end_with_starter(with_starter)
    access = _access(address, login, ca) if address else None
    with ExitStack() as note:

        def ready(address: str) -> None:
            if not with_starter and access is None:
                own = Note(
                    address=address,
                    host=host,
                    port=urlsplit(address).port or port,
                    name=name,
                    machine=machine,
                    pid=os.getpid(),
                )
                try:
                    note.enter_context(note_left(recordings, own))
                except OSError as error:
                    put(*_without_a_note(recordings, error), to=sys.stderr)
            said = [f"{SERVED_AT}{address}"]
            if not with_starter:
                if access is None and not is_loopback(urlsplit(address).hostname or ""):
                    said += OPEN_TO_ALL.split("\n")
                said.append("Press Ctrl-C to end it.")
            # All at once: whoever reads the first line may end then, and nobody would take the others.
            put(*said)

        if not with_starter and access is None:
            refuse_a_second(recordings, port)
        if workers > 1:
            shown = ["--recordings", f"{recordings}", "--machine", machine] if access is None else []
            if access is not None:
                shown += ["--from", address, *(("--login", f"{login}") if login else ())]
                shown += ["--ca", f"{ca}"] if ca else []
            shown += ["--proxy", proxy] if proxy else []
            shown += ["--name", name] if name else []
            sys.exit(_serve_by_workers(workers, [*shown, "--host", host], host, port, ready))
        place: _Place = {
            "host": host,
            "port": port,
            "name": name,
            "shares_port": shares_port,
            "proxy": proxy,
            "ready": ready,
        }
        if access is None:
            serve_live(recordings, machine=machine or None, **place)
        else:
            from exhibit.relay.serving import serve_hosted

            serve_hosted(access, **place)


def _serve_by_workers(
    count: int, options: list[str], host: str, port: int, ready: Callable[[str], None]
) -> int:
    from exhibit.commands.child import Child
    from exhibit.commands.visitors_page import SERVED_AT
    from exhibit.web.workers import serve_by_workers

    def start(port: int) -> Child:
        return Child(["page", *options, "--port", f"{port}", "--shares-port"])

    return serve_by_workers(count, start, host, port, lambda line: ready(line.removeprefix(SERVED_AT)))


@click.command(short_help="Sends the visitors' page to Redis, for people elsewhere.")
@recordings_option
@click.option("--machine", default="", help="Send this machine's; if not given, whichever recorded last.")
@redis_options("to", help="Redis: rediss://HOST:PORT.")
@starter_option
def relay(
    recordings: Path, machine: str, address: str, login: Path | None, ca: Path | None, with_starter: bool
) -> None:
    """Sends what the visitors' page shows to Redis, until it is stopped; nothing comes back.

    From there `exhibit page --from` serves it to people elsewhere, as docs/hosting.md describes. What is
    typed, names and notes are never sent.
    """
    _end_with_starter(with_starter)
    access = _access(address, login, ca)
    from exhibit.relay.serving import relay as send

    def ready() -> None:
        put(f"The relay sends to {access.address}")

    send(recordings, access, machine=machine or None, ready=ready)


class _Place(TypedDict):
    host: str
    port: int
    name: str
    shares_port: bool
    proxy: str
    ready: Callable[[str], None]


def _access(address: str, login: Path | None, ca: Path | None) -> Access:
    from exhibit.relay.access import read_access

    if importlib.util.find_spec("redis") is None:
        why = "Only pages for people elsewhere need it, so it isn't installed with the rest."
        raise not_installed("The library for Redis", why, "relay")
    return read_access(address, login, ca)


def _without_a_note(recordings: Path, error: OSError) -> list[str]:
    from exhibit.streams.recording_fault import is_disc_full

    do = "Free some space on that disc" if is_disc_full(error) else "Give this user the right to write there"
    return [
        f"Nothing can be written in the folder {recordings}: {error.strerror or error}.",
        "So this page can be opened, but `exhibit run` doesn't find it and starts one of its own.",
        f"{do}, and start the page again.",
    ]


def _run_scripts(
    order: BridgeOrder,
    rounds: int | None,
    scripts: tuple[str, ...],
    secrets: Path | None,
    *,
    demonstrated: bool,
    by_day: bool,
) -> int:
    from exhibit.bridge.scripted import run_scripts
    from exhibit.decisions.session.day_programme import ByTheDay
    from exhibit.decisions.session.programme import Wanted
    from exhibit.folder.secret_words import demo_secrets, read_secrets, secrets_to_tidy_up, secrets_wanted

    known = order.folder.scripts
    if scripts and rounds is not None:
        raise SetUpFault(
            "--rounds and --script can't be combined.",
            "With --script, each named script runs once, in the order given.",
            "Use one of the two.",
        )
    for script in scripts:
        if script not in known:
            raise SetUpFault(
                f"There is no script {script} in that folder.",
                "So there is nothing to run.",
                f"Choose one of: {', '.join(sorted(known))}.",
            )
    wanted: Wanted | ByTheDay = ByTheDay() if by_day else Wanted(rounds=rounds)
    if scripts:
        wanted = Wanted(before=scripts, rounds=0, after=())
    if demonstrated:
        from exhibit.simulator.tidebook.desks import WORDS

        return run_scripts(order, wanted, demo_secrets(WORDS))
    to_run = [known[script] for script in scripts or ("opening", "round", "closing")]
    required, optional = secrets_wanted(to_run), secrets_to_tidy_up(order.folder)
    known_secrets = read_secrets(required, os.environ, secrets, optional)
    _say_which_are_short(known_secrets)
    return run_scripts(order, wanted, known_secrets)


def _say_which_are_short(secrets: Secrets) -> None:
    from exhibit.folder.secret_words import about_short_secrets

    if about := about_short_secrets(secrets):
        put(about, to=sys.stderr)


def _end_with_starter(with_starter: bool) -> None:
    if with_starter:
        from exhibit.commands.child import end_with_starter

        end_with_starter()
