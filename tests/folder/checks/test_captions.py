"""`exhibit check` checks captions against published limits.

What just keeps a limit is accepted; what just exceeds it is reported, with the limit and its source.
"""

import re

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.folder.checks.captions import CaptionMistakes, check_captions
from exhibit.folder.files import read_files
from exhibit.folder.reading.caption_limits import LIMITS
from exhibit.folder.report.findings import Checked, check_folder
from exhibit.folder.whole import folder_from, read_folder
from tests.folder.folder_writing import ROOT, mistakes_in

WHIMBREL = ROOT / "scripts" / "whimbrel"
FILES = read_files(WHIMBREL)
ENGLISH = "captions/en.toml"
NO_PAUSE, WITH_PAUSE = "log-empty", "why-tides"


def files_with(caption: str, words: str, *, limits: str = "", **edits: tuple[str, str]) -> dict[str, bytes]:
    """Return the Whimbrel's files with other words in one caption, and perhaps a changed limit."""
    text = FILES[ENGLISH].decode()
    text, changed = re.subn(rf'^{caption} = ".*"$', f'{caption} = "{words}"', text, count=1, flags=re.M)
    assert changed == 1
    text = text.replace("[limits]\n", f"[limits]\n{limits}\n")
    files = {**FILES, ENGLISH: text.encode()}
    for stem, (old, new) in edits.items():
        script = files[f"{stem}.toml"].decode()
        assert script.count(old) == 1
        files[f"{stem}.toml"] = script.replace(old, new).encode()
    return files


def all_found_in(files: dict[str, bytes]) -> list[str]:
    """Return what is found, as it is printed."""
    return [mistake.text() for mistake in check_captions(files, folder_from(files, "the folder"))]


def found_in(files: dict[str, bytes]) -> list[str]:
    """Return what is found besides the length: the captions that test other limits need not be short."""
    return [said for said in all_found_in(files) if "the maximum is 76 characters" not in said]


def found_with(words: str, caption: str = NO_PAUSE, **more) -> list[str]:
    """Return what is found in English; a pause shortened for the test can be too short in German."""
    return [said for said in found_in(files_with(caption, words, **more)) if said.startswith(ENGLISH)]


def a_pause_of(time: str) -> dict[str, tuple[str, str]]:
    """Return the edit of the pause that is for the caption `why-tides`."""
    name = 'name = "read-about-tides"\npause = '
    return {"round": (f'{name}"7 s"', f'{name}"{time}"')}


def test_the_captions_of_the_machines_that_we_ship_are_within_all_limits():
    for folder in sorted(path.parent for path in (ROOT / "scripts").glob("*/machine.toml")):
        assert check_captions(read_files(folder), read_folder(folder)) == []


# For each limit, the most that it allows and the least that it doesn't.

SENTENCE_15 = "It has run all day long and so it is as warm as it gets."
SENTENCE_16 = "It has run all day long and so it is as warm as it ever gets."
WORDS_26 = "It runs all day and all night. It stops for no one at all. It has no need to rest, and we have."
LINE_45 = "This line is as long as the longest can be...."
EASY = "The day ends."


def test_a_sentence_has_at_most_15_words():
    # Gallery Text at the V&A: A Ten Point Guide (2009): the first sentence under 16 words.
    assert len(SENTENCE_15.split()) == 15
    assert found_with(SENTENCE_15) == []
    (said,) = found_with(SENTENCE_16)
    assert said.startswith(f"{ENGLISH}:")
    assert "a sentence of 16 words" in said
    assert "the maximum is 15 words (Gallery Text at the V&A" in said
    assert "[limits.words-a-sentence]" in said


def test_only_the_longest_sentence_counts():
    assert found_with(f"{EASY} {SENTENCE_15}") == []
    assert len(found_with(f"{EASY} {SENTENCE_16}")) == 1


def test_a_caption_takes_at_most_10_seconds_to_read():
    # Nielsen 1993 ch. 5: ten seconds keep the attention. 26 words at 160 a minute take 9.75 s.
    words = " ".join(["We go."] * 13)
    assert found_with(words) == []
    (said,) = found_with(f"{words} Go.")
    assert "takes 10.1 s to read" in said
    assert "the maximum is 10 s (Nielsen 1993" in said


