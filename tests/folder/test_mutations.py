"""Every key of the machines' folders is dropped, misspelt, and given a wrong type and a wrong unit.

Each such file is refused, with the line of the mistake. A dropped key is reported, or its default is listed;
a name that the folder's author chose is reported where it is used.
"""

import re
import tomllib
from pathlib import Path

import pytest

from exhibit.facts.units import UnitMistake, duration_us, speed_baud
from exhibit.folder.files import read_files
from exhibit.folder.gallery.screens import screen_length_cm
from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.reading.troubles import COMMON_TO_TROUBLES
from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.reading.wear import COMMON_TO_EXERCISERS
from exhibit.folder.whole import examine, folder_from
from tests.folder.folder_writing import (
    ROOT,
    changed,
    dropped,
    keys_of,
    mistakes_in,
    renamed,
    toml_text,
    value_at,
)
from tests.sampling import sample

pytestmark = pytest.mark.pure

FOLDERS = sorted(path.parent for path in (ROOT / "scripts").glob("*/machine.toml"))
FILES = {folder.name: read_files(folder) for folder in FOLDERS}
CASES = [(folder, name) for folder, files in FILES.items() for name in files]

INSTEAD = {"if_at": "at", "blank_lines": "lines", "ends": "lines"}
"""Keys in whose place another one has a default."""
ELSEWHERE = {("home", "tidy_up"), ("home", "title"), ("script", "title")}
"""Keys that may be missing: the first brings nothing of its own, and titles have defaults in another file."""
NO_DEFAULT = {
    "late", "source", "pause", "caption", "limits", "rises", "falls", "changes", "too_early", "didnt",
    "leaves", "too_early_shows", "over_when", "plug", "bring", "presence",
}  # fmt: skip
"""Keys that may be missing, and then nothing takes their place."""

CHOSEN = [
    ("machine.toml", ("prompts",)), ("machine.toml", ("lines",)), ("machine.toml", ("interruptions",)),
    ("machine.toml", ("displays",)), ("machine.toml", ("displays", "*", "readings")),
    ("machine.toml", ("troubles",)), ("machine.toml", ("calendars",)), ("machine.toml", ("packs",)),
    ("machine.toml", ("keys",)), ("machine.toml", ("parts",)), ("machine.toml", ("exercisers",)),
    ("machine.toml", ("tell_tales",)), ("machine.toml", ("plots",)), ("machine.toml", ("loads",)),
    ("screens.toml", ("screens",)), ("machine.toml", ("switches", "keys")),
    ("machine.toml", ("switches", "lamps")), ("machine.toml", ("who_may",)),
]  # fmt: skip
"""Tables whose keys are names chosen by the author, which only the other files know."""

COMMON = {"exercisers": COMMON_TO_EXERCISERS, "troubles": COMMON_TO_TROUBLES}
"""Keys that can stand among those names, for each of the tables."""

REFERRING = {
    "at", "until", "wait", "press", "pack", "read", "caption", "hands_on", "words", "caution", "part", "when",
    "step_started", "step_done", "reading", "confirmed_by", "drive", "joins", "given",
    "share", "transfers", "errors", "jobs", "job_name",
    "begun", "ended", "job", "minutes", "writes", "started", "stopped", "readings", "lines", "anew",
    "begins", "step", "second", "worked", "points_across", "points_up", "marks", "marks_across", "marks_up",
    "from", "picture", "tested",
}  # fmt: skip
"""Keys whose texts are names that must be known."""
CLOSED = {
    "kind", "parity", "flow", "eighth_bit", "form_feed", "echo", "folds_to", "cancel", "return", "frame_ends",
    "rows", "year", "change", "tag", "shape", "state", "width", "height", "longest",
    "late", "nudge",
    "exercise_an_hour", "exercise_a_day", "exercise_a_year", "starts_a_day", "errors_a_day", "errors_an_hour",
    "last_round", "closes", "drawn_as", "across", "up", "across_is", "every_day", "on", "repeats",
    "openings", "layout", "distance", "lower_edge", "home_after",
}  # fmt: skip
"""Keys that allow only certain texts, or have a format of their own."""

OPTIONAL = {("typing", "answer_within"), ("rounds", "goes_on_after_loss")}
"""Keys that can be left out."""

a_trial = pytest.mark.trial(name="mutations")


def some_keys_of(data: dict) -> list[tuple]:
    """Return one key of each kind, where the kind is the path to the key without the second name in it."""

    def kind(path: tuple) -> tuple:
        return tuple(part for place, part in enumerate(path) if isinstance(part, str) and place != 1)

    return sample(list(keys_of(data)), 0, lambda path: [kind(path)])


