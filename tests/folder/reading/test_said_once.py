"""What the program can know is written nowhere, and what several tables have in common is written once."""

import pytest

from exhibit.decisions.machine.script import PressKey, Wait
from exhibit.folder.files import read_files
from exhibit.folder.report.explained import DEFAULT, file_lines
from exhibit.folder.whole import examine, folder_from
from tests.folder.folder_writing import ROOT, mistakes_in

POSIX = read_files(ROOT / "scripts/posix")
HERON = read_files(ROOT / "scripts/heron")


def changed(file: str, old: str, new: str, files: dict[str, bytes] = POSIX) -> dict[str, bytes]:
    text = files[file].decode()
    assert text.count(old) == 1, (file, old)
    return {**files, file: text.replace(old, new).encode()}


def explained(file: str, files: dict[str, bytes] = POSIX) -> list[str]:
    return file_lines(examine(files).tables[file])


# -- what a group has in common ----------------------------------------------------------------------


def test_what_all_tables_of_a_group_have_in_common_is_written_once_and_its_own_key_wins():
    files = changed(
        "machine.toml", 'disc-load.ended = ["', 'disc-load.longest = "4 min"\ndisc-load.ended = ["'
    )
    disc, processor = folder_from(files, "posix").machine.exercisers
    assert (disc.longest_us, processor.longest_us) == (240_000_000, 600_000_000)
    assert disc.refused == processor.refused == ("no-more-jobs",)
    lines = explained("machine.toml", files)
    at = lines.index("[exercisers.processor-load]")
    assert f'longest = "10 min"{DEFAULT}' in lines[at : at + 14]


@pytest.mark.parametrize(
    ("old", "new", "near"),
    [
        ('refused = ["no-more-jobs"]', 'refusd = ["no-more-jobs"]', "refused"),
        ('longest = "10 min"', 'longst = "10 min"', "longest"),
    ],
)
def test_a_misspelt_key_of_a_group_is_found(old, new, near):
    files = changed("machine.toml", old, new)
    (found,) = mistakes_in(files)
    key = new.partition(" ")[0]
    assert found.what == f'there is no key "{key}" in [exercisers]; did you mean "{near}"?'
    assert files["machine.toml"].decode().splitlines()[found.line - 1] == new
    assert found.write_instead == old


def test_a_wrong_value_that_is_written_once_is_one_mistake():
    files = changed("machine.toml", 'refused = ["no-more-jobs"]', 'refused = ["no-more-job"]')
    (found,) = mistakes_in(files)
    assert files["machine.toml"].decode().splitlines()[found.line - 1] == 'refused = ["no-more-job"]'


def test_a_trouble_can_be_named_like_a_key_of_its_group():
    more = 'do.line = "DO WHAT?"\ndo.words = "It did not understand."\ndo.do = "Call the workshop."\n'
    files = changed("machine.toml", 'do = "Start nothing', f'{more}# do = "Start nothing')
    assert {mistake.what for mistake in mistakes_in(files)} == {
        "[troubles.disc-full] lacks do",
        "[troubles.no-more-jobs] lacks do",
    }


# -- short forms -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("short", "lines", "blank_lines", "ends"),
    [
        ('"MESSAGE {...}"', 1, 0, None),
        ('["MESSAGE {...}", "END"]', 0, 0, "END"),
        ('["MESSAGE {...}", ""]', 0, 1, None),
        ('["MESSAGE {...}", "", ""]', 0, 2, None),
    ],
)
def test_an_interruption_can_be_its_first_line_and_what_ends_it(short, lines, blank_lines, ends):
    files = {
        **HERON,
        "machine.toml": HERON["machine.toml"] + f"\n[interruptions]\nmessage = {short}\n".encode(),
    }
    (read,) = folder_from(files, "heron").machine.interruptions
    assert (read.starts.text, read.lines, read.blank_lines) == ("MESSAGE {...}", lines, blank_lines)
    assert (read.ends.text if read.ends else None) == ends


@pytest.mark.parametrize("short", ["[]", '["MESSAGE {...}"]', '["MESSAGE", "A", "B"]', "7"])
def test_a_list_that_is_no_interruption_is_one_mistake(short):
    more = f"\n[interruptions]\nmessage = {short}\n".encode()
    (found,) = mistakes_in({**HERON, "machine.toml": HERON["machine.toml"] + more})
    assert "must be a table" in found.what


