"""Captions leave as WebVTT in which a strict parser of somebody else's (npm webvtt-parser) finds no error."""

import json
import re
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.sums.webvtt import Cue, cues_of, webvtt_text

S = 1_000_000
ORACLE = Path(__file__).parent / "oracles" / "webvtt_parser.cjs"
NODE_LIBRARIES = Path(__file__).resolve().parents[1] / "node"


@pytest.fixture(scope="module")
def parsed(needs):
    """Gives the errors and the cues that the parser finds in a text."""
    node = needs.node()

    def parse(text: str) -> tuple[list[str], list[dict]]:
        asked = [node, str(ORACLE), str(NODE_LIBRARIES)]
        done = subprocess.run(asked, input=text.encode(), capture_output=True, check=True)
        parsed_file = json.loads(done.stdout)
        return parsed_file["errors"], parsed_file["cues"]

    return parse


def shown(seq: int, at_us: int, text: str, kind="seen") -> Entry:
    fact = kinds.CaptionShown(
        caption=f"c{seq}", kind=kind, words={"en": text}, part="console", because=[1], source={}
    )
    return Entry(seq, at_us, fact)


def end(seq: int, at_us: int) -> Entry:
    return Entry(seq, at_us, kinds.RecordingClosed(why="over"))


# -- what the facts say


def test_a_caption_is_shown_until_the_next_one_appears():
    cues = cues_of([shown(3, 1 * S, "One."), shown(9, 8 * S, "Two."), end(10, 60 * S)], "en")
    assert cues == [Cue(3, 1 * S, 8 * S, "One."), Cue(9, 8 * S, 60 * S, "Two.")]


def test_the_last_caption_can_be_read_though_the_recording_ends_with_it():
    (cue,) = cues_of([shown(1, 5 * S, "Good night."), end(2, 5 * S)], "en")
    assert (cue.start_us, cue.end_us) == (5 * S, 7 * S)


def test_look_or_listen_for_captions_are_left_out():
    cues = cues_of(
        [shown(1, 0, "One."), shown(2, 3 * S, "Listen!", "look or listen for"), end(3, 9 * S)], "en"
    )
    assert cues == [Cue(1, 0, 9 * S, "One.")]


def test_captions_without_words_in_the_language_are_left_out():
    assert cues_of([shown(1, 0, "One."), end(2, 9 * S)], "de") == []
    assert cues_of([shown(1, 0, "  "), end(2, 9 * S)], "en") == []


# -- the file


def test_the_file_is_exactly_this():
    cues = [Cue(7, 1_822_999, 11 * S, "It says A < B & B > C.")]
    assert webvtt_text(cues, "The Whimbrel", ["Of 1973."]) == (
        "WEBVTT - The Whimbrel\n"
        "\n"
        "NOTE\n"
        "Of 1973.\n"
        "\n"
        "7\n"
        "00:00:01.822 --> 00:00:11.000\n"
        "It says A &lt; B &amp; B &gt; C.\n"
    )


@pytest.mark.parametrize(
    ("at_us", "time"),
    [
        (0, "00:00:00.000"),
        (999, "00:00:00.000"),
        (59_999_999, "00:00:59.999"),
        (3600 * S, "01:00:00.000"),
        (100 * 3600 * S + 9 * S, "100:00:09.000"),  # valid, web-platform-tests' support files have such hours
    ],
)
def test_hours_have_two_digits_or_more_and_milliseconds_three(at_us, time, parsed):
    text = webvtt_text([Cue(1, at_us, at_us + S, "X")], "M", [])
    assert f"\n{time} --> " in text
    assert parsed(text)[0] == []


TEXTS = [
    "Plain.", "A & B", "1 < 2", "2 > 1", "a --> b", "&amp; stays as it was said", "<b>not bold</b>",
    "two\n\nlines", "WEBVTT", "NOTE this", "STYLE", "{hours} of 24", "Grüße aus Sallowmouth", "שלום",
    "x" * 200, "00:00:01.000 --> 00:00:02.000", "&", "<", "-->", "--->", "\u2028", "\ufeff",
]  # fmt: skip


