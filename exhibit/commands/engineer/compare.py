"""The command `exhibit compare`: two recordings, two days, or a script on two machines, side by side."""

from __future__ import annotations

import click

from exhibit.commands.engineer.finding import JSON, reading
from exhibit.output.terminal import put


@click.command(short_help="Compares two recordings, days or machines, step by step.")
@click.argument("first")
@click.argument("second")
@click.option("--script", default="", help="Only this script, such as a diagnostic.")
@JSON
def compare(first: str, second: str, script: str, as_json: bool) -> None:
    """Compares FIRST and SECOND step by step: what was said differently, and what took longer.

    Each is a recording, a folder of them, or one of these with a day: recordings@2026-11-25. What always
    varies, such as times and counters, is learnt from several runs of a step and left out. A difference in
    time is only called one if it is more than chance.
    """
    from exhibit.records.history.comparing import as_json_text, lines_of
    from exhibit.records.history.comparing import compare as compared
    from exhibit.records.history.step_runs import runs_of, side_of

    one, other = (runs_of(side_of(text), script, reading()) for text in (first, second))
    steps = compared(one, other)
    put(*([as_json_text(one, other, steps)] if as_json else lines_of(one, other, steps)))
