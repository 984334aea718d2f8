"""The command `exhibit records`: the engineer's page, in this process."""

from __future__ import annotations

import os
import webbrowser
from pathlib import Path

import click

from exhibit.output.terminal import put

SCREEN_VARIABLES = ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")


@click.command(short_help="Opens RECORDINGS in the engineer's page.")
@click.argument("recordings", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--fact", type=click.IntRange(1), default=None, help="Open at the fact of this number.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="TCP port; if not given, a free one.")
@click.option("--no-browser", is_flag=True, help="Don't open the page in a browser.")
def records(recordings: tuple[Path, ...], fact: int | None, port: int, no_browser: bool) -> None:
    """Opens RECORDINGS (files, or folders of them) in the engineer's page: to find, replay and explain.

    It needs no machine and no network, only reads the recordings, and can be opened from this computer alone.
    """
    from exhibit.records.study.serving import RecordsOrder, serve_records
    from exhibit.web.places import web_folder

    place = f"#{recordings[0].name.partition('.')[0]}/{fact}" if fact and recordings[0].is_file() else ""

    def ready(address: str) -> None:
        put(f"The records page: {address}{place}")
        put("Only who has this address can read it. Press Ctrl-C to end it.")
        # Without a screen, a browser would open in this terminal, and the command would wait until it ends.
        if not no_browser and any(os.environ.get(name) for name in SCREEN_VARIABLES):
            webbrowser.open(f"{address}{place}")

    serve_records(RecordsOrder(given=list(recordings), web=web_folder(), port=port), ready)
