"""A machine's folder is read, or refused with all its mistakes, their lines and what to write."""

import datetime
import hashlib
import itertools
import os
import re
import shutil
import tomllib
from pathlib import Path

import pytest

from exhibit.decisions.machine.script import HandsOn, PressKey, TypeCommand
from exhibit.facts.errors import ScriptError, SetUpFault
from exhibit.folder.reading.languages import GROUPS, SECTIONS
from exhibit.folder.reading.mistakes import FolderMistakes
from exhibit.folder.reading.scripts import STEP_KINDS
from exhibit.folder.reading.story import TRIGGERS
from exhibit.folder.reading.visitors.plots import OWN_WORDS
from exhibit.folder.report.findings import Checked, check_report
from exhibit.folder.whole import folder_from, read_folder
from tests.folder.folder_writing import FILES, ROOT, WHIMBREL, keys_of, mistakes_in, with_edit

pytestmark = pytest.mark.pure

FOLDERS = sorted(path.parent for path in (ROOT / "scripts").glob("*/machine.toml"))
HANDBOOK = (ROOT / "docs/whimbrel.md").read_text("utf-8")


# -- folders in order ------------------------------------------------------------------------------


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_each_folder_that_we_ship_is_in_order(folder):
    read = read_folder(folder)
    assert read.machine.name == folder.name
    assert {"opening", "round", "closing"} <= set(read.scripts)
    (line,) = check_report(Checked(folder, datetime.date(2026, 11, 25)), 200)
    steps = sum(len(script.steps) + len(script.tidy_up) for script in read.scripts.values())
    assert "is in order" in line
    captions = f"{len(read.captions)} captions" if len(read.captions) > 1 else "a caption"
    assert f"{len(read.scripts)} scripts with {steps} steps, {captions} in English" in line


def test_what_is_read_is_what_the_files_say():
    folder = read_folder(WHIMBREL)
    machine = folder.machine
    assert machine.line.baud == 2400
    assert machine.line.char_us == pytest.approx(4166.67, abs=0.01)  # ten bits at 2400 baud
    assert machine.typing.adapter_latency_us == 16_000
    assert machine.settle_us() == int(6 * machine.line.char_us + 16_000)
    assert machine.typing.cancel == b"\x18"
    assert machine.typing.return_key == b"\r"
    assert machine.typing.window == 1
    assert machine.typing.show_again == b"\x0e"
    assert machine.keys == {"space": b" ", "cancel": b"\x18"}
    assert machine.title["en"] == "The Whimbrel, an invented tide computer (1973)"
    assert list(machine.parts) == ["processor", "small-drive", "upper-drive", "lower-drive", "console"]
    assert machine.packs["sallow-1"].may_be_written is False
    assert machine.packs["sallow-2"].drive == "lower-drive"
    board = machine.displays[0]
    assert (board.ends_at, board.ends_after_quiet_us) == ((24, 1), None)
    assert [(r.first_row, r.last_row) for r in board.readings if r.name == "jobs"] == [(8, 15)]
    assert folder.rest_us == 20_000_000
    _, first, *_ = folder.scripts["opening"].steps
    assert isinstance(first, HandsOn)
    assert first.within_us == 600_000_000
    assert first.words["en"].startswith("Turn the key")
    stop = next(step for step in folder.scripts["round"].tidy_up if step.name == "stop-shuttle")
    assert isinstance(stop, TypeCommand)
    assert stop.command == "STOP {begin-shuttle.job}"
    let_go = folder.scripts["round"].tidy_up[0]
    assert isinstance(let_go, PressKey)
    assert let_go.at == ()
    assert folder.simulated_docent["opening"]["press-start"] == ("switches 14000200", "press start")


@pytest.mark.parametrize(("line", "times"), [("", 0), ("goes_on_after_loss = 2\n", 2)])
def test_how_often_the_rounds_go_on_after_a_loss_may_be_said_and_is_never_otherwise(line, times):
    day = re.sub(rb"goes_on_after_loss = .*\n", line.encode(), FILES["day.toml"])
    assert folder_from({**FILES, "day.toml": day}, "whimbrel").goes_on_after_loss == times


@pytest.mark.parametrize(("line", "within_us"), [("", 5_000_000), ('answer_within = "8 s"\n', 8_000_000)])
def test_how_long_an_answer_may_take_before_the_machine_counts_as_silent_may_be_said(line, within_us):
    machine = re.sub(rb"answer_within = .*\n", b"", FILES["machine.toml"])
    machine = machine.replace(b"[typing]\n", b"[typing]\n" + line.encode())
    read = folder_from({**FILES, "machine.toml": machine}, "whimbrel")
    assert read.machine.typing.answer_within_us == within_us


