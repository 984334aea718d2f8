"""docs/whimbrel.md is true: its dialogues are played, its figures compared with the code."""

import msgspec
import pytest

from exhibit.simulator import disc, keyboard, processor, truth
from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.disc import BIG, SMALL
from exhibit.simulator.tidebook import desks, jobs, programs
from tests.simulator.handbook import HANDBOOK, Act, Printed, Typed, blocks, parts_of, table
from tests.simulator.workbench import Paper24x80, at_desk, records

LONG_US = 300_000_000


def play(bench: Bench, dialogue: str) -> None:
    """Do what the dialogue says is done, and hold the machine to what it says is printed."""
    for part in parts_of(dialogue):
        match part:
            case Act(text):
                assert bench.act(text).startswith("done: "), text
            case Typed(text, secret):
                bench.send(text.encode() + b"\r")
                expect(bench, ("" if secret else text) + "\r\n")
            case Printed(text):
                expect(bench, text)


def expect(bench: Bench, text: str) -> None:
    came, end_us = "", bench.now_us + LONG_US
    while len(came) < len(text) and text.startswith(came) and bench.now_us < end_us:
        came += bench.step(end_us)
    assert came == text


def test_the_dialogues_of_the_handbook_are_one_day_that_the_machine_really_has():
    bench = Bench()
    for block in blocks("dialogue"):
        play(bench, block)
    bench.run(60)
    assert bench.machine.place == "off"
    assert [record.place for record in records(bench, truth.PlaceEntered)] == [
        "lasting store",
        "starter",
        "tidebook",
        "one operator",
        "open",
        "one operator",
        "stopped",
        "off",
    ]


def test_a_changed_word_in_a_dialogue_is_found():
    bench = Bench()
    with pytest.raises(AssertionError):
        play(bench, blocks("dialogue")[0].replace("CORE 65536", "CORE 65535"))


def test_the_board_in_the_handbook_is_what_the_machine_paints():
    bench = at_desk()
    for command in ("BEGIN SHUTTLE LOWER", "BEGIN SUMS", "BEGIN TIDES"):
        bench.command(command, "DESK TIDES: ")
    bench.command("BOARD", "\r\n")
    screen = Paper24x80()
    for _ in range(3):
        screen.feed(bench.until("\x1b[24;1H"))
    shown = "\n".join(screen.text())
    foot = "ANY KEY PUTS THE BOARD AWAY"
    assert screen.text()[19] == foot
    assert shown.replace(foot, "").rstrip("\n") + "\n" == blocks("screen")[0]


def test_the_drives_figures_are_the_codes():
    figures = dict(table("figure"))
    assert (
        figures["small drive"] == f"{SMALL.rpm} rpm, {SMALL.tracks} tracks, {SMALL.sectors} sectors a track"
    )
    assert figures["big drives"] == f"{BIG.rpm} rpm, {BIG.tracks} tracks, {BIG.sectors} sectors a track"
    assert figures["time slice"] == f"{processor.SLICE_US // 1000} ms"
    for name, drive in (("small drive", SMALL), ("big drives", BIG)):
        row = next(cells for cells in table("drive") if cells[0] == name)
        seeks = [f"{tracks}: {us / 1000:g} ms" for tracks, us in drive.seek_us]
        assert [cell for cell in row[1:] if cell] == seeks
    text = " ".join(HANDBOOK.read_text(encoding="utf-8").split())
    assert f"small drive is up to speed {SMALL.up_us // 1_000_000} s after" in text
    assert f"a big drive after {BIG.up_us // 1_000_000} s" in text
    assert f"{SMALL.down_us // 1_000_000} s and {BIG.down_us // 1_000_000} s after they are stopped" in text
    assert f"at most {['no', 'one', 'two', 'three'][disc.MOST_RETRIES]} times" in text


def test_the_keyboards_figures_are_the_codes():
    text = " ".join(HANDBOOK.read_text(encoding="utf-8").split())
    assert f"up to {keyboard.TYPE_AHEAD_CHARS} characters typed before" in text
    assert f"When more than {keyboard.XOFF_ABOVE_CHARS} characters wait, the machine sends XOFF" in text
    assert f"when only {keyboard.XON_AT_CHARS} do, it sends XON" in text
    assert f"AGAIN ({keyboard.SHOW_AGAIN:02X})" in text
    assert f"CANCEL ({keyboard.CANCEL:02X})" in text
    assert f"**Longest line:** {keyboard.LONGEST_LINE_CHARS} characters" in text
    assert f"Passes 1 to {programs.MOST_PASSES}, minutes 1 to {programs.MOST_MINUTES}." in text
    assert f"At most {jobs.MOST_JOBS} jobs go on at once" in text
    assert f"`CANNOT: {jobs.MOST_JOBS} JOBS GO ON ALREADY`" in text
    assert Options().baud == 2400
    assert "2400 baud" in text


def test_the_desks_and_their_words_are_those_that_the_machine_takes():
    assert {row[0]: row[1] for row in table("desk")} == desks.WORDS


def test_every_kind_of_truth_record_is_described():
    kinds = {info.__name__ for info in truth.Record.__subclasses__()}
    assert {row[0] for row in table("kind")} == kinds


def test_every_field_named_for_a_kind_of_truth_record_is_one():
    for kind, what in table("kind"):
        fields = {field.encode_name for field in msgspec.structs.fields(getattr(truth, kind))}
        named = {
            word.strip("`") for word in what.split() for word in [word.strip(",:;.()")] if word[:1] == "`"
        }
        assert named <= fields | {"at_us"}, kind


@pytest.mark.parametrize("acts", [row[0] for row in table("act")])
def test_every_act_of_the_handbook_is_understood_by_the_machine(acts):
    for act in acts.split(", "):
        answer = Bench().act(act.strip("`").replace("...", "none"))
        assert "there is no act" not in answer
        assert "there is no fault" not in answer


def test_an_act_that_is_in_no_handbook_is_refused_and_says_where_acts_are_listed():
    assert Bench().act("kick it") == "refused: there is no act 'kick it'; help lists them"


def test_help_is_answered_by_a_list_and_not_by_a_deed():
    bench = Bench()
    listed = bench.act("help").splitlines()
    assert len(listed) > 5
    assert listed[0] == "key on | key off | key lock"
    assert not any(isinstance(record, truth.ActDone) for record in bench.machine.truth.records)
