"""The commands that keep recordings: verify, mend, compress, copy, discard."""

from __future__ import annotations

from pathlib import Path

import click

from exhibit.commands.engineer.moments import now as now_here
from exhibit.commands.options import FILE, FOLDER, recordings_option
from exhibit.output.terminal import put

RECORDINGS = click.Path(path_type=Path)
WORK = "work"


@click.command(short_help="Says whether RECORDINGS are as they were written.")
@click.argument("recordings", type=RECORDINGS, nargs=-1, required=True)
def verify(recordings: tuple[Path, ...]) -> None:
    """Says whether RECORDINGS (files, or folders of them) are as they were written.

    It checks each line's checksum, number and time, and whether each file continues the one before it. Below
    a damaged file it says at which byte, and which facts are missing. The exit status is then 2.
    """
    from exhibit.records.keeping.verifying import verify as verified

    found = verified(recordings)
    put(*found.lines)
    found.refuse()


@click.command(short_help="Saves what is readable of a damaged RECORDING.")
@click.argument("recording", type=FILE)
@click.option("--to", type=FILE, default=None, help="New file; if not given, in the folder mended beside it.")
def mend(recording: Path, to: Path | None) -> None:
    """Saves what is readable of a damaged RECORDING in a new file, which says what is missing.

    The old file stays as it is. A line is put right only where its checksum, or that of the line after it,
    shows how it was. The numbers of facts stay, so that captions still name the facts that they rest on.
    """
    from exhibit.records.keeping.mending import mend as mended

    outcome = mended(recording, to)
    put(*outcome.put_right)
    for gap in outcome.gaps:
        put(gap.said)
    put(f"{outcome.to} has {outcome.facts:,} facts of {recording.name}, and passes `exhibit verify`.")


@click.command(short_help="Compresses the recordings of closed days.")
@click.argument("folders", type=FOLDER, nargs=-1, required=True)
@click.option("--now", is_flag=True, help="Do it; without this it only says what it would do.")
def compress(folders: tuple[Path, ...], now: bool) -> None:
    """Compresses the recordings of closed days in FOLDERS to about a seventh. All commands still read them.

    Today's, the newest of each machine and what is being written stay as they are. A plain recording is
    removed once its compressed copy is on the disc, was read back and is the same, byte for byte.
    """
    from exhibit.records.keeping.compressing_days import closed_days, compress_recording

    found = closed_days(folders, now_here().date())
    before_bytes = after_bytes = 0
    for one in found:
        if one.why_not:
            put(f"{one.path.name}: stays as it is, since {one.why_not}.")
            continue
        before_bytes += one.size_bytes
        if now:
            to = compress_recording(one.path)
            after_bytes += to.stat().st_size
            put(f"{to.name}: {one.size_bytes:,} bytes, now {to.stat().st_size:,}; read back, and the same.")
        else:
            put(f"{one.path.name}: {one.size_bytes:,} bytes would be compressed.")
    if not before_bytes:
        put("There is nothing to compress.")
    elif now:
        put(f"{before_bytes - after_bytes:,} bytes were saved.")
    else:
        put("Nothing was changed. With --now it is done.")


@click.command(short_help="Copies RECORDINGS to a second place, and reads them back there.")
@click.argument("recordings", type=RECORDINGS, nargs=-1)
@click.option("--to", type=FOLDER, required=True, help="Folder in the second place, such as a disc's.")
@click.option("--check", is_flag=True, help="Copy nothing; read again all that has arrived there.")
def copy(recordings: tuple[Path, ...], to: Path, check: bool) -> None:
    """Copies RECORDINGS (files, or folders of them) to a second place, with proof of arrival.

    Each file is written there, synced, read back and compared by its SHA-256. Then it gets a line in
    copied.jsonl there. What engineers wrote down (the folder work) is copied along; notes, photographs and
    names are not. Nothing there is ever overwritten.
    """
    from exhibit.facts.clock import write_wall
    from exhibit.records.keeping import copying

    at = write_wall(now_here())

    if check:
        said = copying.check(to)
    elif recordings:
        said = copying.copy(recordings, to, at)
        for folder in (path / WORK for path in recordings):
            if folder.is_dir() and any(folder.iterdir()):
                (to / WORK).mkdir(exist_ok=True)
                said += copying.copy([folder], to / WORK, at)
    else:
        raise click.UsageError("Name recordings to copy, or give --check.")
    put(*(f"{one.file}: {one.what}" for one in said))
    copying.refuse(said)


@click.command(short_help="Removes recordings that FOLDER says need not be kept.")
@click.argument("folder", type=FOLDER)
@recordings_option
@click.option("--saved", type=FOLDER, default=None, help="Folder of notes and saved minutes.")
@click.option("--copied-to", type=FOLDER, default=None, help="Remove only what `exhibit copy` took there.")
@click.option("--now", is_flag=True, help="Do it; without this it only says what it would do.")
def discard(folder: Path, recordings: Path, saved: Path | None, copied_to: Path | None, now: bool) -> None:
    """Says which recordings of the machine of FOLDER are older than `keep` in its day.toml, or removes them.

    Days with a trouble, a failed run, a note that asks a question, a photograph or saved minutes are never
    removed, nor is what is damaged or the newest recording. What was removed is listed in discarded.jsonl, so
    that `exhibit verify` still knows what the next recording continues.
    """
    from exhibit.facts.errors import SetUpFault
    from exhibit.folder.whole import read_folder
    from exhibit.records.keeping.discarding import discard as discarded
    from exhibit.records.keeping.discarding import old_days

    described = read_folder(folder)
    machine, keep_days, today = described.machine.name, described.keep_days, now_here().date()
    if keep_days is None:
        raise SetUpFault(
            f"{folder} says nothing about how long recordings are kept, so they are kept for good.",
            "Nothing is removed without a rule that somebody wrote down.",
            'Write keep = "400 days" in [recordings] of its day.toml, if that is meant.',
        )
    saved = saved or recordings / "saved"
    removed_bytes = 0
    for one in old_days(recordings, machine, keep_days, today, saved, copied_to):
        what = f"{one.day}: {len(one.files)} of {machine}, {one.size_bytes:,} bytes"
        if one.keep_because:
            put(f"{what}: kept, since {one.keep_because}.")
            continue
        removed_bytes += one.size_bytes
        if now:
            discarded(one, today, f"keep = {keep_days} days")
        put(f"{what}: {'removed' if now else 'would be removed'}.")
    if not removed_bytes:
        put(f"No day older than {keep_days} days can be removed.")
    elif not now:
        put("Nothing was removed. With --now it is done.")
