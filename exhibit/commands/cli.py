"""The command `exhibit`."""

from __future__ import annotations

import io
import os
import sys
import traceback
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn
from urllib.parse import urlsplit

import click
from click.core import ParameterSource

from exhibit import __version__
from exhibit.commands.docents_page.desk import DESKS_PORT, desk
from exhibit.commands.engineer.compare import compare
from exhibit.commands.engineer.erasing import erase
from exhibit.commands.engineer.excerpt import excerpt
from exhibit.commands.engineer.finding import days, find, show
from exhibit.commands.engineer.incidents import incidents
from exhibit.commands.engineer.keeping import compress, copy, discard, mend, verify
from exhibit.commands.engineer.records_page import records
from exhibit.commands.engineer.report import report
from exhibit.commands.engineer.sums import sums
from exhibit.commands.engineer.work import work
from exhibit.commands.engineer.years import export, years
from exhibit.commands.offline import captions, card, check, doctor, new, rehearse, summary, text, timings
from exhibit.commands.options import (
    FILE,
    FOLDER,
    REFUSED,
    host_option,
    keep_page_option,
    line_option,
    name_option,
    port_option,
    recordings_option,
)
from exhibit.commands.people.stopping import stop
from exhibit.commands.practice.command import practice
from exhibit.commands.processes import bridge, page, relay, simulate
from exhibit.commands.saying import ENGLISH, Say
from exhibit.facts.errors import ExhibitError
from exhibit.output.terminal import printable_errors, put

if TYPE_CHECKING:
    from exhibit.commands.visitors_page import VisitorsPage

SCREEN_VARIABLES = ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")
"""Where one of them is set, a browser opens in a window of its own."""
STOPPED = 130
"""The usual exit status after Ctrl-C: 128 and the signal's number."""


class Commands(click.Group):
    """A command that can't be carried out prints three sentences and ends with exit status 2."""

    def main(self, *arguments: Any, **options: Any) -> NoReturn:
        """Runs the command that these arguments name, and ends the process with its exit status."""
        with printable_errors():
            try:
                status = super().main(*arguments, **{**options, "standalone_mode": False})
            except click.ClickException as error:
                put(*_usage(error), f"Error: {error.format_message()}", to=sys.stderr)
                sys.exit(error.exit_code)
            except Exception:
                traceback.print_exc()
                sys.exit(1)
        sys.exit(status)

    def invoke(self, ctx: click.Context) -> Any:
        """Runs the command, and turns what stops it into words and an exit status."""
        try:
            return super().invoke(ctx)
        except ExhibitError as error:
            put(error.what, error.why, error.do, to=sys.stderr)
            ctx.exit(REFUSED)
        except KeyboardInterrupt:
            put("Stopped by Ctrl-C.", to=sys.stderr)
            ctx.exit(STOPPED)


def _usage(error: click.ClickException) -> list[str]:
    """How the command is used that the error is about."""
    context = error.ctx if isinstance(error, click.UsageError) else None
    if context is None:
        return []
    return [*context.get_usage().split("\n"), f"Try '{context.command_path} --help' for help.", ""]


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def main() -> None:
    """Runs scripted operator sessions on a historic machine's console, for visitors, and records them."""
    # A run must not end because the terminal has another encoding, or lacks a letter of a caption.
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        # Where file names pass through unchanged, as surrogates, they still do.
        if isinstance(stream, io.TextIOWrapper) and (stream is sys.stdin or stream.errors == "strict"):
            stream.reconfigure(errors="replace")


OFFLINE = (captions, card, check, doctor, new, rehearse, summary, text, timings)
ENGINEERS = (
    compare,
    compress,
    copy,
    days,
    discard,
    erase,
    excerpt,
    export,
    find,
    incidents,
    mend,
    records,
    report,
    show,
    sums,
    verify,
    work,
    years,
)
for command in (*OFFLINE, *ENGINEERS, simulate, bridge, page, desk, relay, stop, practice):
    main.add_command(command)


