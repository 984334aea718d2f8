"""Defaults are safe, and follow from what is written beside them. What concerns safety has none."""

import pytest

from exhibit.folder.files import read_files
from exhibit.folder.whole import examine, folder_from
from tests.folder.folder_writing import FILES as WHIMBREL_FILES
from tests.folder.folder_writing import ROOT, mistakes_in

FILES = read_files(ROOT / "scripts/heron")


def changed(file: str, old: str, new: str) -> dict[str, bytes]:
    text = FILES[file].decode()
    assert text.count(old) == 1
    return {**FILES, file: text.replace(old, new).encode()}


def machine_with(old: str, new: str):
    return folder_from(changed("machine.toml", old, new), "heron").machine


@pytest.mark.parametrize(
    ("baud", "more", "stop_bits", "eighth_bit", "settle"),
    [
        ("110", "", 2, "drop", 6),
        ("1200", 'data_bits = 7\nparity = "even"\n', 1, "parity", 7),
        ("9600", "", 1, "drop", 60),
    ],
)
def test_the_line_follows_from_its_speed_and_parity(baud, more, stop_bits, eighth_bit, settle):
    machine = machine_with('baud = "1200 baud"\n', f'baud = "{baud} baud"\n{more}')
    assert (machine.line.stop_bits, machine.eighth_bit) == (stop_bits, eighth_bit)
    assert machine.typing.settle_characters == settle
    assert (machine.typing.window, machine.typing.nudge, machine.typing.show_again) == (1, b"", b"")


@pytest.mark.parametrize(
    ("file", "line", "lacks"),
    [
        ("machine.toml", 'cancel = "control X"\n', "[typing] lacks cancel"),
        ("machine.toml", 'commands = ["ERASE {...}"]\n', "[never] lacks commands"),
        ("captions/en.toml", 'mains_stop = "The red button beside the door"\n', "[site] lacks mains_stop"),
        ("captions/en.toml", 'keyholder = "The workshop, telephone 12"\n', "[site] lacks keyholder"),
        (
            "captions/en.toml",
            'rules = "Visitors stay behind the barrier, and no cover is opened"\n',
            "[site] lacks rules",
        ),
        ("round.toml", 'at = "ready"\n', "this [[step]] lacks at"),
    ],
)
def test_what_concerns_safety_is_required(file, line, lacks):
    text = FILES[file].decode()
    assert text.count(line) == 1 or line.startswith("cancel")
    (mistake,) = mistakes_in({**FILES, file: text.replace(line, "").encode()})
    assert mistake.what == lacks


@pytest.mark.parametrize("prompt", ["ERASE IT? (YES)", "PASSWORD:", "SECRET CODE:"])
def test_a_prompt_that_may_be_a_question_or_ask_for_a_secret_says_which(prompt):
    (mistake,) = mistakes_in(changed("machine.toml", 'line = "READY:"', f'line = "{prompt}"'))
    assert mistake.what == "[prompts.ready] lacks kind"


def test_without_an_echo_the_pause_after_each_character_is_required():
    old = 'cancel = "control X"\n'
    (mistake,) = mistakes_in(
        {
            **FILES,
            "machine.toml": FILES["machine.toml"].replace(old.encode(), old.encode() + b'echo = "none"\n'),
        }
    )
    assert mistake.what == "[typing] lacks pause_after"


def test_a_misspelt_parity_is_one_mistake():
    old = 'baud = "1200 baud"\n'
    more = 'data_bits = 7\nparity = "evn"\neighth_bit = "parity"\n'
    (mistake,) = mistakes_in(changed("machine.toml", old, old + more))
    assert mistake.write_instead == 'parity = "even"'


def test_steps_are_named_after_what_they_do_and_begin_where_the_one_before_ended():
    text = FILES["round.toml"] + b'\n[[step]]\ntype = ["ADD 1 1", "ADD 2 2"]\n\n[[step]]\ntype = "ADD 2 3"\n'
    steps = folder_from({**FILES, "round.toml": text}, "heron").scripts["round"].steps
    assert [step.name for step in steps] == ["add-2-3", "add-1-1", "add-2-2", "add-2-3-2"]
    assert {step.at for step in steps} == {("ready",)}
    assert [step.until for step in steps] == [("sum",), ("ready",), ("ready",), ("ready",)]
    assert {step.within_us for step in steps} == {60_000_000}


