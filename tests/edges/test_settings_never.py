"""No command of a script, nor any beginning of one, may be what must never be typed."""

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.decisions.filling import PLACE
from exhibit.decisions.pattern import Pattern, PatternMistake
from exhibit.edges.settings import read_files, read_folder
from exhibit.edges.settings_commands import with_dates
from exhibit.edges.settings_fitting import fits_a_beginning
from tests.edges.folder_writing import ROOT, mistakes_in

FILES = read_files(ROOT / "scripts" / "whimbrel")


@pytest.mark.parametrize(
    ("command", "never", "beginning"),
    [
        ("WIPE LOWER", "WIPE {...}", "WIPE"),
        ("WIPE LOWER", "WIPE LOWER", "WIPE LOWER"),
        ("WIPE LOWER NOW", "WIPE LOWER", "WIPE LOWER"),
        ("WIPER", "WIPE", "WIPE"),
        ("WIPER", "WIPE {...}", "WIPE"),
        ("UNWIPE", "WIPE", ""),
        ("UNWIPE", "{...}WIPE", "UNWIPE"),
        ("WIP LOWER", "WIPE {...}", ""),
        ("LOAD WIPE", "{...} WIPE", "LOAD WIPE"),
        ("WIPE", "{...} WIPE", "WIPE"),
        ("STOP 4", "STOP {job: number}", "STOP 4"),
        ("STOP {begin.job}", "STOP 13", "STOP {begin.job}"),
        ("STOP {begin.job}", "STOP 13 NOW", ""),
        ("STOP {begin.job}", "STOP {job: number}", "STOP {begin.job}"),
        ("STOP {begin.job}", "STOP ALL", ""),
        ("STOP {begin.job}", "STOP", "STOP"),
        ("STOP {begin.job}5", "STOP 125", "STOP {begin.job}"),
        ("COPY {a.from} {a.to}", "COPY 1 2", "COPY {a.from} {a.to}"),
        ("COPY {a.from}-{a.to}", "COPY 1-{...}", "COPY {a.from}-"),
        ("SET {day}.{month}.{year}", "SET 1.1.1970", "SET {day}.{month}.{year}"),
        ("SET {month name}", "SET MARCH", "SET {month name}"),
        ("SET {month name}", "SET 3", ""),
        ("GO {a.number}", "GO -1.5", "GO {a.number}"),
    ],
)
def test_each_beginning_of_a_command_counts_with_any_figure_in_its_places(command, never, beginning):
    assert fits_a_beginning(command, Pattern(never)) == beginning


TEXTS = st.text("AB1. ", max_size=6)
NEVERS = st.lists(
    st.sampled_from(["A", "B", "AB", "1", ".", " ", "{...}", "{n: number}", "{w: word}", "{t: text}"])
)


def made(parts: list[str]) -> Pattern | None:
    numbered = (part.replace(":", f"{place}:") for place, part in enumerate(parts))
    try:
        return Pattern("".join(numbered))
    except PatternMistake:
        return None


@given(TEXTS, NEVERS)
def test_for_a_command_without_places_it_says_what_trying_each_beginning_says(command, parts):
    never = made(parts)
    if never is not None and command == command.strip():
        fitting = [command[:n] for n in range(1, len(command) + 1) if never.match(command[:n]) is not None]
        found = fits_a_beginning(command, never)
        if "number" in never.text or "text" in never.text:
            assert found or not fitting  # it is generous with these: 1.1.1 counts as a number
        else:
            assert found == (fitting[0] if fitting else "")


@given(
    st.lists(st.sampled_from(["A", "B", "1", ".", " ", "{s.n}"]), min_size=1, max_size=6), NEVERS, st.data()
)
def test_no_filling_of_a_place_is_overlooked(said, parts, data):
    never = made(parts)
    command = "".join(said).strip()
    if never is None or not command:
        return
    figures = st.sampled_from(["1", "11", "-1", "1.1", "+11.1", "7"])
    filled = PLACE.sub(lambda _: data.draw(figures), command)
    beginnings = (filled[:length] for length in range(1, len(filled) + 1))
    if any(beginning.strip() and never.match(beginning) is not None for beginning in beginnings):
        assert fits_a_beginning(command, never)


def test_a_date_counts_as_its_calendar_writes_it():
    calendars = read_folder(ROOT / "scripts" / "whimbrel").machine.calendars
    assert with_dates("SET {date: starter}", calendars) == "SET {day of year} {year}"
    assert with_dates("STOP {begin.job}", calendars) == "STOP {begin.job}"
    assert (
        fits_a_beginning(with_dates("{date: starter}", calendars), Pattern("60 1973"))
        == "{day of year} {year}"
    )


@pytest.mark.parametrize(
    ("command", "beginning"),
    [
        ("WIPE LOWER", "WIPE"),
        ("wipe lower", "WIPE"),
        ("HALT NOW", "HALT"),
        ("BEGIN SHUTTLE UPPER 1 PASSES", None),
    ],
)
def test_a_script_with_a_forbidden_command_is_refused_also_in_small_letters(command, beginning):
    text = FILES["round.toml"].decode()
    line = text[: text.index('type = "LOG"')].count("\n") + 1
    files = {**FILES, "round.toml": text.replace('type = "LOG"', f'type = "{command}"').encode()}
    (found,) = mistakes_in(files)
    assert (found.file, found.line) == ("round.toml", line)
    assert f'the beginning "{beginning or "BEGIN SHUTTLE UPPER"}"' in found.what


def test_small_letters_are_other_letters_on_a_machine_that_tells_them_apart():
    text = FILES["round.toml"].decode().replace('type = "LOG"', 'type = "wipe lower"')
    machine = FILES["machine.toml"].replace(b'folds_to = "upper case"', b'folds_to = "as typed"')
    assert mistakes_in({**FILES, "round.toml": text.encode(), "machine.toml": machine}) == []


def test_none_of_our_own_commands_fits_whatever_is_filled_in():
    for folder in sorted(path.parent for path in (ROOT / "scripts").glob("*/machine.toml")):
        read = read_folder(folder)
        steps = [s for script in read.scripts.values() for s in (*script.steps, *script.tidy_up)]
        commands = {step.command for step in steps if hasattr(step, "command")}
        filled = {PLACE.sub(figure, command) for command in commands for figure in ("1", "250", "1973")}
        beginnings = {c[:n] for c in filled for n in range(1, len(c) + 1)}
        fitting = itertools.product(read.machine.never, beginnings)
        assert [(never.text, text) for never, text in fitting if never.match(text) is not None] == []
        assert re.search("[A-Za-z]", "".join(commands))
