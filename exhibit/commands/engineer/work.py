"""The command `exhibit work`: writes down what was done, what was measured, and which packs there are."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final, get_args

import click

from exhibit.commands.docents_page.people import people_option
from exhibit.commands.engineer.moments import now, wall_of
from exhibit.commands.options import FILE, FOLDER, recordings_option
from exhibit.facts.engineer.work_facts import WorkAct
from exhibit.output.terminal import put

if TYPE_CHECKING:
    from exhibit.records.work.writing import Written

LONGEST_PHOTOGRAPH_BYTES: Final = 12 * 1024 * 1024
_DATE: Final = "%Y-%m-%d"


def _common(command: Callable[..., None]) -> Callable[..., None]:
    """Adds the options that all of them have."""
    for option in (
        people_option,
        recordings_option,
        click.option("--saved", type=FOLDER, default=None, help="Folder for notes and photographs."),
        click.option(
            "--note", default="", help="What else there is to say; it is kept in a file of its own."
        ),
        click.option(
            "--at", default="", help='When: "2026-11-25 14:30", or "14:30" today; if not given, now.'
        ),
        click.option("--by", required=True, help="Who: a number, or a name from the list of people."),
        click.argument("folder", type=FOLDER),
    ):
        command = option(command)
    return command


@click.group(short_help="Writes down work, measured values and packs.")
def work() -> None:
    """Writes down what an engineer did, measured, or knows of the packs.

    It goes into a folder `work` beside the recordings, also while the machine runs. Nothing there is ever
    changed: what was wrong is written down again, right.
    """


@work.command(short_help="Writes down what was done to a part.")
@_common
@click.option("--part", required=True, help="The part, as in the machine's FOLDER.")
@click.option("--act", type=click.Choice(get_args(WorkAct)), required=True, help="What was done.")
@click.option("--board", default="", help="The board or component, as its drawing calls it.")
@click.option("--from", "came_from", default="", help="The slot or the donor that it came from.")
@click.option("--drawing", default="", help="The sheet of the drawings on which it stands.")
@click.option("--photograph", "photographs", type=FILE, multiple=True, help="A JPEG or PNG; may be repeated.")
def done(
    folder: Path,
    by: str,
    at: str,
    note: str,
    saved: Path | None,
    recordings: Path,
    people: Path,
    part: str,
    act: WorkAct,
    board: str,
    came_from: str,
    drawing: str,
    photographs: tuple[Path, ...],
) -> None:
    """Writes down what was done to a part of the machine of FOLDER."""
    from exhibit.commands.engineer.named import number_of
    from exhibit.facts.kinds import WorkDone

    notes = _notes(recordings, saved)
    _write(
        recordings,
        folder,
        WorkDone(
            at=wall_of(at, now()),
            by=number_of(by, people),
            act=act,
            part=part,
            board=board,
            came_from=came_from,
            drawing=drawing,
        ),
        lambda: {"photographs": [_photograph(one, notes) for one in photographs], "note": _note(note, notes)},
    )


@work.command(short_help="Writes down what was measured.")
@_common
@click.argument("value")
@click.option("--what", required=True, help='What it is, such as "+5 V at the backplane"; always the same.')
@click.option("--part", default="", help="The part at which it was measured; if not given, the room.")
def measured(
    folder: Path,
    by: str,
    at: str,
    note: str,
    saved: Path | None,
    recordings: Path,
    people: Path,
    value: str,
    what: str,
    part: str,
) -> None:
    """Writes down a measured VALUE with its unit: "5.03 V", "21.5 °C", "48 %", "12034.5 h"."""
    from exhibit.commands.engineer.named import number_of
    from exhibit.facts.kinds import ReadingMeasured
    from exhibit.records.work.units import value_and_unit

    number, unit = value_and_unit(value)
    _write(
        recordings,
        folder,
        ReadingMeasured(
            at=wall_of(at, now()), by=number_of(by, people), what=what, value=number, unit=unit, part=part
        ),
        lambda: {"note": _note(note, _notes(recordings, saved))},
    )


@work.command(short_help="Writes down an entry of the ledger of packs.")
@_common
@click.argument("label")
@click.option("--holds", default="", help="What is on it.")
@click.option(
    "--original/--copy", "original", default=False, help="Whether it dates from the machine's time."
)
@click.option("--copy-of", default="", help="The pack or image of which it is a copy.")
@click.option("--has-copy", "copies", multiple=True, help="A copy of it; may be repeated.")
@click.option("--verified", type=click.DateTime([_DATE]), default=None, help="When its copies were compared.")
@click.option("--hours", type=click.FloatRange(0, 1e6), default=None, help="How long it has run in all.")
@click.option("--errors", type=click.IntRange(0, 10**9), default=None, help="Errors when last read through.")
@click.option("--kept", default="", help="Where it is kept.")
def pack(
    folder: Path,
    by: str,
    at: str,
    note: str,
    saved: Path | None,
    recordings: Path,
    people: Path,
    label: str,
    holds: str,
    original: bool,
    copy_of: str,
    copies: tuple[str, ...],
    verified: object,
    hours: float | None,
    errors: int | None,
    kept: str,
) -> None:
    """Writes down what is known of the pack LABEL; it takes the place of an earlier entry."""
    from exhibit.commands.engineer.named import number_of
    from exhibit.facts.kinds import PackEntered

    _write(
        recordings,
        folder,
        PackEntered(
            at=wall_of(at, now()),
            by=number_of(by, people),
            label=label,
            holds=holds,
            original=original,
            copy_of=copy_of,
            copies=list(copies),
            verified=f"{verified:{_DATE}}" if verified else "",
            hours=hours,
            errors=errors,
            kept=kept,
        ),
        lambda: {"note": _note(note, _notes(recordings, saved))},
    )


@work.command("list", short_help="Lists what was written down.")
@click.argument("recordings", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def listed(recordings: tuple[Path, ...], as_json: bool) -> None:
    """Lists what was written down beside RECORDINGS: files, or folders of them."""
    from exhibit.records.work.listing import as_json_text, lines_of
    from exhibit.records.work.reading import written_down

    found = written_down(recordings)
    put(*([as_json_text(found)] if as_json else lines_of(found)))


def _write(recordings: Path, folder: Path, fact: Written, kept: Callable[[], dict[str, object]]) -> None:
    """Keeps what belongs to it in files, once all else is known to be in order, and writes it down."""
    import msgspec

    from exhibit.facts.clock import write_wall
    from exhibit.folder.whole import read_folder
    from exhibit.records.work.writing import check, write_down

    machine = read_folder(folder)
    check(machine, fact)
    whole = msgspec.structs.replace(fact, **kept())
    path = write_down(recordings, machine, whole, write_wall(now()))
    put(f"Written down in {path}.")


def _notes(recordings: Path, saved: Path | None) -> Path:
    from exhibit.desk.noting import NOTES

    return (saved or recordings / "saved") / NOTES


def _note(text: str, notes: Path) -> str:
    """The digest of a note, which is kept in a file; empty for none."""
    from exhibit.desk.keeping import keep_note

    return _kept(lambda: keep_note(notes, text)) if text else ""


def _photograph(path: Path, notes: Path) -> str:
    """The digest of a photograph, of which a copy is kept."""
    from exhibit.desk.keeping import keep_photograph

    def keep() -> str:
        with path.open("rb") as stream:
            return keep_photograph(notes, stream, LONGEST_PHOTOGRAPH_BYTES)

    return _kept(keep, f"{path}")


def _kept(keep: Callable[[], str], what: str = "The note") -> str:
    from exhibit.desk.keeping import NotKept
    from exhibit.facts.errors import SetUpFault

    reasons = {
        "no picture": "it is neither a JPEG nor a PNG",
        "too long": f"it has more than {LONGEST_PHOTOGRAPH_BYTES // 1024**2} MiB",
        "disc full": "there is too little room on the disc",
    }
    try:
        return keep()
    except (NotKept, OSError) as fault:
        why = reasons.get(f"{fault}") or getattr(fault, "strerror", None) or f"{fault}"
        raise SetUpFault(
            f"{what} can't be kept: {why}.",
            "Nothing was written down, since its digest would lead nowhere.",
            "Put that right, or leave it out, and write it down again.",
        ) from fault
