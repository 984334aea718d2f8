"""Options that several commands of `exhibit` have."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import click

HOST = "127.0.0.1"
PORT = 8000
FOLDER = click.Path(path_type=Path, file_okay=False)
FILE = click.Path(path_type=Path, dir_okay=False)


def recordings_by_default() -> Path:
    """Where recordings go unless somebody says otherwise (XDG Base Directory Specification)."""
    data = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(data) / "exhibit" / "recordings"


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