def test_a_number_in_the_short_form_of_an_interruption_is_found_on_its_line():
    more = b'\n[interruptions]\nmessage = [\n  "MESSAGE {...}",\n  3,\n]\n'
    files = {**HERON, "machine.toml": HERON["machine.toml"] + more}
    (found,) = mistakes_in(files)
    assert files["machine.toml"].decode().splitlines()[found.line - 1].strip() == "3,"


def test_a_pattern_can_stand_in_place_of_the_line_that_says_an_exerciser_is_over():
    machine = folder_from(POSIX, "posix").machine
    assert machine.exercisers[0].ended == ("disc-load-ended", "disc-load-ended-2")
    lines = {line.name: line.pattern.text for line in machine.lines}
    assert lines["disc-load-ended-2"] == "{...}Terminated ( for i in{...}"
    (found,) = mistakes_in(
        changed("machine.toml", '["{...}Terminated (for i in{...}", "', '["{...} {...} {...} {x', POSIX)
    )
    assert found.file == "machine.toml"


def test_a_number_can_be_named_by_the_line_that_only_one_step_waits_for():
    tidy_up = folder_from(POSIX, "posix").scripts["round"].tidy_up
    commands = [step.command for step in tidy_up if hasattr(step, "command")]
    assert "rmdir /tmp/exhibit.{mkdir-tmp-exhibit-cd.number}" in commands
    leave = '[[tidy_up]]\ntype = "exit"'
    twice = changed("round.toml", leave, f'[[tidy_up]]\nwait = "place-made"\n\n{leave}')
    assert any("place-made" in mistake.what for mistake in mistakes_in(twice))


def test_captions_stand_beside_what_they_are_about():
    captions = {caption.name: caption for caption in folder_from(POSIX, "posix").captions}
    assert captions["load-rises"].trigger.reading == "processes.load"
    assert (captions["load-falls"].trigger.change, captions["load-falls"].part) == ("falls", "processor")
    assert (captions["password"].trigger.when, captions["password"].part) == ("password", "console")


@pytest.mark.parametrize(
    ("old", "new", "near"),
    [
        ("password.caption", "password.captoin", "caption"),
        ("load.rises", "load.risse", "rises"),
        ("load-average.part", "load-average.prat", "part"),
        ("load.part", "load.prt", "part"),
    ],
)
def test_a_misspelt_key_of_words_beside_is_one_mistake(old, new, near):
    (found,) = mistakes_in(changed("machine.toml", f"{old} =", f"{new} ="))
    assert f'did you mean "{near}"?' in found.what


def test_words_beside_are_refused_if_a_caption_has_the_same_name():
    more = b'[[caption]]\nname = "load-rises"\nwhen = "ready"\nwords = "It is ready now."\npart = "console"\n'
    found = mistakes_in({**POSIX, "story.toml": more})
    assert any('an earlier caption is already named "load-rises"' in mistake.what for mistake in found)


# -- steps -------------------------------------------------------------------------------------------


def test_a_step_that_starts_an_exerciser_is_named_after_it_waits_for_its_line_and_is_about_its_part():
    folder = folder_from(POSIX, "posix")
    steps = {step.name: step for step in folder.scripts["round"].steps}
    assert steps["begin-disc-load"].until == ("disc-load",)
    parts = {caption.name: caption.part for caption in folder.captions}
    assert parts["round-begin-disc-load"] == "disc"
    assert parts["round-kill"] == "processor"


def test_a_script_begins_at_home_and_the_opening_also_with_a_silent_machine():
    folder = folder_from(POSIX, "posix")
    first = next(step for step in folder.scripts["round"].steps if hasattr(step, "at"))
    assert first.at == ("login",)
    assert folder.way_home.begins == {"opening": ("silent", "login")}
    elsewhere = POSIX["home.toml"] + b'[begins]\nround = ["ready"]\n'
    assert any("lacks at" in mistake.what for mistake in mistakes_in({**POSIX, "home.toml": elsewhere}))


def test_an_opening_that_the_program_begins_has_no_default_for_where():
    waits = POSIX["opening.toml"].decode().replace("hands_on =", "# ").replace("caution =", "# ")
    waits = waits.replace("[[step]]\n", "", 1)
    way = folder_from({**POSIX, "opening.toml": waits.encode()}, "posix").way_home
    assert way.begins == {}