@pytest.mark.parametrize(("value", "rest_us"), [("7 s", 7_000_000), ("3 min", 180_000_000)])
def test_the_rest_between_two_rounds_is_that_of_day_toml(value, rest_us):
    day = FILES["day.toml"].replace(b'rest = "20 s"', f'rest = "{value}"'.encode())
    assert folder_from({**FILES, "day.toml": day}, "whimbrel").rest_us == rest_us


def test_the_folder_knows_the_digest_of_each_of_its_files():
    digests = read_folder(WHIMBREL).digests
    assert set(digests) == {
        path.relative_to(WHIMBREL).as_posix() for kind in ("*.toml", "*.md") for path in WHIMBREL.rglob(kind)
    }
    assert (
        digests["captions/en.toml"]
        == hashlib.sha256((WHIMBREL / "captions/en.toml").read_bytes()).hexdigest()
    )


def test_another_language_is_read_beside_the_first():
    german = (
        FILES["captions/en.toml"].replace(b'tag = "en"', b'tag = "de"').replace(b'"English"', b'"Deutsch"')
    )
    folder = folder_from({**FILES, "captions/de.toml": german}, "whimbrel")
    assert folder.machine.languages == {"en": "English", "de": "Deutsch"}
    assert all(set(caption.words) == {"en", "de"} for caption in folder.captions)


def test_an_attended_script_is_any_other_file_with_a_script_table():
    copying = b"""
tidy_up = []
[script]
within = "5 min"
late = "stop"
[[step]]
name = "list"
at = "one-operator"
type = "DRIVES"
until = "one-operator"
within = "30 s"
"""
    words = {
        name: FILES[name].replace(b"[scripts]", b'[scripts]\npack-check = "Checking the packs"')
        for name in ("captions/en.toml", "captions/de.toml")
    }
    folder = folder_from({**FILES, "pack-check.toml": copying, **words}, "whimbrel")
    assert folder.scripts["pack-check"].title["en"] == "Checking the packs"
    assert folder.scripts["pack-check"].steps[0].at == ("one-operator",)


def keys_of_our_own(name: str) -> set[str]:
    """Return the keys of a file that are not names chosen by its author."""
    by_name = {"prompts", "lines", "interruptions", "displays", "troubles", "calendars", "packs", "parts"}
    by_name |= {"landmarks", "begins", "ways", "exercisers", "tell_tales", "plots", "loads"}
    words = set(SECTIONS) if "/" in name else {"keys", "who_may"}
    groups = set(GROUPS) if "/" in name else set()
    found = set()
    for path in keys_of(tomllib.loads(FILES[name].decode())):
        chosen = len(path) > 1 and path[0] in words
        chosen |= len(path) == 2 and path[0] in by_name
        chosen |= len(path) == 4 and path[2] == "readings"
        chosen |= len(path) == 3 and path[:2] in (("switches", "keys"), ("switches", "lamps"))
        # Of a plot's words some names are those of its marks, which are lines.
        chosen |= len(path) > 1 and path[0] in groups and path[-1] not in OWN_WORDS
        found |= set() if chosen or isinstance(path[-1], int) else {path[-1]}
    return found


def test_docs_folder_md_mentions_every_key_that_a_file_can_have():
    documented = set(re.findall(r"[`\[.](\w+)", (ROOT / "docs/folder.md").read_text("utf-8")))
    keys = {"if_at", "blank_lines", "ends", "tidy_up", *TRIGGERS, *itertools.chain(*STEP_KINDS.values())}
    for name in ("machine.toml", "home.toml", "round.toml", "story.toml", "day.toml", "captions/en.toml"):
        keys |= keys_of_our_own(name)
    assert len(keys) > 80
    assert keys - documented == set()


# -- the Whimbrel's files against its handbook -------------------------------------------------------


def handbook_lines() -> list[str]:
    """Return what the machine prints in the handbook's dialogues and its picture of the board."""
    blocks = re.findall(r"```(?:dialogue|screen)\n(.*?)```", HANDBOOK, re.DOTALL)
    lines = [re.sub(r"\{[^}]*\}", "", line).strip() for block in blocks for line in block.splitlines()]
    # Questions and answers that come only in special cases are in the handbook's text.
    return lines + re.findall(r"`([^`\n]+)`", HANDBOOK)