def test_a_caption_takes_at_most_three_lines():
    # BBC Subtitle Guidelines section 3: two lines, or three if they hide nothing. The 45 are our own choice.
    line = "Xxxxxxxxxxxxxx xxxxxxxxxxxxxx xxxxxxxxxxxxxx."
    assert len(line) == 45
    longer = f"{line} {line} {line[:-1]}x."
    assert [s for s in found_with(f"{line} {line} {line}") if " lines" in s] == []
    said = [s for s in found_with(longer) if " lines" in s]
    assert len(said) == 1
    assert "takes 4 lines; the maximum is 3 lines (BBC Subtitle Guidelines, section 3" in said[0]
    assert "at most 135 characters" in said[0]


def test_a_line_holds_45_characters():
    assert [s for s in found_with("x" * 45) if "too long for a line" in s] == []
    said = [s for s in found_with("x" * 46) if "too long for a line" in s]
    assert len(said) == 1
    assert "a word of 46 characters" in said[0]
    assert "the maximum is 45 characters (our own choice" in said[0]


def test_a_caption_in_english_needs_at_most_eight_school_years():
    # Serrell, Exhibit Labels (2015): eighth grade. By the formula of Kincaid and others (1975): 10 words with
    # 17 syllables are of grade 8.37, with 16 of grade 7.19.
    easier = "The department requires a table of dates again today, please."
    harder = "The department requires a register of dates again today, please."
    assert [s for s in found_with(easier) if "years of school" in s] == []
    said = [s for s in found_with(harder) if "years of school" in s]
    assert len(said) == 1
    assert "takes 8.4 years of school to read; the maximum is 8 school years (Serrell" in said[0]


def test_a_caption_with_a_pause_is_read_at_no_more_than_180_words_a_minute():
    # BBC Subtitle Guidelines section 4: 160 to 180 words a minute. 12 words in 4 s are 180 a minute.
    twelve, thirteen = " ".join(["We go."] * 6), " ".join(["We go."] * 6) + " Go."
    assert found_with(twelve, WITH_PAUSE, **a_pause_of("4 s")) == []
    (said,) = found_with(thirteen, WITH_PAUSE, **a_pause_of("4 s"))
    assert "has to be read at 195 words a minute in the 4 s of round.read-about-tides" in said
    assert "the maximum is 180 words a minute (BBC Subtitle Guidelines, section 4" in said
    assert 'pause = "5 s"' in said
    assert found_with(thirteen, NO_PAUSE) == []


def test_a_caption_with_a_pause_is_shown_for_at_least_two_seconds():
    # Captioning Key, Described and Captioned Media Program: no caption for less than two seconds.
    assert found_with("Go on.", WITH_PAUSE, **a_pause_of("2 s")) == []
    (said,) = found_with("Go on.", WITH_PAUSE, **a_pause_of("1900 ms"))
    assert "is shown for only 1.9 s" in said
    assert "the minimum is 2 s (Captioning Key of the Described and Captioned Media Program" in said


def test_a_label_has_at_most_seven_words():
    # Serrell, Exhibit Labels (2015): titles of one to seven words.
    title = "The Whimbrel, an invented tide computer (1973)"
    assert len(title.split()) == 7
    assert found_in(FILES) == []
    longer = FILES[ENGLISH].replace(title.encode(), f"{title} here".encode())
    (said,) = found_in({**FILES, ENGLISH: longer})
    assert f'the label "{title} here" has 8 words' in said
    assert "the maximum is 7 words (Serrell" in said


@pytest.mark.parametrize(("section", "name"), [("parts", "small-drive"), ("scripts", "round")])
def test_the_names_of_parts_and_scripts_are_labels(section, name):
    eight = f'{name} = "One two three four five six seven eight"'
    text = re.sub(rf'^{name} = ".*"$', eight, FILES[ENGLISH].decode(), count=1, flags=re.M)
    (said,) = found_in({**FILES, ENGLISH: text.encode()})
    assert "has 8 words" in said


def test_every_limit_names_its_source_and_is_tested_here():
    assert set(LIMITS) == {
        "words-a-sentence", "seconds", "lines", "characters-a-line", "characters", "grade",
        "words-a-minute", "seconds-at-least", "words-a-label",
    }  # fmt: skip
    assert all(len(limit.source) > 20 for limit in LIMITS.values())