def test_a_wait_can_begin_with_the_nudge_where_nothing_known_is_showing():
    _, press, wait = folder_from(POSIX, "posix").scripts["opening"].steps
    assert (type(press), type(wait)) == (PressKey, Wait)
    assert (press.key, press.at, press.only_if_there, press.until) == ("return", (), True, ("login",))
    without = changed("opening.toml", "nudge = true\n", "")
    assert len(folder_from(without, "posix").scripts["opening"].steps) == 2


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("machine.toml", 'nudge = "return"\n', "", "names no key"),
        (
            "round.toml",
            '[[tidy_up]]\nat = "processes"',
            '[[tidy_up]]\nwait = "ready"\nnudge = true\n\n[[tidy_up]]\nat = "processes"',
            "in a tidy-up",
        ),
        ("opening.toml", "nudge = true", "nugde = true", 'did you mean "nudge"?'),
    ],
)
def test_a_nudge_that_cannot_be_typed_is_a_mistake(file, old, new, said):
    assert any(said in mistake.what for mistake in mistakes_in(changed(file, old, new)))


def test_a_command_before_a_secret_waits_for_its_prompt_and_one_before_a_display_for_that():
    steps = {step.name: step for step in folder_from(POSIX, "posix").scripts["round"].steps}
    assert steps["exhibit"].until == ("password",)
    assert steps["term-dumb-top-d"].until == ("processes", "ready")
    assert steps["press-q"].until == ("ready",)


def test_a_key_that_leaves_no_display_says_what_it_waits_for():
    press = '\n[[step]]\nat = "ready"\npress = "control C"\n'
    (found,) = mistakes_in({**HERON, "round.toml": HERON["round.toml"] + press.encode()})
    assert found.what == "this [[step]] lacks until"


def test_a_prompt_named_like_a_typed_secret_asks_for_one_and_no_other_is_guessed():
    prompts = {prompt.name: prompt.kind for prompt in folder_from(POSIX, "posix").machine.prompts}
    assert prompts["password"] == "secret"
    other = changed("round.toml", 'secret = "password"', 'at = "password"\nsecret = "night-word"')
    assert "[prompts.password] lacks kind" in [mistake.what for mistake in mistakes_in(other)]


def test_a_script_has_its_title_and_first_words_in_its_own_file():
    folder = folder_from(POSIX, "posix")
    assert folder.scripts["round"].title == {"en": "A visit to the computer"}
    assert folder.way_home.title == {"en": "Finding its way back"}
    assert folder.scripts["round"].steps[0].name == "show-the-computer-asks-who"
    (found,) = mistakes_in(changed("round.toml", "script.caption", "script.captoin"))
    assert 'did you mean "caption"?' in found.what
    (found,) = mistakes_in(changed("round.toml", "script.title", "script.titel"))
    assert 'did you mean "title"?' in found.what


# -- the machine -------------------------------------------------------------------------------------


def test_a_machine_with_status_displays_has_a_screen_and_otherwise_says_which_it_has():
    assert folder_from(POSIX, "posix").machine.display.kind == "screen"
    (found,) = mistakes_in(changed("machine.toml", 'kind = "paper"              # or "screen"\n', "", HERON))
    assert found.what == "[display] lacks kind"


def test_the_only_long_text_of_the_table_of_jobs_names_the_program():
    assert folder_from(POSIX, "posix").machine.now.job_name == "command"
    two = changed("machine.toml", "{user: one word} {priority", "{user: text} {priority")
    assert any("job_name" in mistake.what for mistake in mistakes_in(two))


@pytest.mark.parametrize(
    ("name", "shape"),
    [("lower-drive", "drive"), ("disc", "drive"), ("console", "desk"), ("disc-control", "cabinet")],
)
def test_the_shape_of_a_part_follows_from_its_name(name, shape):
    files = {**HERON, "machine.toml": HERON["machine.toml"] + f"\n[parts.{name}]\n".encode()}
    more = {**files, "story.toml": files["story.toml"] + b'part = "processor"\n'}
    assert folder_from(more, "heron").machine.drawn[name].shape == shape