def test_after_something_done_by_hand_nobody_knows_what_is_showing():
    text = FILES["round.toml"] + b'\n[[step]]\nhands_on = "Look here."\ncaution = "Take care."\n'
    (mistake,) = mistakes_in({**FILES, "round.toml": text + b'\n[[step]]\ntype = "ADD 1 1"\n'})
    assert mistake.what == "this [[step]] lacks at"


def test_a_step_never_has_more_time_than_its_script():
    text = b'[script]\nwithin = "30 s"\n' + FILES["round.toml"]
    (step,) = folder_from({**FILES, "round.toml": text}, "heron").scripts["round"].steps
    assert step.within_us == 30_000_000


def test_words_beside_a_step_are_shown_with_the_line_that_only_it_waits_for_and_can_be_read():
    words = 'until = "sum"\ncaption = "The sum is {sum}, says the machine."'
    files = {name: text for name, text in changed("round.toml", 'until = "sum"', words).items()}
    del files["story.toml"]
    folder = folder_from(files, "heron")
    (caption,) = folder.captions
    assert (caption.trigger.when, caption.part, caption.kind) == ("sum", "processor", "seen")
    step, pause = folder.scripts["round"].steps
    assert (pause.name, pause.pause_us) == (f"read-{step.name}", 3_000_000)


def test_words_beside_what_they_are_for_are_refused_in_a_folder_of_two_languages():
    english = FILES["captions/en.toml"].decode()
    german = english + '[parts]\nprocessor = "Prozessor"\n[scripts]\nopening = "A"\nround = "B"\n'
    german += 'closing = "C"\n'
    day = b'[languages]\norder = ["en", "de"]\n'
    found = mistakes_in({**FILES, "captions/de.toml": german.encode(), "day.toml": day})
    assert any("only if the folder has one language" in mistake.what for mistake in found)


def test_exercisers_need_a_limit_that_somebody_has_thought_of():
    files = read_files(ROOT / "tests/folder/consoles/curlew")
    (missing,) = mistakes_in({name: text for name, text in files.items() if name != "day.toml"})
    assert "nothing limits the exercisers" in missing.what
    (lacking,) = mistakes_in({**files, "day.toml": b'[limits]\ncloses = "17:00"\n'})
    assert lacking.what == "[limits] lacks exercise_an_hour"


def test_the_way_home_can_be_the_tidy_up_of_a_script():
    way = folder_from(read_files(ROOT / "scripts/posix"), "posix").way_home
    assert {name: steps[0].until for name, steps in way.ways.items()} == {
        "processes": ("ready", "any-shell"),
        "password": ("login",),
        "any-shell": ("login",),
        "ready": ("login",),
    }


def test_a_key_can_be_pressed_by_what_it_is_but_not_one_that_the_line_keeps():
    press = '\n[[tidy_up]]\nat = "ready"\npress = "{}"\nuntil = "ready"\n'
    good = FILES["round.toml"] + press.format("control C").encode()
    assert folder_from({**FILES, "round.toml": good}, "heron").machine.keys == {"control C": b"\x03"}
    flow = changed("machine.toml", 'baud = "1200 baud"\n', 'baud = "1200 baud"\nflow = "xon/xoff"\n')
    bad = FILES["round.toml"] + press.format("control S").encode()
    (mistake,) = mistakes_in({**flow, "round.toml": bad})
    assert "flow control" in mistake.what


def test_an_empty_story_is_in_order():
    found = examine({**FILES, "story.toml": b""})
    assert [mistake.what for mistake in found.mistakes if not mistake.is_advice] == []


def test_an_empty_story_is_one_mistake_if_the_languages_have_words_for_captions():
    (found,) = examine({**WHIMBREL_FILES, "story.toml": b"# nothing yet\n"}).mistakes
    assert (found.file, found.line, found.is_advice) == ("story.toml", 1, False)
    assert found.what == "this file is empty, so no caption appears"