@main.command(short_help="Runs the demonstration with the simulated machine.")
@click.option(
    "--rounds", type=click.IntRange(0), default=None, help="How many rounds; if not given, until Ctrl-C."
)
@click.option(
    "--speed", type=float, default=1.0, show_default=True, help="How fast time runs; 1 is real time."
)
@click.option("--no-browser", is_flag=True, help="Don't open the page in a browser.")
@click.option("--truth", type=FILE, default=None, help="File for the simulator's own log.")
@recordings_option
@port_option
@host_option
@name_option
@keep_page_option
def demo(
    rounds: int | None,
    speed: float,
    no_browser: bool,
    truth: Path | None,
    recordings: Path,
    port: int,
    host: str,
    name: str,
    keep_page: bool,
) -> None:
    """Starts the simulated machine from cold and shows it to visitors, in rounds, unattended."""
    from exhibit.commands.demonstration import MACHINE, demonstrate
    from exhibit.streams.pacing import checked_speed

    checked_speed(speed)
    sys.exit(
        demonstrate(
            speed=speed,
            rounds=rounds,
            recordings=recordings,
            page=_page(recordings, MACHINE, port, host, name, keep_page),
            truth=truth,
            on_ready=_announce(open_browser=not no_browser, then="Press Ctrl-C to stop it in good order."),
        )
    )


@main.command(short_help="Runs the scripts of a machine's FOLDER.")
@click.argument("folder", type=FOLDER)
@line_option
@click.option(
    "--rounds", type=click.IntRange(0), default=None, help="How many rounds; if not given, until stopped."
)
@click.option(
    "--script", "scripts", multiple=True, help="Run only this script; repeat it for more, in order."
)
@click.option("--secrets", type=FILE, default=None, help="File with the scripts' secrets, mode 0600.")
@recordings_option
@port_option
@host_option
@name_option
@keep_page_option
def run(
    folder: Path,
    line: str,
    rounds: int | None,
    scripts: tuple[str, ...],
    secrets: Path | None,
    recordings: Path,
    port: int,
    host: str,
    name: str,
    keep_page: bool,
) -> None:
    """Runs the scripts of a machine's FOLDER: the opening, then rounds.

    With --rounds the closing follows. Without it, rounds go on until Ctrl-C; then run the closing by
    itself, with --script closing. This terminal asks for the hands-on steps, and you answer here.
    """
    from exhibit.commands.open_question import numbers
    from exhibit.commands.running import Run
    from exhibit.commands.terminal import Terminal
    from exhibit.folder.whole import read_folder

    described = read_folder(folder)
    machine = described.machine
    say = Say(next(iter(machine.languages)))
    bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}"]
    bridge += ["--rounds", f"{rounds}"] if rounds is not None else []
    bridge += [argument for script in scripts for argument in ("--script", script)]
    bridge += ["--secrets", f"{secrets}"] if secrets else []
    run = Run(bridge, _page(recordings, machine.name, port, host, name, keep_page, say), say)
    terminal = Terminal(run.door, machine.site, number=numbers(described, say), say=say)
    terminal.show_cautions()
    terminal.listen()
    sys.exit(run.execute(_announce(say, open_browser=False), terminal.report, on_look=terminal.look))


@main.command(short_help="Runs the day of a machine, which people open and close.")
@click.argument("folder", type=FOLDER)
@line_option
@click.option("--rate", type=float, default=1.0, hidden=True)
@click.option("--secrets", type=FILE, default=None, help="File with the scripts' secrets, mode 0600.")
@recordings_option
@port_option
@host_option
@name_option
@keep_page_option
@click.option(
    "--desk-port",
    type=click.IntRange(0, 65535),
    default=DESKS_PORT,
    show_default=True,
    help="TCP port of the docent's page, on this computer alone.",
)
def today(
    folder: Path,
    line: str,
    rate: float,
    secrets: Path | None,
    recordings: Path,
    port: int,
    host: str,
    name: str,
    keep_page: bool,
    desk_port: int,
) -> None:
    """Runs the day of the machine of FOLDER: nothing begins until somebody opens it.

    Then come the opening, and rounds with their rests until the day is closed, by a person or by the hours of
    day.toml. After a restart the same day goes on. The docent's page and this terminal ask for the hands-on
    steps. The terminal takes what you type: open, close, away, back, quiet 10, round now, here, stop.
    """
    from exhibit.commands.day.day_run import DayRun
    from exhibit.commands.day.told_day import HOW
    from exhibit.commands.docents_page.beside import DocentsPage
    from exhibit.commands.open_question import numbers
    from exhibit.commands.terminal import Terminal
    from exhibit.folder.whole import read_folder

    described = read_folder(folder)
    machine = described.machine
    say = Say(next(iter(machine.languages)))
    bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}"]
    bridge += ["--rate", f"{rate}", *(["--secrets", f"{secrets}"] if secrets else [])]
    docents_page = DocentsPage(folder, recordings, desk_port, say)
    run = DayRun(bridge, _page(recordings, machine.name, port, host, name, keep_page, say), docents_page, say)
    terminal = Terminal(run.door, machine.site, number=numbers(described, say), say=say)
    terminal.show_cautions()
    put(*say(HOW).split("\n"))
    terminal.listen()
    try:
        status = run.execute(_announce(say, open_browser=False), terminal.report, on_look=terminal.look)
    finally:
        docents_page.end()
    sys.exit(status)