@pytest.mark.parametrize("text", TEXTS)
def test_any_words_come_out_unchanged_and_without_an_error(text, parsed):
    cues = cues_of([shown(1, S, text), end(2, 9 * S)], "en")
    errors, found = parsed(webvtt_text(cues, text, [text, ""]))
    assert errors == []
    # This parser keeps the semicolon of an escape.
    expected = re.sub("[&<>]", r"\g<0>;", " ".join(text.split()))
    assert [" ".join(cue["text"].split()) for cue in found] == [expected] * len(cues)


def test_captions_of_the_same_moment_stay_in_order_and_end_after_they_start(parsed):
    entries = [shown(1, S, "One."), shown(2, S, "Two."), shown(3, S + 400, "Three."), end(4, 9 * S)]
    text = webvtt_text(cues_of(entries, "en"), "M", [])
    errors, found = parsed(text)
    assert errors == []
    assert re.findall("One|Two|Three", text) == ["One", "Two", "Three"]
    starts = re.findall(r"(\S+) -->", text)
    assert starts == sorted(starts)
    assert len(found) == 3
    assert all(cue["end"] > cue["start"] for cue in found)


def test_a_clock_that_went_back_leaves_the_captions_in_order(parsed):
    entries = [shown(1, 5 * S, "One."), shown(2, 3 * S, "Two."), end(3, 9 * S)]
    cues = cues_of(entries, "en")
    assert [cue.start_us for cue in cues] == [5 * S, 5 * S]
    assert parsed(webvtt_text(cues, "M", []))[0] == []


def test_no_captions_are_a_file_too(parsed):
    assert parsed(webvtt_text([], "M", ["None.", "", "At all."])) == ([], [])


def test_hundreds_of_random_captions_cause_no_error(parsed):
    """One file of all of them: the parser starts once."""
    entries: list[Entry] = []

    @given(
        st.integers(0, 10 * S),
        st.text(st.characters(codec="utf-8", exclude_characters="\r\x00"), max_size=80),
    )
    def gather(gap_us, text):
        at_us = entries[-1].at_us if entries else 0
        entries.append(shown(len(entries) + 1, at_us + gap_us, text))

    gather()
    errors, found = parsed(webvtt_text(cues_of(entries, "en"), "M", []))
    assert errors == []
    assert len({cue["id"] for cue in found}) == len(found) > 50


# Each of these breaks a rule of the specification, and the parser reports it, so it is known to be strict. It
# accepts hours of one digit and equal names, so those are tested separately.
@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("00:00:01,000 --> 00:00:02.000\nX", "No decimal separator"),
        ("00:00:02.000 --> 00:00:01.000\nX", "not greater than start"),
        ("00:00:01.000 --> 00:00:01.000\nX", "not greater than start"),
        ("00:60:01.000 --> 00:61:02.000\nX", "59 minutes"),
        ("00:00:01.00 --> 00:00:02.000\nX", "three digits"),
        ("00:00:01.000-->00:00:02.000\nX", ""),
        ("00:00:01.000 --> 00:00:02.000\nA & B", "Incorrect escape"),
        ("00:00:01.000 --> 00:00:02.000\n<b>X", "end tag"),
        ("00:00:05.000 --> 00:00:06.000\nX\n\n00:00:01.000 --> 00:00:02.000\nX", ""),
    ],
)
def test_the_parser_is_strict(wrong, said, parsed):
    errors, _ = parsed(f"WEBVTT\n\n{wrong}\n")
    assert errors
    assert any(said in error for error in errors)


def test_names_are_unique_and_every_hour_has_two_digits():
    entries = [shown(seq, seq * S, "The same.") for seq in range(1, 50)]
    text = webvtt_text(cues_of(entries, "en"), "M", [])
    blocks = text.split("\n\n")[2:]
    assert len({block.split("\n")[0] for block in blocks}) == len(blocks) == 49
    times = re.findall(r"(\S+) --> (\S+)", text)
    assert all(re.fullmatch(r"\d\d+:[0-5]\d:[0-5]\d\.\d{3}", time) for pair in times for time in pair)
