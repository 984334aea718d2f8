"""The commands of `exhibit` that start nothing and reach no machine, for an engineer."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from exhibit.commands.engineer.written import PRINT_IT, write_text
from exhibit.commands.lengths import Length, Pixels
from exhibit.commands.options import FILE, FOLDER, language_option, recordings_by_default, to_option
from exhibit.output.terminal import put, put_text

if TYPE_CHECKING:
    from exhibit.decisions.machine.script import Folder
    from exhibit.facts.parts_and_cards import Screen


@click.command(short_help="Reports every mistake in a machine's FOLDER.")
@click.argument("folder", type=FOLDER)
@click.option("--distance", type=Length(), help="Distance from which the screen is read, such as 2.5m.")
@click.option("--screen", type=Length(), help="The screen's diagonal, such as 24in.")
@click.option("--height", type=Length(), help="Height of the screen's middle above the floor, such as 1.2m.")
@click.option(
    "--pixels", type=Pixels(), default="1920x1080", show_default=True, help="The page's size on that screen."
)
@click.option(
    "--touch/--no-touch", default=True, help="Whether people touch that screen; --touch if not given."
)
@click.option("--explain", is_flag=True, help="Print every key as it is understood, and mark the defaults.")
def check(
    folder: Path,
    distance: float | None,
    screen: float | None,
    height: float | None,
    pixels: tuple[int, int],
    touch: bool,
    explain: bool,
) -> None:
    """Reads all files of a machine's FOLDER; reports every mistake, and captions that are hard to read.

    For a folder in order it also says what noise on the line could still do to each command, and whether the
    page's type is large enough and its buttons are within reach on each screen of the folder's screens.toml.
    With --distance, --screen and --height it says only this, and of that screen. The exit status is 1 if a
    screen falls short. With --explain it first prints the whole folder as it is understood: every key with
    its value, marked if that is a default.
    """
    from exhibit.folder.report.explained import explained
    from exhibit.folder.report.findings import Checked, ToBeMended, check_report, in_columns
    from exhibit.folder.report.noise_risks import risk_report
    from exhibit.folder.report.type_sizes import screen_of

    given = [length for length in (distance, screen, height) if length is not None]
    if given and len(given) < 3:
        raise click.UsageError("--distance, --screen and --height go together.")
    checked = Checked(folder)
    put(*([*explained(checked.examined), ""] if explain else []))
    # Last comes whether all is in order, because that is where people look.
    if checked.folder is not None and not given:
        put(*in_columns([*risk_report(checked.folder), ""]))
    fallen_short = []
    if checked.folder is not None:
        described = None
        if distance is not None and screen is not None and height is not None:
            described = screen_of(screen, pixels, distance, height, touch=touch)
        fallen_short = _print_screens(checked.folder, described)
    put(*check_report(checked))
    if checked.mistakes:
        raise ToBeMended(checked)
    checked.refuse()
    put(*in_columns(fallen_short))
    sys.exit(bool(fallen_short))


def _print_screens(folder: Folder, described: Screen | None) -> list[str]:
    """Prints a report on each screen: the described one, or else the folder's. Returns what falls short."""
    from exhibit.folder.report.findings import in_columns
    from exhibit.folder.report.type_sizes import as_screens_toml, type_report, verdict_on

    fallen_short = []
    for name, screen in {"": described}.items() if described is not None else folder.screens.items():
        report = type_report(folder, screen, name)
        put(*in_columns(report.lines))
        put(*(["", *as_screens_toml(screen)] if not name else []))
        put("")
        if report.falls_short:
            fallen_short.append(verdict_on(report, name))
    return fallen_short


@click.command(short_help="Prints the card of FOLDER for a day without this computer.")
@click.argument("folder", type=FOLDER)
@language_option
@to_option
def card(folder: Path, language: str | None, to: Path | None) -> None:
    """Prints what people do by hand at the machine of FOLDER as one HTML file, to be printed on A4.

    It is for the day this computer is dead: emergencies, the opening and the closing with their cautions and
    the drawn switches, what is stopped by hand, and how the machine's own terminal is put back. Print it anew
    when the folder changes.
    """
    from exhibit.paper.card import card as card_of

    write_text(card_of(folder, language), to, PRINT_IT)


@click.command(short_help="Prints what RECORDINGS say about each day.")
@click.argument("recordings", type=click.Path(path_type=Path), nargs=-1, required=True)
@language_option
@to_option
def summary(recordings: tuple[Path, ...], language: str | None, to: Path | None) -> None:
    """Prints what RECORDINGS (files, or folders of them) of one machine say about each day, as one HTML file.

    Rounds, troubles, steps by hand and by whom, hours, notes: nothing that doesn't stand in the recordings.
    """
    from exhibit.paper.summary import summary as summary_of

    write_text(summary_of(recordings, language), to, PRINT_IT)


