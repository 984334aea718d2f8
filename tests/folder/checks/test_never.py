"""No command of a script, and no beginning of one, may be a command that must never be typed."""

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.fitting import fits_a_beginning
from exhibit.decisions.machine.pattern import Pattern, PatternMistake
from exhibit.folder.checks.commands import with_dates
from exhibit.folder.files import read_files
from exhibit.folder.report.noise_risks import risk_report
from exhibit.folder.whole import folder_from, read_folder
from tests.folder.folder_writing import ROOT, mistakes_in

pytestmark = pytest.mark.pure

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
    st.sampled_from(["A", "B", "AB", "1", ".", " ", "{...}", "{n: number}", "{w: one word}", "{t: text}"])
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
def test_a_forbidden_command_is_refused_in_small_letters_too(command, beginning):
    text = FILES["round.toml"].decode()
    line = text[: text.index('type = "LOG"')].count("\n") + 1
    files = {**FILES, "round.toml": text.replace('type = "LOG"', f'type = "{command}"').encode()}
    (found,) = mistakes_in(files)
    assert (found.file, found.line) == ("round.toml", line)
    assert f'the beginning "{beginning or "BEGIN SHUTTLE UPPER"}"' in found.what


def test_small_letters_count_on_a_machine_that_does_not_fold_them():
    text = FILES["round.toml"].decode().replace('type = "LOG"', 'type = "wipe lower"')
    machine = FILES["machine.toml"].replace(b'folds_to = "upper case"', b'folds_to = "as typed"')
    assert mistakes_in({**FILES, "round.toml": text.encode(), "machine.toml": machine}) == []


# -- one step of the closing can be permitted to type one of them

LIFTED = """
[never_lifted]
command = "STOP TIDEBOOK"
step = "stop-tidebook"
reason = "The discs are only safe to stop behind it"
"""


def with_lifted(lifted: str, *, never: str = "STOP TIDEBOOK", **edits: tuple[str, str]) -> dict[str, bytes]:
    """Return the Whimbrel's files with one more command in [never], and with this table."""
    machine = FILES["machine.toml"].decode().replace('    "HALT",', f'    "HALT",\n    "{never}",')
    files = {**FILES, "machine.toml": (machine + lifted).encode()}
    for stem, (old, new) in edits.items():
        text = files[f"{stem}.toml"].decode()
        assert old in text
        files[f"{stem}.toml"] = text.replace(old, new, 1).encode()
    return files


def test_without_never_lifted_the_closing_can_not_type_it_either():
    (found,) = mistakes_in(with_lifted(""))
    assert (found.file, 'fits "STOP TIDEBOOK"' in found.what) == ("closing.toml", True)


def test_one_step_of_the_closing_can_be_permitted_and_check_prints_the_reason():
    files = with_lifted(LIFTED)
    assert mistakes_in(files) == []
    folder = folder_from(files, "the folder")
    assert folder.machine.never_lifted.reason == "The discs are only safe to stop behind it"
    steps = [step for script in folder.scripts.values() for step in (*script.steps, *script.tidy_up)]
    assert [step.name for step in steps if getattr(step, "lifts", "")] == ["stop-tidebook"]
    assert any(
        "Only closing.stop-tidebook may type" in line and "only safe" in line for line in risk_report(folder)
    )


@pytest.mark.parametrize(
    ("stem", "old", "new", "said"),
    [
        ("closing", 'type = "CLOSE THE OFFICE"', 'type = "STOP TIDEBOOK"', 'fits "STOP TIDEBOOK"'),
        ("round", 'type = "LOG"', 'type = "STOP TIDEBOOK"', 'fits "STOP TIDEBOOK"'),
        ("closing", 'type = "STOP TIDEBOOK"', 'type = "WIPE STOP TIDEBOOK"', "so it needs no permission"),
        ("closing", 'type = "STOP TIDEBOOK"', 'type = "STOP TIDEBOOKS"', ""),
    ],
    ids=["another step of the closing", "another script", "another pattern", "a beginning of it"],
)
def test_nothing_else_is_permitted(stem, old, new, said):
    found = mistakes_in(with_lifted(LIFTED, **{stem: (old, new)}))
    assert bool(found) == bool(said)
    assert all(said in mistake.what or "never be typed" in mistake.what for mistake in found)


@pytest.mark.parametrize(
    ("old", "new", "said", "write"),
    [
        ('STOP TIDEBOOK"', 'STOP TIDEBOK"', "not one of the commands in", "STOP TIDEBOOK"),
        ('step = "stop-tidebook"', 'step = "stop-tidebok"', "closing.toml has no", 'step = "stop-tidebook"'),
        ('step = "stop-tidebook"', 'step = "begin-shuttle"', "no other script can type", "one of:"),
        ('"The discs are only safe to stop behind it"', '"So."', "too short for an engineer", "reason ="),
        ('reason = "The discs are only safe to stop behind it"\n', "", "lacks reason", "reason ="),
        ('step = "stop-tidebook"\n', "", "lacks step", "step ="),
        ('command = "STOP TIDEBOOK"\n', "", "lacks command", "command ="),
        ("[never_lifted]", "[[never_lifted]]", "must be a table", "[never_lifted]"),
        ("[never_lifted]", "[never_liftde]", 'did you mean "never_lifted"', "[never_lifted]"),
    ],
)  # fmt: skip
def test_each_mistake_in_never_lifted_is_reported_on_its_line(old, new, said, write):
    assert old in LIFTED
    found = [m for m in mistakes_in(with_lifted(LIFTED.replace(old, new))) if m.file == "machine.toml"]
    assert [(said in m.what, write in m.write_instead) for m in found] == [(True, True)]


