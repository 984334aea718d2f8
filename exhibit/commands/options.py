"""What several commands of `exhibit` share: options, and an exit status."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import click

REFUSED = 2
"""The exit status of a command that can't be carried out and has said why."""
HOST = "127.0.0.1"
PORT = 8000
SERVED_NAME = re.compile(r"[A-Za-z0-9-]{1,63}(\.[A-Za-z0-9-]{1,63})*")
"""A name as it can be in an address, without protocol, port or path."""
FOLDER = click.Path(path_type=Path, file_okay=False)
FILE = click.Path(path_type=Path, dir_okay=False)


def recordings_by_default() -> Path:
    """The folder for recordings where none is named (XDG Base Directory Specification)."""
    data = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(data) / "exhibit" / "recordings"


def recordings_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --recordings."""
    return click.option(
        "--recordings", type=FOLDER, default=recordings_by_default, help="Folder for recordings."
    )(command)


def port_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --port."""
    return click.option(
        "--port",
        type=click.IntRange(0, 65535),
        default=PORT,
        show_default=True,
        help="TCP port of the visitors' page; 0 picks a free one.",
    )(command)


def host_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --host."""
    return click.option(
        "--host",
        default=HOST,
        show_default=True,
        help="Address at which this computer serves the page. 0.0.0.0 lets visitors' phones read it too.",
    )(command)


def name_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --name."""
    return click.option(
        "--name",
        default="",
        callback=_as_served_name,
        help="Name by which browsers also reach the page, such as console.museum.example; if not given, only "
        "by this computer's number.",
    )(command)


def _as_served_name(context: click.Context, option: click.Parameter, name: str) -> str:
    if name and not SERVED_NAME.fullmatch(name):
        raise click.BadParameter("only the name, such as console.museum.example, without http:// and port.")
    return name.lower()


def keep_page_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --keep-page."""
    return click.option(
        "--keep-page", is_flag=True, help="A page that this command starts stays when the command ends."
    )(command)


def line_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --line."""
    return click.option(
        "--line",
        "line",
        required=True,
        help="The serial line: /dev/..., socket://HOST:PORT or rfc2217://HOST:PORT.",
    )(command)


def language_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --language."""
    return click.option(
        "--language",
        default=None,
        help="Language tag, such as de; if not given, the first one of the folder.",
    )(command)


def to_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --to."""
    return click.option("--to", type=FILE, default=None, help="File to write; if not given, it is printed.")(
        command
    )


def redis_options(address: str, help: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Adds the option `address` for Redis, --login and --ca."""

    def added(command: Callable[..., None]) -> Callable[..., None]:
        for option in (
            click.option(
                "--ca", type=FILE, default=None, help="Certificate authority to trust there, instead of all."
            ),
            click.option(
                "--login", type=FILE, default=None, help="File of two lines, name and password, mode 0600."
            ),
            click.option(f"--{address}", "address", default="", help=help),
        ):
            command = option(command)
        return command

    return added


def starter_option(command: Callable[..., None]) -> Callable[..., None]:
    """Adds --with-starter: the process ends once its standard input does."""
    return click.option("--with-starter", is_flag=True, hidden=True)(command)
