"""Reads a machine's folder and checks every key of every file in it.

docs/folder.md describes the files. A key without a default is required, and an unknown key is a mistake.
All mistakes are found at once, each with its file, its line and what to write instead.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

import msgspec

from exhibit.decisions.machine.script import HOME, Folder
from exhibit.facts.parts_and_cards import Card, Screen
from exhibit.folder.assembly import assemble
from exhibit.folder.checks.beside import captions_in_steps, name_keys, place_words
from exhibit.folder.checks.pictures import check_pictures
from exhibit.folder.checks.references import Drafts, check_references
from exhibit.folder.checks.sense import check_sense
from exhibit.folder.checks.showing import check_showing
from exhibit.folder.checks.wear import check_wear
from exhibit.folder.files import read_files, read_other_files
from exhibit.folder.gallery.pictures import FOLDER as PICTURES
from exhibit.folder.gallery.pictures import read_pictures
from exhibit.folder.gallery.screens import FILE as SCREENS
from exhibit.folder.gallery.screens import read_screens
from exhibit.folder.parsing import parsed
from exhibit.folder.reading.cards import FOLDER as CARDS
from exhibit.folder.reading.cards import read_cards
from exhibit.folder.reading.home import FILE as HOME_FILE
from exhibit.folder.reading.home import places_at_home, read_home
from exhibit.folder.reading.languages import FOLDER as LANGUAGES
from exhibit.folder.reading.languages import Beside, in_order, read_language
from exhibit.folder.reading.machine import FILE as MACHINE
from exhibit.folder.reading.machine import read_machine
from exhibit.folder.reading.mistakes import FolderMistakes, Mistake
from exhibit.folder.reading.scripts import BY_HAND, read_script
from exhibit.folder.reading.story import DAY, DOCENT, STORY, DayDraft, read_day, read_docent, read_story
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.usual import UNKNOWN, Around
from exhibit.folder.reading.values import NAME, intended_name

USUAL_SCRIPTS: Final = ("opening", "round", "closing")
REQUIRED: Final = (MACHINE, *(f"{name}.toml" for name in USUAL_SCRIPTS))
OPTIONAL: Final = (STORY, DAY)
"""Files that may be missing because every key in them has a default. home.toml isn't among them: without it
there is no way home."""


def read_folder(path: Path) -> Folder:
    """Return what the folder describes.

    Raises FolderMistakes, which carries all the mistakes, and SetUpFault if the folder doesn't exist or
    can't be read.
    """
    return folder_from(read_files(path), str(path), read_other_files(path))


@dataclass
class Examined:
    """A folder's files as read, and everything that is wrong in them."""

    drafts: Drafts
    mistakes: list[Mistake]
    """Mistakes and advice, unsorted."""
    day: DayDraft | None = None
    acts: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)
    """What the simulated docent does, by script and step."""
    cards: tuple[Card, ...] = ()
    pictures: dict[str, str] = field(default_factory=dict)
    """The museum's own pictures of parts, cleaned, by the names under which they are served."""
    screens: dict[str, Screen] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    """The files that could be read, by name; an optional file that is missing counts as empty."""


def folder_from(files: Mapping[str, bytes], folder: str, others: Mapping[str, bytes] = {}) -> Folder:
    """Return what these files describe. `files` (TOML) and `others` (cards, pictures): content by name.

    Raises FolderMistakes, whose message calls the folder `folder`.
    """
    found = examine(files, others)
    if mistakes := [mistake for mistake in found.mistakes if not mistake.is_advice]:
        raise FolderMistakes(folder, mistakes)
    return folder_of(found, files, others)


def folder_of(found: Examined, files: Mapping[str, bytes], others: Mapping[str, bytes] = {}) -> Folder:
    """Assemble what was read from these files, in which no mistake was found."""
    assert found.day is not None
    digests = {
        name: hashlib.sha256(content).hexdigest() for name, content in sorted({**files, **others}.items())
    }
    folder = assemble(found.drafts, found.day, found.acts, digests, found.cards)
    return msgspec.structs.replace(folder, pictures=found.pictures, screens=found.screens)