def test_every_line_and_prompt_of_the_whimbrel_is_one_that_its_handbook_shows():
    machine = read_folder(WHIMBREL).machine
    lines = handbook_lines()
    untold = [
        known.name
        for known in (*machine.prompts, *machine.lines)
        if all(known.pattern.match(line) is None for line in lines)
    ]
    # The log's lines are in no dialogue; the simulator's tests print them.
    assert untold == ["log-entry-mended", "log-entry-lost", "log-empty"]


def test_every_reading_of_the_board_is_read_off_the_handbooks_picture():
    (picture,) = re.findall(r"```screen\n(.*?)```", HANDBOOK, re.DOTALL)
    rows = picture.splitlines()
    (board,) = read_folder(WHIMBREL).machine.displays
    assert board.title.match(rows[board.title_row - 1])
    for reading in board.readings:
        fitting = [reading.pattern.match(row) for row in rows[reading.first_row - 1 : reading.last_row]]
        assert any(fitting), reading.name
    values = {r.name: r.pattern.match(rows[r.first_row - 1]) for r in board.readings if r.kind == "number"}
    assert {name: found["value"] for name, found in values.items()} == {
        "load": "100",
        "jobs-going": "3",
        "small-transfers": "1",
        "upper-transfers": "12",
        "lower-transfers": "122",
        "disc-errors": "0",
    }


def test_the_calendars_hold_the_years_that_the_handbook_gives():
    calendars = read_folder(WHIMBREL).machine.calendars
    for name, sentence in (("starter", "THE STARTER HOLDS"), ("tidebook", "TIDEBOOK HOLDS")):
        (years,) = set(re.findall(rf"^{sentence} (\d+) TO (\d+)", HANDBOOK, re.MULTILINE))
        assert (calendars[name].earliest, calendars[name].latest) == tuple(map(int, years))


@pytest.mark.parametrize(("calendar", "caption"), [("starter", "day-set"), ("tidebook", "date-believed")])
def test_the_captions_say_what_the_machine_believes_and_why(calendar, caption):
    folder = read_folder(WHIMBREL)
    (shown,) = [one for one in folder.captions if one.name == caption]
    known = (*folder.machine.prompts, *folder.machine.lines)
    believed = next(one.pattern for one in known if one.name == shown.trigger.when)
    for words in shown.words.values():
        # What it believes is what it printed; why is the last year that it holds.
        assert set(re.findall(r"\{(\w+)\}", words)) <= set(believed.fields)
        assert "{year}" in words or "{date}" in words
        assert re.findall(r"[0-9]{4}", words) == [f"{folder.machine.calendars[calendar].latest}"]


def test_the_story_has_enough_to_tell_and_names_its_written_sources():
    folder = read_folder(WHIMBREL)
    assert len(folder.captions) >= 30
    assert {caption.kind for caption in folder.captions} == {"seen", "look or listen for", "background"}
    assert all(
        "handbook" in caption.source["en"] for caption in folder.captions if caption.kind == "background"
    )


# -- all mistakes at once ----------------------------------------------------------------------------

PLANTED = [
    ("machine.toml", 'baud = "2400 baud"', 'baud = "2400"', 'baud = "2400 baud"'),
    ("machine.toml", "data_bits = 8", "data_bits = 9", "data_bits = 7 or 8"),
    ("machine.toml", 'cancel = "control X"\nreturn', 'cancel = "ctrl X"\nreturn', '"control X"'),
    ("machine.toml", "rows = 24", "row = 24", "rows = 24"),
    ("machine.toml", 'line = "STARTER:"', 'line = "{...}"', "a place such as"),
    ("machine.toml", 'frame_ends = "row 24 column 1"', 'frame_ends = "400 ms"', '"quiet 400 ms"'),
    ("machine.toml", 'drive = "upper-drive"', 'drive = "uper-drive"', "upper-drive"),
    ("opening.toml", 'within = "90 s"', 'within = "90 sec"', 'within = "90 s"'),
    ("opening.toml", 'wait = ["lower-ready"]', 'wait = ["lower-redy"]', '"lower-ready"'),
    ("opening.toml", 'type = "{date: starter}"', 'type = "{date: starters}"', "{date: starter}"),
    ("opening.toml", 'pack = "sallow-2"', 'pack = "sallow-3"', "one of: sallow-1, sallow-2"),
    ("round.toml", 'read = "board"', 'read = "bord"', '"board"'),
    ("round.toml", "{begin-sums.job}", "{begin-sums.jobs}", "{begin-sums.job}"),
    ("round.toml", 'press = "space"', 'press = "spac"', '"space"'),
    ("closing.toml", 'hands_on = "stop-upper"', 'hands_on = "stop-uper"', 'hands_on = "stop-upper"'),
    ("closing.toml", 'caution = "mains"', 'causion = "mains"', 'caution = "'),
    ("story.toml", 'kind = "look or listen for"', 'kind = "look"', "kind = "),
    ("story.toml", 'when = "core-sound"', 'when = "core-sounds"', '"core-sound"'),
    (
        "story.toml",
        'step_started = "round.read-about-tides"',
        'step_started = "round.tides"',
        "one of: ",
    ),
    ("story.toml", 'change = "rises"', 'change = "rose"', "change = "),
    ("day.toml", 'rest = "20 s"', 'rest = "soon"', "a number, a space and a unit"),
    ("captions/en.toml", "small-ready = ", "small-redy = ", "small-ready"),
    ("captions/en.toml", "{weekday}", "{day of week}", "{weekday}"),
    ("captions/en.toml", 'key-off = "', 'key-off = "  " # "', "key-off = "),
    ("simulated-docent.toml", 'stop-small = ["stop small"]', 'stop-smal = ["stop small"]', "stop-small = "),
]