def is_chosen(name: str, path: tuple) -> bool:
    above = path[:-1]
    if len(path) == 2 and path[1] in COMMON.get(f"{path[0]}", ()):
        return False
    return any(
        name == file
        and len(above) == len(table)
        and all(b in ("*", a) for a, b in zip(above, table, strict=True))
        for file, table in CHOSEN
    )


def naming(mistakes: list[Mistake], path: tuple) -> list[Mistake]:
    """Return the mistakes that name what is at this path, or a step that is named after it."""
    return [m for m in mistakes if f'{path[-1]}"' in m.what or f'"{path[1]}.{path[-1]}"' in m.what]


def names_a_landmark(name: str, path: tuple) -> bool:
    """Whether reading/test_home tests this path: what can be missing, and where a wrong name is reported."""
    if name == "machine.toml":
        return path[0] == "landmarks" and len(path) <= 2
    return name == "home.toml" and path[0] in ("begins", "ways") and len(path) == 2


def makes_a_script(name: str, path: tuple) -> bool:
    """Whether this table makes a script of a file whose name the author chose."""
    return path == ("script",) and name not in ("opening.toml", "round.toml", "closing.toml")


def is_used(folder: str, name: str, path: tuple) -> bool:
    """Whether anything refers to the name at this path; otherwise it can be changed or deleted freely."""
    table, key = path[-2], path[-1]
    texts = b"\n".join(
        content for other, content in FILES[folder].items() if other != "simulated-docent.toml"
    )
    if table == "readings":
        return f'"{path[1]}.{key}"'.encode() in texts
    if table == "lines" and f'"{key}.'.encode() in texts:
        return True  # a plot takes its numbers from a place in the line
    if table in ("lines", "exercisers") and f"\n{key}.typed = ".encode() in texts:
        return True  # by default the line of an exerciser's name says that it has started
    if table == "plots":
        return True  # each language has words for it
    if table in ("troubles", "parts", "tell_tales", "exercisers", "loads"):
        # Each language has words for it, if they don't stand in the table itself.
        section = {"exercisers": "stop_by_hand"}.get(table, table)
        words = tomllib.loads(FILES[folder]["captions/en.toml"].decode())
        named = table in ("parts", "troubles") and f'"{key}"'.encode() in texts
        return key in words.get(section, {}) or named
    if table == "calendars":
        return f"{{date: {key}}}".encode() in texts
    glosses = tomllib.loads(FILES[folder]["captions/en.toml"].decode()).get("glosses", {})
    return key in glosses or f'"{key}"'.encode() in texts


@pytest.fixture(scope="module")
def parsed():
    return {
        (folder, name): tomllib.loads(content.decode())
        for folder, files in FILES.items()
        for name, content in files.items()
    }


def mistakes_with(folder: str, name: str, data: dict) -> tuple[list, dict]:
    text, lines = toml_text(data)
    return mistakes_in({**FILES[folder], name: text.encode()}), lines


@pytest.mark.parametrize(("folder", "name"), CASES)
def test_a_file_that_is_written_again_means_the_same(folder, name, parsed):
    text, _ = toml_text(parsed[folder, name])
    files = FILES[folder]
    again = folder_from({**files, name: text.encode()}, folder)
    before = folder_from(files, folder)
    assert {n: d for n, d in again.digests.items() if n != name} == {
        n: d for n, d in before.digests.items() if n != name
    }
    for field in ("machine", "scripts", "way_home", "captions", "rest_us", "limits", "simulated_docent"):
        assert getattr(again, field) == getattr(before, field)


@a_trial
@pytest.mark.parametrize(("folder", "name"), CASES)
def test_every_missing_key_is_reported_or_has_a_default_that_is_listed(folder, name, parsed):
    data = parsed[folder, name]
    unnoticed = []
    for path in some_keys_of(data):
        if (
            isinstance(path[-1], int)
            or names_a_landmark(name, path)
            or path[-1] in NO_DEFAULT
            or path in ELSEWHERE
        ):
            continue
        text, _ = toml_text(dropped(data, path))
        files = {**FILES[folder], name: text.encode()}
        found = examine(files)
        mistakes = [mistake for mistake in found.mistakes if not mistake.is_advice]
        if is_chosen(name, path):
            used = naming(mistakes, path)
            noticed = bool(used) or not is_used(folder, name, path)
        else:
            listed = {place[: len(path)] for place in found.tables[name].defaults} if not mistakes else set()
            elsewhere = path[-1] == "ends" and path[0] != "interruptions"
            at = path if elsewhere else (*path[:-1], INSTEAD.get(path[-1], path[-1]))
            noticed = bool(mistakes) or at in listed or (path[:-1] and path[:-1] in listed)
            if len(path) == 2 and path[1] in COMMON.get(path[0], ()):
                # What is written once for a whole group has its default in each of the group's tables.
                each = found.tables[name].defaults if not mistakes else ()
                noticed = noticed or any(place[0] == path[0] and place[2:] == path[1:] for place in each)
        if not noticed:
            unnoticed.append((path, mistakes))
    assert unnoticed == []