@click.command(short_help="Writes a new machine's FOLDER for you to change.")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--like", default=None, metavar="NAME", help="Copy this shipped folder: whimbrel or posix.")
def new(folder: Path, like: str | None) -> None:
    """Writes a new machine's FOLDER: the smallest one possible, with comments, for you to change.

    With --like it is a copy of a shipped folder. FOLDER must be new or empty.
    """
    from exhibit.commands.new_folder import SMALLEST, likes, make_folder

    if like is not None and like not in likes():
        raise click.UsageError(f"No shipped folder is named {like}. There are: {', '.join(likes())}.")
    files = make_folder(folder, like or SMALLEST)
    put(f"{folder} has {files} files. Change them to describe your machine, and check them with")
    put(f"    exhibit check {folder}")


@click.command(short_help="Says how long each step took, and which limit that supports.")
@click.argument("folder", type=FOLDER)
@click.argument("recordings", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--write", is_flag=True, help="Write the supported limits into the scripts' files.")
def timings(folder: Path, recordings: tuple[Path, ...], write: bool) -> None:
    """Says how long each step took in RECORDINGS (files, or folders of them), and which limit that supports.

    With --write it changes the values of those limits in the files of FOLDER, and nothing else there.
    """
    from exhibit.records.limit_writing import write_limits
    from exhibit.records.timings import table
    from exhibit.records.timings import timings as taken

    found = taken(folder, recordings)
    put(*table(found))
    put(*(write_limits(folder, found.rows) if write else []))


@click.command(short_help="Prints the captions of a RECORDING as WebVTT.")
@click.argument("recording", type=FILE)
@click.option(
    "--language", default=None, help="Language tag, such as en; if not given, the recording's first."
)
def captions(recording: Path, language: str | None) -> None:
    """Prints the captions of a RECORDING with their times as WebVTT, for a film made beside the machine."""
    from exhibit.records.captions_out import captions_as_webvtt

    put_text(captions_as_webvtt(recording, language))


@click.command(short_help="Prints the console of a RECORDING as text.")
@click.argument("recording", type=FILE)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, an object on each line.")
def text(recording: Path, as_json: bool) -> None:
    """Prints the console of a RECORDING line by line, with times and with what was typed by whom."""
    from exhibit.records.transcript import transcript, transcript_as_json

    for line in transcript_as_json(recording) if as_json else transcript(recording):
        put_text(line)


@click.command(short_help="Runs scripts against RECORDINGS, without a machine.")
@click.argument("folder", type=FOLDER)
@click.argument("recordings", type=click.Path(path_type=Path), nargs=-1)
@click.option("--simulator", is_flag=True, help="Run them on the simulated machine as well, or instead.")
def rehearse(folder: Path, recordings: tuple[Path, ...], simulator: bool) -> None:
    """Runs the scripts of FOLDER, as they are now, against RECORDINGS (files, or folders of them).

    Nothing is typed at any machine, and no secret is needed. For each recorded run of a script it says
    which steps would now go differently. Where a script types something that was never typed there, it
    says that the machine's answer can't be known.

    The exit status is 0 if nothing differs, 1 if something does, and 2 if it can't be done. On the
    simulated machine, a step that doesn't end as its script says counts as a difference.
    """
    from exhibit.records.rehearsing import rehearse as rehearsed
    from exhibit.records.simulated_rehearsal import rehearse_on_simulator

    if not recordings and not simulator:
        raise click.UsageError("Name a recording, or use --simulator.")
    reports = [rehearsed(folder, recordings)] if recordings else []
    reports += [rehearse_on_simulator(folder)] if simulator else []
    for report in reports:
        put(*report.lines)
    sys.exit(any(report.differs for report in reports))


@click.command(short_help="Says what is wrong with this computer, and which command mends it.")
@click.argument("folder", type=FOLDER, required=False)
@click.option("--line", default="", help="The serial line to look at; if not given, the service's.")
def doctor(folder: Path | None, line: str) -> None:
    """Looks at this computer, the machine's FOLDER and the serial port, and says what is wrong.

    For each thing that is wrong it says what that means, and the command that mends it. It changes nothing,
    and never opens the port. With sudo it sees more. The exit status is 1 if there is something to do.
    """
    from exhibit.doctor.computer import Computer
    from exhibit.doctor.looking import Examination

    examination = Examination(Computer(), folder, line, recordings_by_default())
    for said in examination.lines():
        put(said)
    sys.exit(bool(examination.wrong))