@main.command(short_help="Mirrors and records a machine; can't type at it.")
@click.argument("folder", type=FOLDER)
@line_option
@click.option("--typed", default="", help="A second line, on which only what a person types is heard.")
@click.option("--terminal", default="", help="The old terminal's port: what is typed there is passed on.")
@click.option("--secrets", type=FILE, default=None, help="File with secrets to withhold, mode 0600.")
@recordings_option
@port_option
@host_option
@name_option
@keep_page_option
def watch(
    folder: Path,
    line: str,
    typed: str,
    terminal: str,
    secrets: Path | None,
    recordings: Path,
    port: int,
    host: str,
    name: str,
    keep_page: bool,
) -> None:
    """Mirrors, records and captions the machine of FOLDER, and can't type at it.

    With --typed or --terminal it also records what a person types at the machine's own terminal. Give it the
    secrets that people type there, as for `run`: then they are withheld wherever the machine shows them. What
    is typed at a secret prompt is withheld anyway.
    """
    from exhibit.commands.terminal import Terminal
    from exhibit.commands.watch_run import WatchRun, passer_for
    from exhibit.folder.whole import read_folder

    machine = read_folder(folder).machine
    say = Say(next(iter(machine.languages)))
    passer = passer_for(line, typed, terminal, machine.line)
    bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}", "--watch"]
    bridge += ["--typed", typed] if typed else []
    bridge += ["--passed-by", f"{passer.place}"] if passer else []
    bridge += ["--secrets", f"{secrets}"] if secrets else []
    run = WatchRun(bridge, _page(recordings, machine.name, port, host, name, keep_page, say), passer, say)
    watched = Terminal(run.door, machine.site, say=say)
    watched.show_cautions(typing=False)
    run.show_how()
    sys.exit(run.execute(_announce(say, open_browser=False), watched.report))


@main.command(short_help="Shows the visitors' page of a RECORDING, as it was.")
@click.argument("recording", type=FILE)
@click.option(
    "--rate", type=float, default=1.0, show_default=True, help="How fast time runs; 1 is as it was."
)
@click.option("--no-browser", is_flag=True, help="Don't open the page in a browser.")
@port_option
@host_option
@name_option
def replay(recording: Path, rate: float, no_browser: bool, port: int, host: str, name: str) -> None:
    """Shows the visitors' page of a RECORDING, as it was."""
    from exhibit.streams.pacing import checked_speed
    from exhibit.web.website import serve_replay

    checked_speed(rate, "rate")
    announce = _announce(open_browser=not no_browser)
    serve_replay(
        recording,
        rate=rate,
        port=port,
        host=host,
        name=name,
        ready=lambda address: announce(address, recording),
    )


def _page(
    recordings: Path, machine: str, port: int, host: str, name: str, keep: bool, say: Say = ENGLISH
) -> VisitorsPage:
    from exhibit.commands.visitors_page import VisitorsPage

    source = click.get_current_context().get_parameter_source
    chosen = any(source(option) is not ParameterSource.DEFAULT for option in ("port", "host"))
    return VisitorsPage(
        recordings, machine, port=port, host=host, name=name, chosen=chosen, keep=keep, say=say
    )


def _announce(say: Say = ENGLISH, *, open_browser: bool, then: str = "") -> Callable[[str, Path], None]:
    from exhibit.commands.visitors_page import OPEN_TO_ALL
    from exhibit.web.phone import is_loopback

    def announce(address: str, recording: Path) -> None:
        put(say("The visitors' page: {address}", address=address))
        if not is_loopback(urlsplit(address).hostname or ""):
            put(*say(OPEN_TO_ALL).split("\n"))
        put(say("The recording: {file}", file=recording))
        if then:
            put(then)
        # Without a screen, a browser would open in this terminal, and the run would wait until it ends.
        if open_browser and any(os.environ.get(name) for name in SCREEN_VARIABLES):
            webbrowser.open(address)

    return announce
