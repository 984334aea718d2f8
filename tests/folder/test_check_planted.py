"""`exhibit check` finds each of these planted mistakes on its line, one at a time and all of them in one run.

Each is planted in a copy of the Whimbrel's folder. The source of a figure is named where it is checked.
"""

import datetime
import re
import shutil
from pathlib import Path

import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.folder.report.findings import Checked, check_report
from tests.folder.folder_writing import ROOT

WHIMBREL = ROOT / "scripts" / "whimbrel"
TODAY = datetime.date(2026, 11, 25)
"""The date for which calendars are checked."""
MACHINE, OPENING, CLOSING = "machine.toml", "opening.toml", "closing.toml"


class Planted(msgspec.Struct, forbid_unknown_fields=True):
    """A mistake, as planted_mistakes.toml describes it."""

    name: str
    file: str
    old: str
    new: str
    said: str
    write: str
    where: str = ""
    advice: bool = False
    help: str = ""
    keys: str = ""
    exerciser: str = ""
    """The exerciser that `help` describes; each language gets words for stopping it by hand."""


PLANTED = msgspec.toml.decode(
    (Path(__file__).parent / "planted_mistakes.toml").read_bytes(), type=dict[str, list[Planted]]
)["planted"]


def plant(folder: Path, planted: list[Planted]) -> None:
    """Plant these mistakes, one after the other."""
    for one in planted:
        text = (folder / one.file).read_text("utf-8")
        assert one.old in text, f"{one.file} no longer has {one.old!r}"
        text = text.replace(one.old, one.new, 1) if one.old else text + one.new
        (folder / one.file).write_text(text, "utf-8")
        text = (folder / MACHINE).read_text("utf-8")
        text = text.replace("[keys]\n", f"[keys]\n{one.keys}\n", 1) if one.keys else text
        (folder / MACHINE).write_text(text + one.help, "utf-8")
        for words in sorted((folder / "captions").iterdir()) if one.exerciser else []:
            by_hand = f'[stop_by_hand]\n{one.exerciser} = "By hand."\n'
            words.write_text(words.read_text("utf-8").replace("[stop_by_hand]\n", by_hand, 1), "utf-8")


def line_of(folder: Path, one: Planted) -> tuple[str, int]:
    """Return the file and the line on which the mistake should be reported."""
    text = (folder / one.file).read_text("utf-8")
    at = 0
    for part in (one.where or one.new).split("§"):
        assert part in text[at:], f"{part!r} isn't in {one.file}"
        at = text.index(part, at)
    return one.file, text[:at].count("\n") + 1


def finds(checked: Checked, folder: Path, one: Planted) -> bool:
    """Whether the mistake is found on its line, with what to write."""
    found = checked.advice if one.advice else [*checked.mistakes, *checked.beyond]
    here = [m for m in found if (m.file, m.line) == line_of(folder, one)]
    return any(one.said in m.what and one.write in m.write_instead for m in here)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the Whimbrel's folder."""
    return shutil.copytree(WHIMBREL, tmp_path / "whimbrel")


def test_at_least_50_are_planted_each_with_a_name_of_its_own():
    assert len({one.name for one in PLANTED}) == len(PLANTED) >= 50


def test_nothing_is_found_in_the_folder_itself():
    checked = Checked(WHIMBREL, TODAY)
    assert (checked.mistakes, checked.beyond, checked.advice) == ([], [], [])


@pytest.mark.parametrize("one", PLANTED, ids=[one.name.replace(" ", "-") for one in PLANTED])
def test_each_planted_mistake_is_found(one, folder):
    plant(folder, [one])
    checked = Checked(folder, TODAY)
    all_found = [mistake.text() for mistake in [*checked.mistakes, *checked.beyond, *checked.advice]]
    assert finds(checked, folder, one), (line_of(folder, one), all_found)


def test_all_planted_mistakes_are_found_and_printed_in_one_run(folder):
    plant(folder, PLANTED)
    checked = Checked(folder, TODAY)
    lost = [one for one in PLANTED if not finds(checked, folder, one)]
    assert [one.name for one in lost] == []
    ran = CliRunner().invoke(main, ["check", f"{folder}"])
    assert ran.exit_code == 2
    said = " ".join(ran.stdout.split())
    for mistake in [*checked.mistakes, *checked.beyond, *checked.advice]:
        assert " ".join(f"{mistake.file}:{mistake.line}: {mistake.what}".split()) in said
    places = re.findall(r"^([a-z/.-]+):(\d+): ", ran.stdout.partition("Advice, which")[0], re.MULTILINE)
    assert len(places) == len(checked.mistakes) + len(checked.beyond)
    assert places == sorted(places, key=lambda place: (place[0], int(place[1])))


def test_a_step_may_wait_for_a_line_that_is_a_trouble_elsewhere(folder):
    """The trouble doesn't end the script there (docs/folder.md, [troubles])."""
    waits = {
        "file": "round.toml",
        "old": 'wait = ["followed-ended"]',
        "new": 'wait = ["followed-ended", "no-word"]',
    }
    known = '\n[lines.no-word]\nline = "THAT IS NOT THE WORD"\n'
    plant(folder, [Planted(name="", said="", write="", help=known, **waits)])
    assert Checked(folder, TODAY).mistakes == []


@pytest.mark.parametrize(
    ("file", "write"),
    [("caption/fr.toml", "captions/fr.toml"), ("background/jobs.md", "background/LANGUAGE")],
)
def test_a_file_that_nothing_reads_is_reported(folder, file, write):
    (folder / file).parent.mkdir(exist_ok=True)
    (folder / file).write_text("")
    (advice,) = Checked(folder, TODAY).advice
    assert (advice.file, advice.what) == (file, "no file in this place is ever read")
    assert write in advice.write_instead