def examine(files: Mapping[str, bytes], others: Mapping[str, bytes] = {}) -> Examined:
    """Read these files and find everything that is wrong in them or could be better."""
    mistakes: list[Mistake] = []
    tables: dict[str, Table | None] = {}
    for name, content in files.items():
        found_in = parsed(name, content)
        if isinstance(found_in, Mistake):
            mistakes.append(found_in)
            tables[name] = None
        else:
            tables[name] = Table(name, *found_in, mistakes)
    for name in OPTIONAL:
        tables.setdefault(name, Table(name, {}, {}, mistakes))
    mistakes += _missing(files)
    beside: list[Beside] = []
    languages = [name for name in files if name.startswith(f"{LANGUAGES}/")]
    drafts = Drafts(all_readable=None not in tables.values() and all(name in files for name in REQUIRED))
    found = Examined(drafts, mistakes, tables={name: t for name, t in tables.items() if t is not None})
    if (machine := tables.get(MACHINE)) is not None:
        drafts.machine = read_machine(machine, has_home=HOME_FILE in files, secrets=_secrets(tables))
    # Without machine.toml nobody knows what these would be, and only that file is reported.
    around = drafts.machine.around() if drafts.machine is not None else Around(places=None)
    part = drafts.machine.usual_part if drafts.machine is not None else UNKNOWN
    for name, table in tables.items():
        if _is_script(name, table, mistakes):
            stem = name.removesuffix(".toml")
            if drafts.machine is not None:
                around = replace(around, home=places_at_home(tables.get(HOME_FILE), drafts.machine, stem))
            drafts.scripts[stem] = None if table is None else read_script(stem, table, around)
    if HOME_FILE in tables:
        home = tables[HOME_FILE]
        drafts.home = None if home is None else read_home(home, drafts.machine, drafts.scripts)
        drafts.scripts[HOME] = None if drafts.home is None else drafts.home.as_script()
    if (story := tables.get(STORY)) is not None:
        told = drafts.machine.captions.captions if drafts.machine is not None else []
        captions, drafts.ahead = read_story(story, part, beside, told)
        drafts.captions = [*told, *captions]
    if (table := tables.get(DAY)) is not None:
        tags = [name.removeprefix(f"{LANGUAGES}/").removesuffix(".toml") for name in languages]
        is_exercised = drafts.machine is not None and bool(drafts.machine.exercisers)
        needed = list[Mistake]()
        if DAY not in files:
            table = tables[DAY] = found.tables[DAY] = Table(DAY, {}, {}, needed)
        found.day = read_day(table, tags, is_exercised=is_exercised, is_simulated=DOCENT in files)
        mistakes += [_missing_day(is_exercised=is_exercised)] if needed else []
    for name in languages:
        if (table := tables[name]) is not None:
            tag = name.removeprefix(f"{LANGUAGES}/").removesuffix(".toml")
            drafts.languages.append(read_language(tag, table))
    by_hand = {
        script.name: [step.name for step in script.steps if step.kind in BY_HAND and step.name]
        for script in drafts.scripts.values()
        if script is not None
    }
    if found.day is not None and languages and None not in tables.values():
        drafts.languages = in_order(drafts.languages, found.day.languages, found.day.order)
    docent = tables.get(DOCENT)
    if docent is not None and drafts.all_readable:
        start = drafts.machine.front.switches.start if drafts.machine is not None else ""
        found.acts = read_docent(docent, by_hand, start)
    has_words = any(language.words["captions"] for language in drafts.languages)
    if story is not None and not story.data and has_words:
        drafts.captions, drafts.all_readable = None, False
        how = "empty" if STORY in files else "missing from the folder"
        mistakes.append(_missing_file(STORY, f"this file is {how}, so no caption appears"))
    if in_steps := captions_in_steps(drafts, beside):
        drafts.captions = [*(drafts.captions or []), *in_steps] if drafts.captions is not None else None
    name_keys(drafts)
    place_words(drafts, beside)
    check_references(drafts)
    check_showing(drafts)
    check_pictures(drafts)
    check_sense(drafts)
    check_wear(drafts, found.day.limits if found.day is not None else None)
    cards = {name: content for name, content in others.items() if name.startswith(f"{CARDS}/")}
    found.cards = read_cards(cards, [language.tag for language in drafts.languages], mistakes)
    if drafts.machine is not None:
        pictures = {name: content for name, content in others.items() if name.startswith(f"{PICTURES}/")}
        found.pictures = read_pictures(drafts.machine, pictures, mistakes)
    if (screens := tables.get(SCREENS)) is not None:
        found.screens = read_screens(screens)
    # A step of a tidy-up that is also a way home is checked as both.
    found.mistakes[:] = dict.fromkeys(mistakes)
    return found


def _secrets(tables: Mapping[str, Table | None]) -> set[str]:
    """Return the names of what the scripts type as secrets."""
    files = [table.data for table in tables.values() if table is not None]
    steps = [step for data in files for key in ("step", "tidy_up") for step in _items(data.get(key))]
    return {f"{step['secret']}" for step in steps if isinstance(step, Mapping) and "secret" in step}


def _items(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _missing_day(*, is_exercised: bool) -> Mistake:
    """Return the mistake that day.toml is missing, which some folders can do without."""
    what = "this file is missing from the folder, so nothing limits the exercisers of machine.toml"
    if not is_exercised:
        what = "this file is missing from the folder, so nobody knows which language comes first"
    return _missing_file(DAY, what)


def _missing_file(name: str, what: str) -> Mistake:
    return Mistake(name, 1, what, f"a file {name}, as docs/folder.md describes it")


def _missing(files: Mapping[str, bytes]) -> list[Mistake]:
    """Return a mistake for each required file that is missing."""
    mistakes = []
    for name in REQUIRED:
        if name not in files:
            near = intended_name(name, [other for other in files if other not in REQUIRED])
            hint = f"rename {near} to {name}" if near else f"a file {name}, as docs/folder.md describes it"
            mistakes.append(Mistake(name, 1, "this file is missing from the folder", hint))
    if not any(name.startswith(f"{LANGUAGES}/") for name in files):
        what, hint = "no language has a file", "a file captions/LANGUAGE.toml, such as captions/en.toml"
        mistakes.append(Mistake(f"{LANGUAGES}/en.toml", 1, what, hint))
    return mistakes


def _is_script(name: str, table: Table | None, mistakes: list[Mistake]) -> bool:
    """Whether the file is a script; adds a mistake if the file is none of those that a folder can have."""
    if "/" in name or name in (MACHINE, STORY, DAY, DOCENT, HOME_FILE, SCREENS):
        return False
    stem = name.removesuffix(".toml")
    if stem in USUAL_SCRIPTS:
        return True
    if not NAME.fullmatch(stem):
        mistakes.append(
            Mistake(name, 1, "the file of a script can't have this name", "a name such as pack-copy.toml")
        )
        return False
    if table is None or "script" in table:
        return True
    near = intended_name(name, (*REQUIRED, *OPTIONAL, DOCENT, HOME_FILE, SCREENS))
    what = "no file of this name is read, and this is not a script, because it has no [script]"
    hint = f"rename it to {near}" if near else '[script] with within = "20 min", if it is an attended script'
    mistakes.append(Mistake(name, 1, what, hint))
    return False