def test_a_step_of_the_tidy_up_can_not_be_permitted():
    tidy_up = '[[tidy_up]]\nname = "halt"\nat = ["one-operator"]\ntype = "HALT"\n'
    tidy_up += 'until = ["starter"]\nwithin = "30 s"\n'
    lifted = LIFTED.replace("stop-tidebook", "halt").replace('"STOP TIDEBOOK"', '"HALT"')
    files = with_lifted(lifted, never="HALTED")
    closing = files["closing.toml"].decode().replace("tidy_up = []", "").encode() + tidy_up.encode()
    found = mistakes_in({**files, "closing.toml": closing})
    assert any("a step of the tidy-up, which runs whatever happened" in m.what for m in found)
    assert any('fits "HALT", which must never be typed' in m.what for m in found)


# -- BREAK


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("machine.toml", 'cancel = "control X"\nreturn', 'cancel = "break"\nreturn'),
        ("machine.toml", 'return = "return"', 'return = "BREAK"'),
        ("machine.toml", '[keys]', '[keys]\nspace = "long break"'),
        ("machine.toml", '[keys]', '[keys]\nspace = "control break"'),
        ("machine.toml", '[keys]', '[keys]\nbreak = "control C"'),
        ("round.toml", 'press = "space"', 'press = "break"'),
        ("round.toml", 'press = "space"', 'break = "250 ms"'),
        ("round.toml", 'press = "space"', 'press = "space"\nsend_break = true'),
        ("round.toml", 'type = "LOG"', 'type = "{break}"'),
        ("round.toml", 'type = "LOG"', 'type = "LOG{break: 250 ms}"'),
    ],
)  # fmt: skip
def test_a_break_is_refused_however_it_is_written(file, old, new):
    text = FILES[file].decode()
    line = text[: text.index(old)].count("\n") + 1
    found = mistakes_in({**FILES, file: text.replace(old, new, 1).encode()})
    here = [m for m in found if m.file == file and line <= m.line <= line + 1]
    assert any("a script can't send BREAK" in m.what and m.write_instead for m in here), found


def test_nothing_in_the_program_could_send_a_break():
    # pyserial's names for it, and the one of POSIX (termios.h).
    sends_break = re.compile(r"send_?break|break_condition|tcsendbreak|TIOCSBRK", re.IGNORECASE)
    sources = sorted((ROOT / "exhibit").rglob("*.py"))
    assert len(sources) > 100
    assert [path.name for path in sources if sends_break.search(path.read_text("utf-8"))] == []


def test_breakfast_is_not_a_break():
    text = (
        FILES["machine.toml"].decode().replace('space = "space"', 'space = "space"\nbreakfast = "control B"')
    )
    assert mistakes_in({**FILES, "machine.toml": text.encode()}) == []


def test_none_of_our_own_commands_fits_never_whatever_is_filled_in():
    for folder in sorted(path.parent for path in (ROOT / "scripts").glob("*/machine.toml")):
        read = read_folder(folder)
        steps = [s for script in read.scripts.values() for s in (*script.steps, *script.tidy_up)]
        commands = {step.command for step in steps if hasattr(step, "command")}
        filled = {PLACE.sub(figure, command) for command in commands for figure in ("1", "250", "1973")}
        beginnings = {c[:n] for c in filled for n in range(1, len(c) + 1)}
        fitting = itertools.product(read.machine.never, beginnings)
        assert [(never.text, text) for never, text in fitting if never.match(text) is not None] == []
        assert re.search("[A-Za-z]", "".join(commands))


@pytest.mark.parametrize(
    ("file", "more"),
    [
        ("machine.toml", '\n[keys]\nbreak = "control A"\n'),
        ("machine.toml", '\n[keys]\nlong-break = "space"\n'),
        ("round.toml", '\n[[step]]\nbreak = "250 ms"\n'),
        ("round.toml", '\n[[step]]\nat = "ready"\nbreak = true\nuntil = "ready"\n'),
        ("round.toml", '\n[[step]]\nat = "ready"\npress = "break"\nuntil = "ready"\n'),
    ],
)
def test_a_break_is_one_mistake_and_brings_no_other(file, more):
    files = read_files(ROOT / "scripts/heron")
    (found,) = mistakes_in({**files, file: files[file] + more.encode()})
    assert "a script can't send BREAK" in found.what