@a_trial
@pytest.mark.parametrize(("folder", "name"), CASES)
def test_every_misspelt_key_is_reported_on_its_line(folder, name, parsed):
    data = parsed[folder, name]
    unnoticed = []
    for path in some_keys_of(data):
        if isinstance(path[-1], int) or names_a_landmark(name, path):
            continue
        found, lines = mistakes_with(folder, name, renamed(data, path, f"{path[-1]}x"))
        if is_chosen(name, path):
            missed = naming(found, path)
            expected = is_used(folder, name, path)
        elif makes_a_script(name, path):
            missed = [m for m in found if (m.file, m.line) == (name, 1) and "it has no [script]" in m.what]
            expected = True
        else:
            line = lines[(*path[:-1], f"{path[-1]}x")]
            missed = [m for m in found if (m.file, m.line) == (name, line) and f'"{path[-1]}x"' in m.what]
            expected = True
        if bool(missed) != expected or bool(found) != expected:
            unnoticed.append((path, found))
    assert unnoticed == []


@a_trial
@pytest.mark.parametrize(("folder", "name"), CASES)
def test_every_value_of_a_wrong_type_is_found_on_its_line(folder, name, parsed):
    data = parsed[folder, name]
    unnoticed = []
    for path in some_keys_of(data):
        value = value_at(data, path)
        wrong = "three" if isinstance(value, int) else 3
        found, lines = mistakes_with(folder, name, changed(data, path, wrong))
        if not any((m.file, m.line) == (name, lines[path]) for m in found):
            unnoticed.append((path, found))
    assert unnoticed == []


def has_unit(value: object) -> bool:
    if not isinstance(value, str):
        return False
    for read in (duration_us, speed_baud, screen_length_cm):
        try:
            read(value.removeprefix("quiet ").replace("0 ms", "1 ms"))
        except (UnitMistake, ValueMistake):
            continue
        return True
    return False


def test_there_are_values_with_units_in_every_kind_of_file(parsed):
    with_units = {
        name for (_, name), data in parsed.items() for p in keys_of(data) if has_unit(value_at(data, p))
    }
    assert {"machine.toml", "opening.toml", "round.toml", "closing.toml", "day.toml"} <= with_units


@a_trial
@pytest.mark.parametrize(("folder", "name"), CASES)
def test_every_value_in_a_wrong_unit_is_found_on_its_line(folder, name, parsed):
    data = parsed[folder, name]
    unnoticed = []
    for path in some_keys_of(data):
        value = value_at(data, path)
        if not has_unit(value):
            continue
        for wrong in (re.sub(" [a-z]+$", " fathoms", value), re.sub(" [a-z]+$", "", value)):
            found, lines = mistakes_with(folder, name, changed(data, path, wrong))
            if [(m.file, m.line) for m in found] != [(name, lines[path])]:
                unnoticed.append((path, wrong, found))
    assert unnoticed == []


@a_trial
@pytest.mark.parametrize(("folder", "name"), CASES)
def test_every_unknown_name_is_reported_on_its_line(folder, name, parsed):
    data = parsed[folder, name]
    unnoticed = []
    for path in some_keys_of(data):
        value = value_at(data, path)
        key = next(part for part in reversed(path) if isinstance(part, str))
        in_words = name.startswith("captions/") and key != "tag"
        if in_words or not isinstance(value, str) or key not in REFERRING | CLOSED or path[:1] == ("site",):
            continue
        if " " in value and key not in CLOSED:
            continue  # words that people read, or a reading's line
        found, lines = mistakes_with(folder, name, changed(data, path, f"{value}x"))
        on_the_line = [m for m in found if (m.file, m.line) == (name, lines[path])]
        chosen_here = path[-2:] == ("prompts", "kind")
        if not on_the_line and not (chosen_here and found):
            unnoticed.append((path, found))
    assert unnoticed == []


def test_the_demos_folder_is_among_those_that_were_mutated():
    assert Path(ROOT / "scripts/whimbrel") in FOLDERS
    assert sum(1 for data in FILES["whimbrel"].values() for _ in keys_of(tomllib.loads(data.decode()))) > 700


@pytest.mark.parametrize(("folder", "name"), CASES)
def test_a_number_in_place_of_a_table_is_reported_once(folder, name):
    data = tomllib.loads(FILES[folder][name].decode())
    for key in data:
        text, lines = toml_text(changed(data, (key,), 5))
        found = mistakes_in({**FILES[folder], name: text.encode()})
        here = [mistake for mistake in found if (mistake.file, mistake.line) == (name, lines[key,])]
        assert len(here) == 1, found
