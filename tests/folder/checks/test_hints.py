"""Advice on patterns that overlap, and on prompts and landmarks that nothing uses; none where all is used."""

import pytest

from exhibit.folder.files import read_files
from exhibit.folder.whole import examine
from tests.folder.folder_writing import FILES, ROOT

HERON = read_files(ROOT / "scripts/heron")


def advice_in(files: dict[str, bytes]) -> list[tuple[str, int, str]]:
    found = examine(files).mistakes
    assert [one.text() for one in found if not one.is_advice] == []
    return [(one.file, one.line, one.what) for one in found]


def heron_with(more: str) -> tuple[dict[str, bytes], int]:
    """Return the Heron's files with more in machine.toml, and the number of lines before it."""
    before = HERON["machine.toml"] + b"\n"
    return {**HERON, "machine.toml": before + more.encode()}, before.count(b"\n")


def trouble(name: str, line: str) -> str:
    return f'[troubles.{name}]\nline = "{line}"\nwords = "Something is wrong."\ndo = "Call the workshop."\n'


def test_of_two_troubles_the_one_that_always_raises_the_other_is_pointed_out():
    files, before = heron_with(trouble("any", "DRIVE {...}") + trouble("hot", "DRIVE {drive: number} HOT"))
    (said,) = advice_in(files)
    assert said == (
        "machine.toml",
        before + 6,
        'whatever fits "hot" also fits "any", so such a line raises both',
    )


@pytest.mark.parametrize("line", ["DRIVE {drive: number} HOT", "DRIVE HOT {...}"])
def test_troubles_that_differ_are_left_alone(line):
    files, _ = heron_with(trouble("cold", "DRIVE {drive: number} COLD") + trouble("hot", line))
    assert advice_in(files) == []


def test_a_trouble_on_a_display_or_of_blocked_typing_overlaps_with_nothing():
    machine = FILES["machine.toml"].decode()
    more = trouble("any", "{...}MISSING").replace("words", 'display = "board"\nrows = "20"\nwords')
    language = 'words = "Something is wrong."\ndo = "Call the workshop."\n'
    more = more.replace(language, 'caution = "none"\nsafe_to_leave = "yes"\ncall = "nobody"\n')
    words = {
        name: FILES[name] + f"\n[troubles.any]\n{language}".encode() for name in FILES if "captions/" in name
    }
    assert advice_in({**FILES, **words, "machine.toml": f"{machine}\n{more}".encode()}) == []


def test_an_interruption_that_an_earlier_one_always_takes_is_pointed_out():
    general, particular = '[interruptions.{}]\nstarts = "MESSAGE {{...}}"\n', "[interruptions.{}]\n"
    particular += 'starts = "MESSAGE FROM {{name: one word}}"\n'
    files, before = heron_with(general.format("any") + particular.format("sent"))
    ((_, line, what),) = advice_in(files)
    assert (line, what) == (
        before + 4,
        'the interruption "sent" is never recognised, but taken for "any", which comes first',
    )
    files, _ = heron_with(particular.format("sent") + general.format("any"))
    assert advice_in(files) == []


def test_a_prompt_that_nothing_uses_is_pointed_out_and_one_that_a_step_waits_for_is_not():
    files, before = heron_with('[prompts.loader]\nline = "LOADER:"\n')
    ((_, line, what),) = advice_in(files)
    assert (line, what) == (
        before + 1,
        'nothing uses the prompt "loader": no step, caption, tell-tale or gloss names it',
    )
    waiting = HERON["opening.toml"].replace(b'wait = "ready"', b'wait = ["ready", "loader"]')
    assert advice_in({**files, "opening.toml": waiting}) == []


@pytest.mark.parametrize(
    ("file", "more"),
    [
        ("story.toml", '[[caption]]\nwhen = "loader"\nwords = "It loads its program."\n'),
        ("captions/en.toml", '[glosses]\nloader = "the program that loads others"\n'),
    ],
)
def test_a_prompt_that_words_are_about_is_used(file, more):
    files, _ = heron_with('[prompts.loader]\nline = "LOADER:"\n')
    assert advice_in({**files, file: files[file] + b"\n" + more.encode()}) == []


def test_a_prompt_with_words_of_its_own_is_used():
    files, _ = heron_with('[prompts.loader]\nline = "LOADER:"\ncaption = "It loads its program."\n')
    assert advice_in(files) == []


def test_a_landmark_is_pointed_out_if_no_way_leads_from_it_and_no_script_goes_there():
    more = '[landmarks.loader]\nat = ["loader"]\n\n[prompts.loader]\nline = "LOADER:"\n'
    text = FILES["machine.toml"].decode() + "\n" + more
    line = text[: text.index("[landmarks.loader]")].count("\n") + 1
    ((file, where, what),) = advice_in({**FILES, "machine.toml": text.encode()})
    assert (file, where) == ("machine.toml", line)
    assert what == 'no way home leads from the landmark "loader", and no script goes there'
    way = '\n[[ways.loader]]\nname = "leave-the-loader"\nat = ["loader"]\ntype = "LEAVE"\n'
    way += 'until = ["starter"]\nwithin = "30 s"\n'
    reached = {**FILES, "machine.toml": text.encode(), "home.toml": FILES["home.toml"] + way.encode()}
    assert advice_in(reached) == []


def test_a_landmark_to_which_a_script_goes_is_reached():
    more = '[landmarks.loader]\nat = ["loader"]\n\n[prompts.loader]\nline = "LOADER:"\n'
    step = '\n[[step]]\nname = "see-the-loader"\nwait = ["loader"]\nwithin = "30 s"\n'
    machine = FILES["machine.toml"] + b"\n" + more.encode()
    found = advice_in(
        {**FILES, "machine.toml": machine, "closing.toml": FILES["closing.toml"] + step.encode()}
    )
    assert not any("loader" in what for _, _, what in found)
