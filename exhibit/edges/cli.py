"""The command `exhibit`."""

from __future__ import annotations

import os
import sys
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import click

from exhibit.edges.cli_offline import FILE, FOLDER, captions, check, rehearse, timings
from exhibit.facts.errors import ExhibitError, SetUpFault

if TYPE_CHECKING:
    from exhibit.edges.bridge_setup import BridgeOrder

HOST = "127.0.0.1"
PORT = 8000
REFUSED = 2
"""The exit status when something can't be done."""


def recordings_by_default() -> Path:
    """Where recordings go unless somebody says otherwise (XDG Base Directory Specification)."""
    data = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(data) / "exhibit" / "recordings"


class Commands(click.Group):
    """Ends with three sentences and exit status 2 where something can't be done."""

    def invoke(self, ctx: click.Context) -> Any:
        """Runs the command."""
        try:
            return super().invoke(ctx)
        except ExhibitError as error:
            click.echo(f"{error.what}\n{error.why}\n{error.do}", err=True)
            ctx.exit(REFUSED)


def recordings_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --recordings."""
    return click.option(
        "--recordings", type=FOLDER, default=recordings_by_default, help="Folder that recordings go to."
    )(command)


def port_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --port."""
    return click.option(
        "--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0 takes a free one."
    )(command)


def host_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --host."""
    return click.option(
        "--host",
        default=HOST,
        show_default=True,
        help="At which of its addresses this computer serves the page. 0.0.0.0 is all: visitors' phones too.",
    )(command)


def line_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --line."""
    return click.option(
        "--line", "line", required=True, help="/dev/..., socket://HOST:PORT or rfc2217://HOST:PORT."
    )(command)


def starter_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --with-starter: the process ends when its standard input does."""
    return click.option("--with-starter", is_flag=True, hidden=True)(command)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="exhibit")
def main() -> None:
    """Runs scripted operator sessions on a historic machine's console, shows and records them."""


for command in (captions, check, rehearse, timings):
    main.add_command(command)


@main.command()
@click.option("--rounds", type=click.IntRange(0), default=None, help="How many; without it, until Ctrl-C.")
@click.option("--speed", type=float, default=1.0, show_default=True, help="How many times as fast as real.")
@click.option("--no-browser", is_flag=True, help="Don't open the page in a browser.")
@click.option("--truth", type=FILE, default=None, help="File for the simulator's own log.")
@recordings_option
@port_option
@host_option
def demo(
    rounds: int | None,
    speed: float,
    no_browser: bool,
    truth: Path | None,
    recordings: Path,
    port: int,
    host: str,
) -> None:
    """Brings a simulated machine from cold to a captioned demonstration, in rounds, unattended."""
    from exhibit.edges.demonstration import demonstrate

    sys.exit(
        demonstrate(
            speed=speed,
            rounds=rounds,
            recordings=recordings,
            port=port,
            host=host,
            truth=truth,
            ready=_ready(open_browser=not no_browser),
        )
    )


@main.command()
@click.argument("folder", type=FOLDER)
@line_option
@click.option("--rounds", type=click.IntRange(0), default=None, help="How many; without it, until stopped.")
@click.option("--script", "scripts", multiple=True, help="Run these scripts alone, in this order.")
@click.option("--secrets", type=FILE, default=None, help="File with the scripts' secrets, of mode 0600.")
@recordings_option
@port_option
@host_option
def run(
    folder: Path,
    line: str,
    rounds: int | None,
    scripts: tuple[str, ...],
    secrets: Path | None,
    recordings: Path,
    port: int,
    host: str,
) -> None:
    """Runs the scripts of a machine's FOLDER: the opening, then rounds.

    With --rounds the closing follows; without, rounds go on until Ctrl-C, and the closing is then
    run by itself: --script closing. Hands-on steps are asked for, and answered, in this terminal.
    """
    from exhibit.edges.running import Run
    from exhibit.edges.settings import read_folder
    from exhibit.edges.terminal import Terminal

    machine = read_folder(folder).machine
    bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}"]
    bridge += ["--rounds", f"{rounds}"] if rounds is not None else []
    bridge += [argument for script in scripts for argument in ("--script", script)]
    bridge += ["--secrets", f"{secrets}"] if secrets else []
    run = Run(bridge, _website(recordings, machine.name, port, host))
    terminal = Terminal(run.door, machine.site)
    terminal.begin()
    terminal.listen()
    sys.exit(run.go(_ready(open_browser=False), terminal.tell))


@main.command()
@click.argument("folder", type=FOLDER)
@line_option
@recordings_option
@port_option
@host_option
def watch(folder: Path, line: str, recordings: Path, port: int, host: str) -> None:
    """Mirrors, records and captions the machine of FOLDER, and can't type at it."""
    from exhibit.edges.running import Run
    from exhibit.edges.settings import read_folder
    from exhibit.edges.terminal import Terminal

    machine = read_folder(folder).machine
    bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}", "--watch"]
    run = Run(bridge, _website(recordings, machine.name, port, host))
    terminal = Terminal(run.door, machine.site)
    terminal.begin(typing=False)
    sys.exit(run.go(_ready(open_browser=False), terminal.tell))