@pytest.mark.parametrize("tag", ["en", "de"])
def test_a_caption_has_at_most_76_characters_on_the_shared_screen_and_a_figure_counts_six(tag):
    file = f"captions/{tag}.toml"

    def said_of(words: str, limits: str = "") -> list[str]:
        text = re.sub(
            r'^sums-begun = ".*"$', f'sums-begun = "{words}"', FILES[file].decode(), count=1, flags=re.M
        )
        text = text.replace("[limits]\n", f"[limits]\n{limits}\n")
        return [said for said in all_found_in({**FILES, file: text.encode()}) if "characters;" in said]

    seventy_six = "Job {job} " + "sums " * 12 + "sums."
    assert len(seventy_six.replace("{job}", "000000")) == 76
    assert said_of(seventy_six) == []
    (said,) = said_of(seventy_six + "b")
    assert said.startswith(file)
    assert '"sums-begun" has 77 characters; the maximum is 76' in said
    assert said_of(seventy_six + "b", changed("characters", 77)) == []


def test_only_captions_are_held_to_the_shared_screen():
    hint = re.sub(
        r'^drives-loud = ".*"$',
        'drives-loud = "' + "It hums. " * 10 + '"',
        FILES[ENGLISH].decode(),
        flags=re.M,
    )
    assert all_found_in({**FILES, ENGLISH: hint.encode()}) == []


# -- which pause is for which caption


@pytest.mark.parametrize(
    ("caption", "script", "pause"),
    [
        ("why-tides", "round", 'name = "read-about-tides"\npause = "7 s"'),
        ("shuttle-begun", "round", 'name = "read-about-shuttle"\npause = "6 s"'),
        ("board-shown", "round", 'name = "read-about-the-board"\npause = "4 s"'),
        ("invented", "opening", 'name = "read-what-it-is"\npause = "7 s"'),
    ],
    ids=["begins with it", "the step before waits for it", "not the step before", "the step before gives it"],
)
def test_a_pause_is_for_the_caption_that_appears_when_it_begins(caption, script, pause):
    said = found_with("Go on.", caption, **{script: (pause, re.sub('"[0-9] s"', '"1 s"', pause))})
    assert ["is shown for only 1 s" in s for s in said] == ([True] if caption != "board-shown" else [])


def test_a_pause_after_a_step_is_for_the_caption_that_appears_when_the_step_is_done():
    story = ('step_started = "round.read-about-the-table"', 'step_done = "round.read-about-high-water"')
    name = 'name = "read-about-the-table"\npause = '
    edits = {"story": story, "round": (f'{name}"5 s"', f'{name}"1 s"')}
    (said,) = found_with("Go on.", "tides-done", **edits)
    assert "only 1 s, the pause of round.read-about-the-table" in said


def test_of_several_pauses_for_a_caption_the_shortest_counts():
    name = 'name = "read-about-high-water"\npause = '
    story = ('step_started = "round.read-about-the-table"', 'when = "followed-ended"')
    later = 'name = "read-about-the-table"\n'
    wait = f'name = "once-more"\nwait = ["followed-ended"]\nwithin = "4 min"\n\n[[step]]\n{later}'
    for first, second, shortest in (
        ("1 s", "5 s", "1 s, the pause of round.read-about-high-water"),
        ("6 s", "1 s", "1 s, the pause of round.read-about-the-table"),
    ):
        files = files_with("tides-done", "Go on.", story=story, round=(f'{name}"6 s"', f'{name}"{first}"'))
        text = files["round.toml"].decode().replace(f'{later}pause = "5 s"', f'{wait}pause = "{second}"')
        found = found_in({**files, "round.toml": text.encode()})
        assert any(shortest in s and s.startswith(ENGLISH) for s in found)


def test_a_place_counts_as_one_word_and_as_the_six_characters_of_a_figure():
    assert found_with("Job {job} has begun, {job} of them.", "shuttle-begun") == []
    eleven_words = "Job {job} has begun, " * 2 + "so it has."
    (said,) = found_with(eleven_words, "shuttle-begun", **a_pause_after_shuttle("3 s"))
    assert "220 words a minute" in said
    lines = [s for s in found_with("{job}x" * 7, "shuttle-begun") if "too long for a line" in s]
    assert "a word of 49 characters" in lines[0]