def test_many_mistakes_in_all_files_are_all_found_in_one_run():
    files = {name: content.decode() for name, content in FILES.items()}
    for name, old, new, _ in PLANTED:
        assert old in files[name], f"{name} no longer has {old!r}"
        files[name] = files[name].replace(old, new, 1)
    found = mistakes_in({name: text.encode() for name, text in files.items()})
    lost = []
    for name, _, new, write in PLANTED:
        line = files[name][: files[name].index(new)].count("\n") + 1
        here = [m for m in found if (m.file, m.line) == (name, line) and write in m.write_instead]
        lost += [] if here else [(name, line, new, [m for m in found if m.file == name and m.line == line])]
    assert lost == []
    assert found == sorted(found)


def test_the_error_says_where_the_first_is_and_how_to_see_them_all():
    files, line = with_edit("closing.toml", 'within = "30 s"', 'within = "30"')
    with pytest.raises(FolderMistakes) as caught:
        folder_from(files, "scripts/whimbrel")
    assert isinstance(caught.value, ScriptError)
    assert f"has a mistake. The first is in closing.toml, line {line}:" in caught.value.what
    assert '"30 s"' in caught.value.do
    assert "`exhibit check scripts/whimbrel`" in caught.value.do


def test_the_report_gives_each_mistake_a_line_with_its_place_and_what_to_write(tmp_path):
    folder = tmp_path / "whimbrel"
    shutil.copytree(WHIMBREL, folder)
    day = FILES["day.toml"].decode()
    limits = day[day.index("[limits]") :]
    (folder / "day.toml").write_text(f'[rounds]\nrest = "20"\n\n[other]\n{limits}', "utf-8")
    (folder / "closing.toml").write_text((folder / "closing.toml").read_text().replace('"45 min"', '"45"'))
    assert check_report(Checked(folder), 66) == [
        'closing.toml:6: within: "45" does not say its unit.',
        '    Write: within = "45 s" if seconds are meant (or ms, min, h)',
        "",
        'day.toml:2: rest: "20" does not say its unit.',
        '    Write: rest = "20 s" if seconds are meant (or ms, min, h)',
        'day.toml:4: there is no key "other" at the top of this file.',
        "    Write: one of: rounds, limits, languages, hours, recordings",
    ]
    assert max(map(len, check_report(Checked(folder), 50))) <= 50


# -- files that can't be read ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        (b'[rounds]\nrest = "20 s\n', 2, "not TOML"),
        (b'[rounds]\n\nrest "20 s"\n', 3, "not TOML"),
        (b'[rounds]\nrest = [\n"20 s"\n', 3, "not TOML"),
        (b'[rounds]\nrest = "20 s"\nrest = "20 s"\n', 3, "not TOML"),
        (b'[rounds]\nrest = """20 s\n\n', 2, "not TOML"),
        (b'[rounds]\n# caf\xe9\nrest = "20 s"\n', 2, "not UTF-8"),
        (b'\xef\xbb\xbf[rounds]\nrest = "20 s"\n', 1, "byte order mark"),
        (b"a = " + b"[" * 5000 + b"]" * 5000, 1, "too deeply"),
        (b"# " + b"x" * 250_001, 1, "more than 250,000 bytes"),
    ],
)
def test_a_file_that_is_no_toml_is_reported_and_the_others_are_still_checked(text, line, said):
    files, in_round = with_edit("round.toml", 'within = "30 s"', 'within = "30"')
    found = mistakes_in({**files, "day.toml": text})
    assert [(m.file, m.line) for m in found] == [("day.toml", line), ("round.toml", in_round)]
    assert said in found[0].what


