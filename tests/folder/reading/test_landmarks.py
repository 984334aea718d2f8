"""What a landmark can say: a silence, the key that ends it, and how typing differs there."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from exhibit.decisions.machine.description import Machine, Silence
from exhibit.folder.report.findings import Checked
from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import FILES, mistakes_in, with_edit

pytestmark = pytest.mark.pure

STOPPED = "[landmarks.stopped]\n"


def machine_with(old: str, new: str) -> Machine:
    files, _ = with_edit("machine.toml", old, new)
    return folder_from(files, "the folder").machine


def found(old: str, new: str, where: str = "") -> str:
    """What is said about the edited line, and what to write instead."""
    files, line = with_edit("machine.toml", old, new)
    line += new[: new.index(where)].count("\n") if where else 0
    (one,) = [
        mistake for mistake in mistakes_in(files) if (mistake.file, mistake.line) == ("machine.toml", line)
    ]
    return f"{one.what}; {one.write_instead}"


def advice(tmp_path: Path, old: str, new: str) -> str:
    files, _ = with_edit("machine.toml", old, new)
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(text)
    return " ".join(one.what for one in Checked(tmp_path, date(2026, 11, 29)).advice)


def test_a_landmark_may_be_a_silence_with_or_without_a_key_that_ends_it():
    machine = machine_with(
        STOPPED,
        f'[landmarks.off]\nsilent = true\n[landmarks.asleep]\nsilent = true\nwake = "control G"\n{STOPPED}',
    )
    assert machine.silences == (Silence(landmark="off"), Silence(landmark="asleep", wake=b"\x07"))
    assert machine.landmarks["off"] == machine.landmarks["asleep"] == ()


@pytest.mark.parametrize(
    ("new", "where", "said"),
    [
        ("silent = true\n[landmarks.b]\nsilent = true\n", "[landmarks.b]", "nobody can tell the two apart"),
        ('silent = true\nwake = "x"\n', "wake", "types a character"),
        ('silent = true\nat = ["no-desk"]\n', "at", "can't be recognised by what it prints"),
        ('silent = true\nnudge = "return"\n', "nudge", "nothing is typed at a landmark at which"),
        ("silent = false\n", "silent", "no sign by which it is recognised"),
        ('silent = true\nwake = "control Q"\n', "wake", "uses it for flow control"),
    ],
)
def test_a_silence_that_makes_no_sense_is_a_mistake(new, where, said):
    assert said in found(STOPPED, f"[landmarks.a]\n{new}\n{STOPPED}", where)


def test_a_key_that_wakes_needs_a_silence():
    new = 'at = ["one-operator"]\nwake = "return"'
    assert "only a landmark with silent = true" in found('at = ["one-operator"]', new, "wake")


def test_no_way_home_is_written_for_a_machine_that_the_program_wakes_itself():
    files, _ = with_edit(
        "machine.toml", STOPPED, f'[landmarks.asleep]\nsilent = true\nwake = "return"\n{STOPPED}'
    )
    home = files["home.toml"].decode().replace("[[ways.single-user]]", "[[ways.asleep]]")
    found = mistakes_in({**files, "home.toml": home.encode()})
    assert any("never followed" in mistake.what for mistake in found)


def test_no_script_begins_at_a_landmark_from_which_the_program_wakes_the_machine():
    new = f'[landmarks.asleep]\nsilent = true\nwake = "return"\n{STOPPED}'
    files, _ = with_edit("machine.toml", STOPPED, new)
    home = files["home.toml"].decode().replace('opening = ["silent"]', 'opening = ["asleep"]')
    (found,) = mistakes_in({**files, "home.toml": home.encode()})
    assert 'nothing begins at "asleep"' in found.what


def test_typing_can_differ_at_a_landmark_and_is_as_usual_in_everything_else():
    machine = machine_with(
        'at = ["one-operator"]',
        'at = ["one-operator"]\ncancel = "rubout"\nnudge = "none"\necho = "none"\n'
        'folds_to = "as typed"\nwindow = 3\n'
        'return = "escape"\npause_after = "20 ms"\nshow_again = "none"\necho_within = "9 s"',
    )
    usual, there = machine.typing, machine.typing_for("one-operator")
    assert machine.typing_for("no-desk") == usual
    assert (there.cancel, there.nudge, there.echo, there.folds_to) == (b"\x7f", b"", "none", "as typed")
    assert (there.window, there.return_key, there.pause_after_us, there.show_again) == (
        3,
        b"\x1b",
        20_000,
        b"",
    )
    assert machine.longest_echo_us == there.echo_within_us == 9_000_000
    assert there.settle_characters == usual.settle_characters


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ('cancel = "return"', "would execute a half-typed command"),
        ('cancel = "control Q"', "uses it for flow control"),
        ('show_again = "control X"', "so it can't show it again"),
        ('nudge = "x"', "the beginning of a command"),
        ('echo = "half"', "echo can't be"),
        ('cancel = "none"\nafter_cancel = "nothing"', "there is no cancel key"),
    ],
)
def test_keys_of_a_landmark_are_held_to_the_same_rules(new, said):
    new = f'at = ["one-operator"]\n{new}'
    assert said in found('at = ["one-operator"]', new, new.splitlines()[-1])


def test_a_machine_may_have_no_cancel_key_or_one_that_brings_no_prompt(tmp_path):
    assert machine_with('cancel = "control X"\nreturn', 'cancel = "none"\nreturn').typing.cancel == b""
    new = 'cancel = "control X"\nafter_cancel = "nothing"\nreturn'
    assert machine_with('cancel = "control X"\nreturn', new).typing.after_cancel == "nothing"
    assert "a person is asked" not in advice(tmp_path, 'cancel = "control X"\nreturn', new)
    here = 'at = ["one-operator"]\nshow_again = "none"\nafter_cancel = "nothing"'
    assert "a person is asked" in advice(tmp_path, 'at = ["one-operator"]', here)


def test_a_display_can_have_a_key_that_has_it_painted_anew():
    frame_ends = 'frame_ends = "row 24 column 1"'
    assert (
        machine_with(frame_ends, f'{frame_ends}\npaint_again = "control L"').displays[0].paint_again
        == b"\x0c"
    )
    assert "types a character" in found(frame_ends, f'{frame_ends}\npaint_again = "x"', "paint_again")


def test_a_machine_may_end_its_lines_with_a_carriage_return_alone():
    assert folder_from(FILES, "the folder").machine.display.line_end == "line feed"
    new = 'form_feed = "ignore"\nline_end = "return"'
    assert machine_with('form_feed = "ignore"', new).display.line_end == "return"


# -- rows of printed tables

HEADING = "[lines.starter-heading]\n"
ROW = '[lines.row]\nline = "{{job: {kind}}} {{minutes: number}}"\nbelow = "{below}"\n\n'


def test_a_row_of_figures_is_named_by_its_places_alone_below_a_heading():
    row = ROW.format(kind="number", below="day-set")
    line = next(line for line in machine_with(HEADING, row + HEADING).lines if line.name == "row")
    assert (line.below, line.pattern.fields) == ("day-set", ("job", "minutes"))


def test_a_row_needs_two_numbers_and_a_heading_that_is_a_line():
    word = ROW.format(kind="word", below="day-set")
    assert "at least two numbers" in found(HEADING, word + HEADING, "line =")
    nowhere = ROW.format(kind="number", below="nowhere")
    assert 'is named "nowhere"' in found(HEADING, nowhere + HEADING, "below")
    itself = ROW.format(kind="number", below="row")
    assert 'is named "row"' in found(HEADING, itself + HEADING, "below")
    bare = ROW.format(kind="number", below="day-set").replace('below = "day-set"\n', "")
    assert "no text of its own" in found(HEADING, bare + HEADING, "line =")


def test_a_row_is_no_landmark():
    row = ROW.format(kind="number", below="day-set")
    files, _ = with_edit("machine.toml", HEADING, row + HEADING)
    text = (
        files["machine.toml"]
        .decode()
        .replace('at = ["tidebook-stopped"]', 'at = ["tidebook-stopped", "row"]')
    )
    assert any(
        'is named "row"' in mistake.what for mistake in mistakes_in({**files, "machine.toml": text.encode()})
    )


# -- what can't be told apart


def test_two_prompts_or_displays_that_one_text_can_fit_are_pointed_out(tmp_path):
    prompt = '[prompts.other]\nline = "ONE {what: word}:"\nkind = "command"\n\n'
    both = '[prompts.other]\nline = "{what: word} OPERATOR:"\nkind = "command"\n\n'
    here = "[prompts.one-operator]\n"
    one = advice(tmp_path, here, prompt.replace("ONE", "OPERATORONE") + here)
    assert "the same line can fit" not in one
    two = advice(tmp_path, here, both.replace("OPERATOR:", "OPERATOR{n: number}:") + here)
    assert "the same line can fit" not in two
    equal = '[prompts.other]\nline = "{what: word} AAAAAAAAAA:"\nkind = "command"\n\n'
    other = '[prompts.another]\nline = "BBBBBBBBBB {what: word}"\nkind = "command"\n\n'
    assert "the same line can fit" in advice(
        tmp_path, here, equal + other.replace("{what: word}", "{what: word}:") + here
    )
    display = (
        '[displays.other]\ntitle_row = 1\ntitle = "TIDEBOOK {...} TIME {time: word} UP {b: word} BOARD"\n'
    )
    display += 'frame_ends = "row 24 column 1"\n[displays.other.readings]\n\n'
    said = advice(tmp_path, "[displays.board]\n", display + "[displays.board]\n")
    assert "nothing tells them apart" in said


def test_a_prompt_that_is_more_particular_is_found_even_behind_a_looser_one():
    looser = '[prompts.some-question]\nline = "{word: word} {...} (YES)?"\nkind = "question"\n\n'
    files, _ = with_edit("machine.toml", "[prompts.date-right]", looser + "[prompts.date-right]")
    assert all("never recognised" not in mistake.what for mistake in mistakes_in(files))