def a_pause_after_shuttle(time: str) -> dict[str, tuple[str, str]]:
    """Return the edit of the pause after the step that brings the caption `shuttle-begun`."""
    name = 'name = "read-about-shuttle"\npause = '
    return {"round": (f'{name}"6 s"', f'{name}"{time}"')}


# -- other languages


def in_german(caption: str, words: str) -> dict[str, bytes]:
    """Return the Whimbrel with a second language, which has English words except in one caption."""
    german = FILES[ENGLISH].decode().replace('tag = "en"', 'tag = "de"').replace('"English"', '"Deutsch"')
    german, changed = re.subn(rf'^{caption} = ".*"$', f'{caption} = "{words}"', german, count=1, flags=re.M)
    assert changed == 1
    return {**FILES, "captions/de.toml": german.encode()}


def test_other_languages_have_limits_of_length_and_time_but_no_grade():
    hard = "Gezeitenvorhersagen erforderten außerordentliche Rechengenauigkeit."
    assert found_in(in_german(NO_PAUSE, hard)) == []
    assert len(found_with(hard)) == 1  # as English it would be beyond any school
    said = found_in(in_german(NO_PAUSE, SENTENCE_16))
    assert [s.startswith("captions/de.toml:") for s in said] == [True]


def test_long_words_take_their_time_in_any_language():
    words = "Gezeitenvorhersage " * 8
    said = found_in({**in_german(WITH_PAUSE, words.strip() + ".")})
    assert any("words a minute in the 7 s of round.read-about-tides" in s for s in said)


# -- a limit that is changed


def changed(name: str, value: int, reason: str = "Our visitors sit.") -> str:
    return f'[limits.{name}]\nvalue = {value}\nreason = "{reason}"'


def test_a_limit_can_be_changed_with_a_reason():
    assert found_with(SENTENCE_16, limits=changed("words-a-sentence", 16)) == []
    (said,) = found_with(f"{SENTENCE_16[:-1]} too.", limits=changed("words-a-sentence", 16))
    assert "a sentence of 17 words" in said
    assert "the maximum is 16 words ([limits.words-a-sentence] in this file)" in said


def test_a_limit_can_be_made_stricter():
    (said,) = found_with(SENTENCE_15, limits=changed("words-a-sentence", 14))[-1:]
    assert "the maximum is 14 words" in said


def test_a_changed_limit_that_nothing_needs_is_a_mistake_on_its_line():
    files = files_with(NO_PAUSE, SENTENCE_15, limits=changed("words-a-sentence", 16))
    (said,) = found_in(files)
    line = files[ENGLISH].decode().split("[limits.words-a-sentence]")[0].count("\n") + 1
    assert said.startswith(
        f"{ENGLISH}:{line}: no text needs the changed limit words-a-sentence, because 15 words"
    )


def test_a_changed_limit_that_is_dropped_is_noticed():
    assert len(found_with(SENTENCE_16)) == 1


def test_the_line_in_which_captions_are_broken_can_be_changed_too():
    assert [
        s for s in found_with("x" * 46, limits=changed("characters-a-line", 46)) if "for a line" in s
    ] == []


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ("[limits.words-a-sentense]\nvalue = 16\nreason = \"So.\"", 'no limit named "words-a-sentense"'),
        ("[limits.words-a-sentence]\nreason = \"So.\"", "lacks value"),
        ("[limits.words-a-sentence]\nvalue = 16", "lacks reason"),
        ('[limits.words-a-sentence]\nvalue = 16\nreason = ""', "reason is empty"),
        ('[limits.words-a-sentence]\nvalue = "16"\nreason = "So."', "value is"),
        ('[limits.words-a-sentence]\nvalue = 0\nreason = "So."', "value is 0"),
        ('[limits.words-a-sentence]\nvalue = 16\nreason = "So."\nwhy = "X"', 'no key "why"'),
        ("words-a-sentence = 16", "must be a table"),
    ],
)  # fmt: skip
def test_an_impossible_change_is_a_mistake_of_the_folder(limits, said):
    files = {**FILES, ENGLISH: FILES[ENGLISH].replace(b"[limits]\n", f"[limits]\n{limits}\n".encode())}
    found = mistakes_in(files)
    assert [said in mistake.what for mistake in found] == [True]
    assert found[0].file == ENGLISH