@pytest.mark.parametrize("name", [name for name in FILES if name != "simulated-docent.toml"])
def test_a_broken_file_causes_no_further_mistakes(name):
    found = mistakes_in({**FILES, name: b"this is = not = TOML"})
    assert [(m.file, m.line) for m in found] == [(name, 1)]


@pytest.mark.parametrize(
    "name", ["machine.toml", "opening.toml", "round.toml", "closing.toml", "story.toml", "day.toml"]
)
def test_a_file_that_is_missing_is_named(name):
    found = mistakes_in({n: content for n, content in FILES.items() if n != name})
    missing = [m for m in found if (m.file, m.line) == (name, 1)]
    assert missing
    assert "missing" in missing[0].what


def test_a_folder_without_a_language_is_one_mistake():
    found = mistakes_in({n: content for n, content in FILES.items() if not n.startswith("captions/")})
    assert [m.file for m in found] == ["captions/en.toml"]


def test_an_unknown_file_is_reported_with_the_name_that_was_meant():
    renamed = {("openning.toml" if name == "opening.toml" else name): text for name, text in FILES.items()}
    assert any(m.file == "opening.toml" and "openning.toml" in m.write_instead for m in mistakes_in(renamed))
    (found,) = mistakes_in({**FILES, "days.toml": b'[rounds]\nrest = "20 s"\n'})
    assert (found.file, found.line) == ("days.toml", 1)
    assert "day.toml" in found.write_instead
    (found,) = mistakes_in({**FILES, "Pack Copy.toml": b"[script]\n"})
    assert "can't have this name" in found.what


def test_a_folder_that_does_not_exist_is_reported_in_one_sentence(tmp_path):
    (tmp_path / "whimbrel").mkdir()
    with pytest.raises(SetUpFault) as caught:
        read_folder(tmp_path / "wimbrel")
    assert "There is no folder" in caught.value.what
    assert f"Did you mean {tmp_path / 'whimbrel'}?" in caught.value.do
    (tmp_path / "file").write_text("")
    with pytest.raises(SetUpFault, match="is a file, not a folder"):
        read_folder(tmp_path / "file")


def test_an_empty_folder_lacks_every_required_file(tmp_path):
    with pytest.raises(FolderMistakes) as caught:
        read_folder(tmp_path)
    assert {m.file for m in caught.value.mistakes} == {
        *(
            name
            for name in FILES
            if name not in ("simulated-docent.toml", "captions/de.toml", "home.toml", "packs.toml")
            and name not in ("story.toml", "day.toml", "screens.toml")
        )
    }


def test_a_file_that_can_not_be_read_is_reported_in_one_sentence(tmp_path, monkeypatch):
    folder = tmp_path / "whimbrel"
    shutil.copytree(WHIMBREL, folder)
    open_file = os.open

    def closed(path: Path, *more: int) -> int:  # root, as whom tests may run, can read any file
        if Path(path).name == "day.toml":
            raise PermissionError(13, "Permission denied", str(path))
        return open_file(path, *more)

    monkeypatch.setattr(os, "open", closed)
    with pytest.raises(SetUpFault, match=r"day.toml can't be read: Permission denied"):
        read_folder(folder)