def test_a_wait_in_vain_does_not_make_the_next_step_wait_in_vain(folder):
    plant(folder, [one for one in PLANTED if one.name == "a prompt that can't appear by itself"])
    assert len(Checked(folder, TODAY).mistakes) == 1


def test_an_exerciser_without_a_reason_gets_no_advice_that_quotes_it(folder):
    old, new = 'longest = "60 min"', 'longest = "none"'
    plant(folder, [Planted(name="", file=MACHINE, old=old, new=new, said="", write="")])
    checked = Checked(folder, TODAY)
    assert (len(checked.mistakes), checked.advice) == (1, [])


def test_the_minimum_time_of_a_step_is_that_of_its_characters_on_the_line(folder):
    # Ten bits a character: 240 characters a second at 2400 baud, 10 at 110 with two stop bits (start-stop
    # practice, ISO 1177:1985, and arithmetic). LOAD TIDEBOOK, RETURN, the 47 of the question, 6 to settle,
    # and the adapter's 16 ms.
    characters = len("LOAD TIDEBOOK") + 1 + len("FROM WHICH DRIVE, SMALL UPPER OR LOWER (UPPER)?") + 6
    for baud, stop_bits, a_second in ((2400, 1, 240), (110, 2, 10)):
        least_ms = characters / a_second * 1000 + 16
        text = (WHIMBREL / MACHINE).read_text("utf-8")
        text = text.replace("stop_bits = 1", f"stop_bits = {stop_bits}").replace("2400 baud", f"{baud} baud")
        (folder / MACHINE).write_text(text, "utf-8")
        for limit_ms, found in ((round(least_ms) - 1, True), (round(least_ms) + 1, False)):
            script = (WHIMBREL / OPENING).read_text("utf-8")
            old = 'type = "LOAD TIDEBOOK"\nuntil = ["load-from"]\nwithin = '
            assert old in script
            script = script.replace(f'{old}"30 s"', f'{old}"{limit_ms} ms"')
            (folder / OPENING).write_text(script, "utf-8")
            said = [m.what for m in Checked(folder).mistakes if "shortest answer" in m.what]
            assert bool(said) == found, (baud, limit_ms, said)


@pytest.mark.parametrize(("wrap", "refused"), [("true", False), ("false", True)])
@pytest.mark.parametrize(("more", "found"), [(13, False), (14, True)])
def test_a_command_past_the_right_edge_is_refused_if_the_display_does_not_wrap(
    folder, wrap, refused, more, found
):
    # A row has 80 characters, the prompt ONE OPERATOR: has 13, and the command 67 or 71.
    text = (folder / MACHINE).read_text("utf-8").replace("wrap = true", f"wrap = {wrap}")
    (folder / MACHINE).write_text(text, "utf-8")
    command = '"OPEN THE OFFICE'
    text = (folder / OPENING).read_text("utf-8").replace(command, command + " NOW" * more)
    (folder / OPENING).write_text(text, "utf-8")
    checked = Checked(folder, TODAY)
    said = [m.what for m in (checked.mistakes if refused else checked.advice)]
    assert [("room for 67 characters" in what) for what in said] == [True] * found


def test_many_steps_with_a_longer_limit_than_their_script_are_one_mistake(folder):
    text = (WHIMBREL / CLOSING).read_text("utf-8").replace('within = "45 min"', 'within = "25 s"')
    (folder / CLOSING).write_text(text, "utf-8")
    found = [m.what for m in Checked(folder).mistakes if "longer" in m.what]
    assert len(found) == 2
    assert re.match(r"\d+ steps have a longer limit than the whole script", found[0])
    assert found[1].startswith("the pauses")


@pytest.mark.parametrize(
    ("today", "rule", "said"),
    [
        (datetime.date(2026, 12, 30), "stand-in", []),
        (datetime.date(2026, 12, 31), "stand-in", ["from 2027-12-31 on", "tomorrow its year is 1972"]),
        (
            datetime.date(2028, 2, 1),
            "stand-in",
            ["today a person is asked", "Last year its date was in 1999"],
        ),
        (datetime.date(1998, 6, 1), "as it is", []),
        (datetime.date(1999, 6, 1), "as it is", ["from 2000-01-01 on", "the year doesn't fit"]),
        (
            datetime.date(2026, 6, 1),
            "as it is",
            ["today", "the year doesn't fit this calendar, which holds 1970 to 1999"],
        ),
        (datetime.date(2028, 2, 1), "fixed 1985", []),
        (datetime.date(2028, 2, 1), "ask", []),
    ],
)
def test_advice_on_a_calendar_comes_a_year_before_the_date_no_longer_fits(folder, today, rule, said):
    # The stand-in for 2027 is 1999, and that for 2028 is 1972 (references for this project, section 10).
    text = (folder / MACHINE).read_text("utf-8")
    (folder / MACHINE).write_text(
        text.replace('[calendars.tidebook]\nyear = "stand-in"', f'[calendars.tidebook]\nyear = "{rule}"'),
        "utf-8",
    )
    line = text[: text.index("[calendars.tidebook]")].count("\n") + 2
    found = [m for m in Checked(folder, today).advice if (m.file, m.line) == (MACHINE, line)]
    assert bool(found) == bool(said)
    assert all(part in found[0].what for part in said)


def test_a_folder_with_nothing_but_advice_is_in_order(folder):
    plant(folder, [one for one in PLANTED if one.advice])
    checked = Checked(folder, TODAY)
    assert checked.mistakes == []
    assert f"{folder} is in order" in " ".join(line.strip() for line in check_report(checked)[:3])
    ran = CliRunner().invoke(main, ["check", f"{folder}"])
    assert ran.exit_code == 0
    assert "Advice, which you can ignore:" in ran.stdout
