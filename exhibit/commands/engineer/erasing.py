"""The command that erases a person's name: `exhibit erase`."""

from __future__ import annotations

from pathlib import Path

import click

from exhibit.commands.docents_page.people import people_option
from exhibit.commands.options import FOLDER, recordings_option
from exhibit.output.terminal import put


@click.command(short_help="Erases the name of WHO from all files beside the recordings.")
@click.argument("who")
@click.option("--named", multiple=True, help="Another form of the name, to look for too; repeat it for more.")
@people_option
@recordings_option
@click.option("--saved", type=FOLDER, default=None, help="Folder of notes, if not in that of the recordings.")
@click.option("--also", type=FOLDER, multiple=True, help="Another folder to search, such as that of copies.")
@click.option("--notes", is_flag=True, help="Also remove all notes and photographs that WHO made.")
@click.option("--now", is_flag=True, help="Do it; without this it only says what it would do.")
def erase(
    who: str,
    named: tuple[str, ...],
    people: Path,
    recordings: Path,
    saved: Path | None,
    also: tuple[Path, ...],
    notes: bool,
    now: bool,
) -> None:
    """Erases the name of WHO (initials, an engineer's name, or a number such as "docent 2").

    It goes from the list of people, and in notes it is replaced by the number. Then all files are searched
    for it again, and what was searched is printed. Recordings hold only the number; a name that stands in one
    all the same can't be erased there, and is said.
    """
    from exhibit.commands.engineer.named import number_of
    from exhibit.desk.people import PeopleFile
    from exhibit.records.keeping import erasing

    number = number_of(who, people)
    known = PeopleFile(people).read() if people.exists() else None
    role, _, digits = number.partition(" ")
    person = known.person("docent" if role == "docent" else "engineer", int(digits)) if known else None
    listed = getattr(person, "initials", "") or getattr(person, "name", "")
    names = [name for name in (listed, *named) if name]
    places = [recordings, *([saved] if saved else []), *also]
    put(f"{number} in the recordings" + (f" is {listed} in {people}." if listed else f" isn't in {people}."))
    made = erasing.notes_by(number, places) if notes else []
    put(*(f"{path}: {number} made it; it is removed." for path in made))
    name = erasing.Name(names) if names else None
    found = erasing.search(name, places).found if name else []
    for one in found:
        if one.path not in made:
            put(f"{one.path}: {_what(one.kind, number)} ({one.times} times)")
    if not now:
        put("Nothing was changed. With --now it is done.")
        return
    for path in made:
        erasing.remove(path)
    for one in found:
        if one.path in made:
            continue
        if one.kind == "note" and name is not None:
            erasing.erase_in_note(name, one.path, number)
        elif one.kind == "index":
            erasing.remove(one.path)
    if person is not None:
        with PeopleFile(people).change() as changed:
            gone = changed.person("docent" if role == "docent" else "engineer", int(digits))
            changed.docents = [one for one in changed.docents if one is not gone]
            changed.engineers = [one for one in changed.engineers if one is not gone]
    put("It is done. Copies elsewhere, such as on paper or in a backup, are not reached.")
    if name is not None:
        put(erasing.proof(name, [*places, people]))


def _what(kind: str, number: str) -> str:
    return {
        "note": f"the name is replaced by {number}",
        "index": "it is removed, and built again when it is needed",
        "recording": "stands in a recording, and can't be erased there",
        "other": "stands in this file, which is left as it is: look at it",
    }[kind]