# -- impossible values, and files that don't fit each other ------------------------------------------


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        # machine.toml
        ("machine.toml", 'eighth_bit = "drop"', 'eighth_bit = "parity"', "7 bits with a parity"),
        ("machine.toml", 'title_row = 1\n', 'title_row = 25\n', "must be from 1 to 24"),
        ("machine.toml", '"row 24 column 1"', '"row 25 column 1"', "24 rows of 80 columns"),
        ("machine.toml", 'rows = "8 to 15"', 'rows = "8 to 25"', "only 24 rows"),
        ("machine.toml", 'rows = "8 to 15"', 'rows = "15 to 8"', "not a range of rows"),
        ("machine.toml", 'ERRORS {value: number}"', 'ERRORS {errors: number}"', "named value"),
        ("machine.toml", 'ERRORS {value: number}"', 'ERRORS {value: one word}"', "named value"),
        ("machine.toml", 'rows = "5"', 'rows = "5 to 6"', "takes one row"),
        ("machine.toml", "latest = 1989", "latest = 1969", "before the earliest"),
        ("machine.toml", 'year = "stand-in"', 'year = "fixed 1999"', "1999 is not between the earliest"),
        ("machine.toml", '"{day of year} {year}"', '"{day of the year} {year}"', "part of a date"),
        ("machine.toml", '"{day of year} {year}"', '"60 1973"', "part of a date"),
        ("machine.toml", '    "HALT",', '    "HALT{",', "there is a single brace"),
        ("machine.toml", "tab_columns = 8", "tab_columns = true", "must be a whole number"),
        ("machine.toml", "window = 1", "window = 0", "must be from 1 to 8"),
        ("machine.toml", "window = 1", "window = 9", "must be from 1 to 8"),
        ("machine.toml", 'show_again = "control N"', 'show_again = "control X"', "cancels or ends the line"),
        ("machine.toml", 'show_again = "control N"', 'show_again = "return"', "cancels or ends the line"),
        ("machine.toml", 'show_again = "control N"', 'show_again = "R"', "become part of the line"),
        ("machine.toml", 'held_for = "60 s"', 'held_for = "60"', "held_for"),
        ("machine.toml", 'held_for = "60 s"', 'held_fro = "60 s"', "did you mean"),
        # scripts
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP {sure-to-stop.job}"', "no earlier step"),
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP {sure-to-close.job}"', "no number named"),
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP {read-about-closing.job}"', "waits for no line"),
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP {job}"', "not a place for a date or a number"),
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP TIDEBOOK {"', "has no partner"),
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP TIDEBOOK "', "without a space at either end"),
        ("closing.toml", '"STOP TIDEBOOK"', '"STOP TIDEBÖÖK"', "has no key for"),
        ("closing.toml", 'type = "STOP TIDEBOOK"', 'type = ""', "is empty"),
        ("closing.toml", 'type = "STOP TIDEBOOK"', f'type = "{"X" * 81}"', "81 characters long"),
        ("closing.toml", 'at = ["word-for-keeper"]', 'at = ["no-desk"]', "does not ask for a secret"),
        ("closing.toml", 'at = ["desk-keeper"]', 'at = ["word-for-keeper"]', "asks for a secret"),
        ("closing.toml", 'at = ["desk-keeper"]', 'at = ["office-closed"]', "no prompt or display is named"),
        ("closing.toml", 'at = ["desk-keeper"]', "at = []", "is empty"),
        ("closing.toml", 'within = "2 min"', 'within = "50 min"', "longer limit than the whole script"),
        ("closing.toml", 'name = "stop-upper"', 'name = "stop-tidebook"', "is already named"),
        ("closing.toml", 'name = "stop-upper"', 'name = "Stop Upper"', "can't be a name"),
        ("round.toml", 'pause = "5 s"', 'read = "board"\nwait = "no-desk"', "one thing"),
        ("opening.toml", 'caption = "invented"', 'caption = "office-open"', "already appears by"),
        # story
        ("story.toml", 'part = "processor"', 'part = "procesor"', "no part is named"),
        ("story.toml", 'reading = "board.load"', 'reading = "board.jobs"', "is a table"),
        ("story.toml", 'reading = "board.load"', 'reading = "board.lode"', "no reading"),
        ("story.toml", '"opening.start-lower"', '"opening.say-the-day"', "not a step that a person confirms"),
        ("story.toml", '"round.read-about-tides"', '"tides"', "is not the name of a step"),
        ("story.toml", '"round.read-about-tides"', '"rounds.read-about-tides"', "no script is named"),
        ("story.toml", 'when = "core-sound"', 'given = "by a step"\nwhen = "core-sound"', "one thing"),
        # words
        ("captions/en.toml", "{words: number} places", "{words places", "has no partner"),
        ("captions/en.toml", "{words: number} places", "{memory: number} places", "no field {memory}"),
        ("captions/en.toml", 'key-off = "The', 'key-off = "{step} The', "no field {step}"),
        ("captions/en.toml", 'tag = "en"', 'tag = "de"', "the file is named en.toml"),
        ("captions/en.toml", 'rules = "This', 'rules = "\\u0007This', "can't be shown"),
        ("captions/en.toml", 'stop-lower = "Stop', 'stop-lower = "{now} Stop', "shown exactly as they are"),
        ("simulated-docent.toml", '["press start"]', "[]", "is empty"),
    ],
)  # fmt: skip
def test_each_impossible_value_is_reported_once_on_its_line(file, old, new, said):
    if file == "simulated-docent.toml":
        old = 'press-start = ["switches {start}", "press start"]'
        new = "press-start = []"
    files, line = with_edit(file, old, new)
    found = mistakes_in(files)
    ours = [m for m in found if said in m.what]
    assert [m.file for m in ours] == [file]
    assert ours[0].line == line
    assert ours[0].write_instead
    # Anything else found is that what the old text named or used is now missing or unused.
    echoes = (
        "never used",
        "no step shows",
        "the script",
        "simulated-docent.toml",
        "in [closing]",
        "[closing] lacks",
        "not a step that a person confirms",
    )
    assert all(any(echo in m.what for echo in echoes) for m in found if m not in ours), found


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("opening.toml", 'caption = "invented"', 'pause = "1 s"', 'no step shows the caption "invented"'),
        ("captions/en.toml", "[captions]", '[captions]\nspare = "Nobody sees this."', '"spare"'),
        ("captions/en.toml", "[hands_on]", '[hands_on]\nspare = "Nobody does this."', '"spare"'),
        ("captions/en.toml", "[cautions]", '[cautions]\nspare = "Nobody reads this."', '"spare"'),
        ("captions/en.toml", "[parts]", '[parts]\nspare = "Nobody looks at this."', '"spare"'),
        ("captions/en.toml", "[scripts]", '[scripts]\nspare = "Nobody runs this."', '"spare"'),
        ("captions/en.toml", "[sources]", '[sources]\ncore-sound = "Nobody names this."', '"core-sound"'),
    ],
)  # fmt: skip
def test_captions_and_words_that_nobody_uses_are_mistakes(file, old, new, said):
    files, _ = with_edit(file, old, new)
    assert [said in m.what for m in mistakes_in(files)] == [True]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("opening.toml", 'at = ["starter"]', 'at = [""]'),
        ("opening.toml", 'until = ["starter"]', 'until = ["starter", " "]'),
        ("opening.toml", 'until = ["starter"]', 'until = ""'),
        ("machine.toml", '"WIPE {...}"', '"WIPE {...}", ""'),
        ("machine.toml", 'started = ["', 'started = ["", "'),
        ("home.toml", 'at = ["signed-out"]', 'at = ["", "signed-out"]'),
        ("simulated-docent.toml", '["stop small"]', '["stop small", ""]'),
    ],
)
def test_an_empty_text_in_a_list_is_one_mistake_on_its_line(file, old, new):
    files, line = with_edit(file, old, new)
    found = [m for m in mistakes_in(files) if m.file == file and m.line == line]
    assert ["is empty" in m.what for m in found] == [True]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("opening.toml", 'at = ["starter"]', "at = 5"),
        ("opening.toml", 'until = ["starter"]', "until = [5]"),
        ("opening.toml", 'wait = ["lower-ready"]', "wait = 5"),
        ("machine.toml", 'ends = ["lower-ready"]', "ends = [5]"),
        ("machine.toml", "ended = [", "ended = 5 # ["),
        ("machine.toml", 'at = ["starter"', 'at = 5 # ["starter"'),
        ("home.toml", 'at = ["signed-out"]', "at = 5"),
        ("simulated-docent.toml", '["stop small"]', "[5]"),
        ("day.toml", 'order = ["en", "de"]', "order = 5"),
    ],
)
def test_a_list_that_can_not_be_read_is_one_mistake(file, old, new):
    files, line = with_edit(file, old, new)
    assert [(m.file, m.line) for m in mistakes_in(files)] == [(file, line)]