@main.command()
@click.argument("recording", type=FILE)
@click.option("--rate", type=float, default=1.0, show_default=True, help="How many times as fast as it was.")
@click.option("--no-browser", is_flag=True, help="Don't open the page in a browser.")
@port_option
@host_option
def replay(recording: Path, rate: float, no_browser: bool, port: int, host: str) -> None:
    """Shows the visitor page of a RECORDING, as it was."""
    from exhibit.edges.website import serve_replay

    tell = _ready(open_browser=not no_browser)
    serve_replay(recording, rate=rate, port=port, host=host, ready=lambda address: tell(address, recording))


@main.command()
@click.option("--speed", type=float, default=1.0, show_default=True, help="How many times as fast as real.")
@click.option("--tcp", type=click.IntRange(0, 65535), default=None, help="Instead of a pseudo-terminal.")
@click.option("--link", type=FILE, default=None, help="A name for the pseudo-terminal.")
@click.option("--control", type=FILE, default=None, help="Local socket that takes acts at the front.")
@click.option("--truth", type=FILE, default=None, help="File for the simulator's own log.")
@starter_option
def simulate(
    speed: float,
    tcp: int | None,
    link: Path | None,
    control: Path | None,
    truth: Path | None,
    with_starter: bool,
) -> None:
    """Runs the simulated machine alone, on a pseudo-terminal or a TCP port."""
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


@main.command(hidden=True)
@click.argument("folder", type=FOLDER)
@line_option
@recordings_option
@click.option("--rate", type=float, default=1.0)
@click.option("--simulated", is_flag=True)
@click.option("--watch", "watch_only", is_flag=True)
@click.option("--rounds", type=click.IntRange(0), default=None)
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
    watch_only: bool,
    rounds: int | None,
    scripts: tuple[str, ...],
    secrets: Path | None,
    end_when_failed: bool,
    requests: Path | None,
    with_starter: bool,
) -> None:
    """The process that owns the line and the recording; `run`, `watch` and `demo` start it."""
    from exhibit.edges.bridge_setup import BridgeOrder
    from exhibit.edges.settings import read_folder

    described = read_folder(folder)
    order = BridgeOrder(
        folder=described,
        line=line,
        recordings=recordings,
        rate=rate,
        # At the far end of a line a simulator can't be told from a machine: its folder has to say it.
        machine_is="simulated" if simulated or described.simulated_docent else "real",
        requests=requests,
        stay_when_failed=not end_when_failed,
    )
    _end_with_starter(with_starter)
    if watch_only:
        from exhibit.edges.watching import watch

        sys.exit(watch(order))
    sys.exit(_run_scripts(order, rounds, scripts, secrets, demonstrated=simulated))


@main.command(hidden=True)
@recordings_option
@click.option("--machine", default=None)
@port_option
@host_option
@starter_option
def web(recordings: Path, machine: str | None, port: int, host: str, with_starter: bool) -> None:
    """The process that serves the pages; `run`, `watch` and `demo` start it."""
    from exhibit.edges.website import serve_live

    _end_with_starter(with_starter)
    serve_live(
        recordings,
        machine=machine,
        host=host,
        port=port,
        ready=lambda address: print(address, flush=True),
    )


def _run_scripts(
    order: BridgeOrder,
    rounds: int | None,
    scripts: tuple[str, ...],
    secrets: Path | None,
    *,
    demonstrated: bool,
) -> int:
    from exhibit.decisions.programme import Wanted
    from exhibit.edges.scripted import run_scripts
    from exhibit.edges.secret_words import demo_secrets, read_secrets, secrets_wanted

    known = order.folder.scripts
    if scripts and rounds is not None:
        raise SetUpFault(
            "--rounds and --script don't go together.",
            "Scripts that are named are run once each, in the order given.",
            "Leave one of the two out.",
        )
    for script in scripts:
        if script not in known:
            raise SetUpFault(
                f"There is no script {script} in that folder.",
                "So it can't be run.",
                f"Choose one of: {', '.join(sorted(known))}.",
            )
    wanted = Wanted(before=scripts, rounds=0, after=()) if scripts else Wanted(rounds=rounds)
    if demonstrated:
        return run_scripts(order, wanted, demo_secrets())
    to_run = [known[script] for script in scripts or ("opening", "round", "closing")]
    return run_scripts(order, wanted, read_secrets(secrets_wanted(to_run), os.environ, secrets))


def _website(recordings: Path, machine: str, port: int, host: str) -> list[str]:
    served = ["--port", f"{port}", "--host", host]
    return ["web", "--recordings", f"{recordings}", "--machine", machine, *served]


OPEN_TO_ALL = """Everybody on this network can now read that page, also on a phone: it shows a code for that.
It only shows: nothing can be typed at the machine or controlled from another computer. It isn't encrypted, so
use it on a network that you trust, such as the museum's own, and never open it to the internet."""


def _ready(*, open_browser: bool) -> Callable[[str, Path], None]:
    from exhibit.edges.phone import is_loopback

    def ready(address: str, recording: Path) -> None:
        click.echo(f"The visitors' page: {address}")
        if not is_loopback(urlsplit(address).hostname or ""):
            click.echo(OPEN_TO_ALL)
        click.echo(f"The recording: {recording}")
        if open_browser:
            webbrowser.open(address)

    return ready


def _end_with_starter(with_starter: bool) -> None:
    if with_starter:
        from exhibit.edges.running import end_with_starter

        end_with_starter()