def test_without_a_table_of_changed_limits_the_published_ones_apply():
    files = {**FILES, ENGLISH: FILES[ENGLISH].replace(b"[limits]\n", b"")}
    assert files[ENGLISH] != FILES[ENGLISH]
    assert mistakes_in(files) == []
    assert check_captions(files, folder_from(files, "whimbrel")) == check_captions(
        FILES, folder_from(FILES, "whimbrel")
    )


# -- the command


@pytest.fixture
def too_long(tmp_path):
    """A folder with a caption beyond a limit, and no other mistake."""
    for name, content in files_with(NO_PAUSE, SENTENCE_16).items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    return tmp_path


def test_check_reports_it_and_exits_with_2(too_long):
    done = CliRunner().invoke(main, ["check", str(too_long)])
    assert done.exit_code == 2
    assert "a sentence of 16 words" in done.stdout
    assert "is in order" not in done.stdout
    assert "don't read what takes longer" in done.stderr
    with pytest.raises(CaptionMistakes):
        check_folder(too_long)


def test_a_run_is_not_refused_because_of_it(too_long):
    assert read_folder(too_long).machine.name == "whimbrel"


def test_a_folder_with_other_mistakes_gets_both_reports(too_long):
    story = too_long / "story.toml"
    story.write_text(story.read_text().replace('part = "processor"', 'part = "procesor"', 1))
    (english,) = too_long.glob(ENGLISH)
    english.write_text(english.read_text().replace('keyholder = "', 'keyholder = "..."\n# "', 1))
    found = Checked(too_long)
    assert [m.file for m in found.mistakes] == [ENGLISH, "story.toml"]
    assert ["a sentence of 16 words" in mistake.what for mistake in found.beyond] == [True]


# -- the German of the Whimbrel

GERMAN = "captions/de.toml"


def test_the_whimbrel_speaks_english_and_german_english_first():
    folder = read_folder(WHIMBREL)
    assert list(folder.machine.languages.items()) == [("en", "English"), ("de", "Deutsch")]
    for caption in folder.captions:
        assert list(caption.words) == ["en", "de"]
        assert caption.words["de"] != caption.words["en"]


@pytest.mark.parametrize("section", ["captions", "hands_on", "cautions", "parts", "scripts", "sources"])
def test_a_missing_or_unused_german_entry_is_found(section):
    text = FILES[GERMAN].decode()
    head, body = text.split(f"[{section}]\n")
    line = head.count("\n") + 2
    name = body.split(" = ")[0]
    stale = mistakes_in({**FILES, GERMAN: f'{head}[{section}]\nformerly = "Früher."\n{body}'.encode()})
    assert [(m.file, m.line, m.what) for m in stale] == [
        (GERMAN, line, 'nothing is named "formerly", so these words are never used')
    ]
    missing = mistakes_in({**FILES, GERMAN: f"{head}[{section}]\n{body.split(chr(10), 1)[1]}".encode()})
    assert [(m.file, m.line) for m in missing] == [(GERMAN, line - 1)]
    assert f'lacks words for "{name}"' in missing[0].what


# -- the order of the languages


@pytest.mark.parametrize(
    ("order", "said", "write"),
    [
        ('["en"]', "the language of captions/de.toml is not listed", 'order = ["en", "de"]'),
        ('["en", "dee"]', 'there is no captions/dee.toml for the language "dee"', '"de"'),
        ('["en", "de", "de"]', '"de" is listed twice', "nothing; delete this one"),
        ("[]", "the language of captions/de.toml is not listed", 'order = ["de", "en"]'),
    ],
)
def test_every_language_must_be_listed_once_in_the_order(order, said, write):
    day = FILES["day.toml"].replace(b'["en", "de"]', order.encode())
    line = day.decode().splitlines().index(f"order = {order}") + 1
    found = mistakes_in({**FILES, "day.toml": day})
    assert [(m.file, m.line, m.what, m.write_instead) for m in found if said in m.what] == [
        ("day.toml", line, said, write)
    ]


def test_the_order_of_the_languages_is_that_of_day_toml():
    day = FILES["day.toml"].replace(b'["en", "de"]', b'["de", "en"]')
    folder = folder_from({**FILES, "day.toml": day}, "the folder")
    assert list(folder.machine.languages) == ["de", "en"]
    assert list(folder.captions[0].words) == ["de", "en"]