@pytest.mark.parametrize("new", ['at = ["startre"', 'att = ["starter"', 'at = [] # ["starter"'])
def test_a_mistake_in_a_landmark_is_not_reported_again_at_its_prompts(new):
    files, line = with_edit("machine.toml", 'at = ["starter"', new)
    assert [(m.file, m.line) for m in mistakes_in(files)] == [("machine.toml", line)]


def test_prompts_and_lines_that_nothing_uses_are_no_mistake():
    unused = (
        b'\n[lines.unused]\nline = "NOBODY WAITS"\n[prompts.unused-too]\nline = "FOR:"\nkind = "command"\n'
        b'[landmarks.elsewhere]\nat = ["unused-too"]\n'
    )
    assert mistakes_in({**FILES, "machine.toml": FILES["machine.toml"] + unused}) == []


def test_a_line_without_flow_control_can_not_block_typing():
    files, _ = with_edit("machine.toml", 'flow = "xon/xoff"', 'flow = "none"')
    (found,) = mistakes_in(files)
    assert "no flow control" in found.what
    assert 'held_for = "60 s"' in FILES["machine.toml"].decode().splitlines()[found.line - 1]


def test_one_name_cannot_be_both_a_prompt_and_a_line():
    twice = b'\n[lines.starter]\nline = "STARTER"\n'
    (found,) = mistakes_in({**FILES, "machine.toml": FILES["machine.toml"] + twice})
    assert found.line == FILES["machine.toml"].count(b"\n") + 2
    assert "already the name" in found.what


def test_words_that_one_language_lacks_are_reported_in_its_file():
    german = (
        FILES["captions/en.toml"]
        .replace(b'tag = "en"', b'tag = "de"')
        .replace(b"[captions]\nwhat-it-is-for", b"[captions]\nx")
    )
    found = mistakes_in({**FILES, "captions/de.toml": german})
    assert {m.file for m in found} == {"captions/de.toml"}
    header = german[: german.index(b"[captions]")].count(b"\n") + 1
    assert [(m.line, 'lacks words for "what-it-is-for"' in m.what) for m in found if "lacks" in m.what] == [
        (header, True)
    ]


def test_nothing_is_done_by_hand_in_a_tidy_up():
    by_hand = (
        b'\n[[tidy_up]]\nname = "by-hand"\nhands_on = "stop-small"\ncaution = "spinning"\nwithin = "1 min"\n'
    )
    found = mistakes_in({**FILES, "round.toml": FILES["round.toml"] + by_hand})
    line = FILES["round.toml"].count(b"\n") + 4
    assert [(m.line, "done by hand" in m.what) for m in found] == [(line, True)]


def test_a_key_can_be_pressed_anywhere_only_in_a_tidy_up_or_with_if_at():
    files, line = with_edit("round.toml", 'at = ["board"]\npress = "space"', 'at = []\npress = "space"')
    (found,) = mistakes_in(files)
    assert (found.file, found.line, found.what) == ("round.toml", line, "at is empty")
    assert "if_at = []" in found.write_instead
    offered, _ = with_edit("round.toml", 'at = ["board"]\npress = "space"', 'if_at = []\npress = "space"')
    assert "is empty" not in " ".join(mistake.what for mistake in mistakes_in(offered))
    files, _ = with_edit("round.toml", 'at = ["desk-tides"]', "at = []")
    (found,) = [mistake for mistake in mistakes_in(files) if mistake.what == "at is empty"]
    assert found.write_instead == 'at = ["starter"]'


def test_missing_words_are_to_be_added_and_no_other_step_is_proposed():
    """The proposal for a step that switches on must never be one that switches off."""
    files = {
        name: content.replace(b'"press-start"', b'"switch-on"')
        .replace(b'"stop-small"', b'"switch-off"')
        .replace(b"\nstop-small = ", b"\nswitch-off = ")
        for name, content in FILES.items()
    }
    files = {
        name: re.sub(rb"\npress-start = .*", b"", content) if name.startswith("captions/") else content
        for name, content in files.items()
    }
    found = mistakes_in(files)
    assert [m.file for m in found if '"switch-on"' in m.what] == ["opening.toml"]
    (write,) = [m.write_instead for m in found if '"switch-on"' in m.what]
    assert write == 'switch-on = "..." under [hands_on] in captions/en.toml and captions/de.toml'
    assert not [m for m in found if "switch-off" in m.write_instead]


@pytest.mark.parametrize(
    ("file", "old", "new", "write"),
    [
        ("machine.toml", 'held_for = "60 s"', "held_for = 45", 'held_for = "45 s"'),
        ("machine.toml", 'held_for = "60 s"', 'held_fro = "45 s"', 'held_for = "45 s"'),
        ("machine.toml", "window = 1", "windwo = 2", "window = 2"),
        ("machine.toml", "tab_columns = 8", 'tab_colums = "8"', "tab_columns = 8"),
        ("closing.toml", 'within = "2 min"', "within = 10", 'within = "10 s"'),
    ],
)
def test_a_proposal_keeps_the_number_in_the_file(file, old, new, write):
    text = FILES[file].decode()
    assert old in text
    found = mistakes_in({**FILES, file: text.replace(old, new, 1).encode()})
    assert write in [mistake.write_instead for mistake in found]


@pytest.mark.parametrize(
    ("old", "new", "write"),
    [
        ("\nsmall-ready = ", "\nsmall-redy = ", '"small-ready"'),
        ("[troubles.wrong-word]", "[troubles.wrong-wrod]", "[troubles.wrong-word]"),
    ],
)
def test_misspelt_words_are_reported_once_and_not_as_missing_too(old, new, write):
    files, line = with_edit("captions/en.toml", old, new)
    line += old.count("\n")
    assert [(m.file, m.line, m.write_instead) for m in mistakes_in(files)] == [
        ("captions/en.toml", line, write)
    ]
