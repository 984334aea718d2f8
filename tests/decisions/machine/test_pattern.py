"""Patterns: what they fit, which are refused, and that no line takes them long."""

import itertools
import re
from contextlib import suppress
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.decisions.machine import pattern
from exhibit.decisions.machine.pattern import (
    MOST_COLUMNS,
    MOST_LOOSE,
    MOST_PLACES,
    ByEnds,
    Pattern,
    PatternMistake,
)


@pytest.mark.parametrize(
    ("text", "line", "fields"),
    [
        ("JOB {job: number} SET GOING", "JOB 12 SET GOING", {"job": "12"}),
        ("JOB {job: number} SET GOING", "JOB -1.50 SET GOING", {"job": "-1.50"}),
        ("JOB {job: number} SET GOING", "JOB A SET GOING", None),
        ("JOB {job: number} SET GOING", "JOB  SET GOING", None),
        ("DRIVE {drive: word} IS READY", "DRIVE UPPER IS READY", {"drive": "UPPER"}),
        ("DRIVE {drive: word} IS READY", "DRIVE THE UPPER IS READY", None),
        ("DRIVE {drive: word} IS READY", f"DRIVE {'X' * 40} IS READY", {"drive": "X" * 40}),
        ("DRIVE {drive: word} IS READY", f"DRIVE {'X' * 41} IS READY", None),
        ("MESSAGE: {text: text}", "MESSAGE: SWELL ON THE BAR", {"text": "SWELL ON THE BAR"}),
        ("MESSAGE: {text: text}", "MESSAGE:", None),
        ("MESSAGE: {text: text}", f"MESSAGE: {'X' * 80}", {"text": "X" * 80}),
        ("MESSAGE: {text: text}", f"MESSAGE: {'X' * 81}", None),
        ("TIDEBOOK STATUS {...}", "TIDEBOOK STATUS 09.15", {}),
        ("TIDEBOOK STATUS {...}", "TIDEBOOK STATUS", {}),
        ("{...} FAILED", "FAILED", {}),
        ("{...} FAILED", "THE DISC FAILED", {}),
        ("{...} FAILED", "THE DISC FAILED.", None),
        ("ERRORS:{value: number}", "ERRORS:   7", {"value": "7"}),
        ("ERRORS:{value: number}", "ERRORS:12345", {"value": "12345"}),
        ("{host: word} login:", "sallow login: ", {"host": "sallow"}),
        ("READY. (Y/N)? [+*]\\", "READY. (Y/N)? [+*]\\", {}),
        ("READY.", "READYX", None),
        ("A B", "A     B", {}),
        ("A     B", "A B", {}),
        ("A B", "AB", None),
        ("DESK: ", "DESK:", {}),
        (" DESK:", "   DESK:   ", {}),
    ],
)
def test_a_pattern_fits_what_its_describer_would_say_it_fits(text, line, fields):
    assert Pattern(text).match(line) == fields


def test_a_row_of_a_display_may_be_places_alone():
    row = Pattern("{job: number} {name: word} {share: number}", places_alone=True)
    assert row.match("   3  TIDES     40 ") == {"job": "3", "name": "TIDES", "share": "40"}
    assert row.match("JOB  NAME     SHARE") is None


def test_a_pattern_knows_its_fields_and_equals_another_of_the_same_text():
    one = Pattern("JOB {job: number} {...}")
    assert one.fields == ("job",)
    assert one == Pattern("JOB {job: number} {...}")
    assert len({one, Pattern("JOB {job: number} {...}"), Pattern("JOB")}) == 2
    assert one != "JOB {job: number} {...}"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no text of its own"),
        ("   ", "no text of its own"),
        ("{...}", "no text of its own"),
        ("{a: number} {b: number}", "no text of its own"),
        ("JOB {", "there is a single brace"),
        ("JOB }", "there is a single brace"),
        ("JOB {job: number", "there is a single brace"),
        ("JOB {{job: number}}", "there is a single brace"),
        ("JOB {job}", "is not a place"),
        ("JOB {job: figure}", "is not a place"),
        ("JOB {: number}", "is not a place"),
        ("JOB {Job: number}", "is not a place"),
        ("JOB {1job: number}", "is not a place"),
        ("JOB {job-number: number}", "is not a place"),
        ("JOB {}", "is not a place"),
        ("JOB {....}", "is not a place"),
        ("JOB {a: number}{b: number}", "two places touch"),
        ("JOB {a: number} {a: word}", "the same name"),
        ("J" * (MOST_COLUMNS + 1), "longer than"),
        ("J " + " ".join(f"{{p{n}: number}}" for n in range(MOST_PLACES + 1)), "more than 12 places"),
        ("{...} A {...} B {...}", "are loose"),
        ("{a: text} A {b: text} B {c: text}", "are loose"),
        ("{a: word}- {b: word}, {c: word}. {d: number}", "are loose"),
        ("{a: number}.{b: number}0{c: number}1 X", "are loose"),
    ],
)
def test_a_pattern_that_could_not_be_used_is_refused_with_a_reason(text, said):
    with pytest.raises(PatternMistake, match=re.escape(said)):
        Pattern(text)


# -- an obvious matcher: every way to share a line out among the pieces is tried, each length once


def obvious(text: str, line: str) -> bool:
    """Whether the pattern fits, worked out from the rules in the module's docstring and nothing else."""
    line = " ".join(line[: len(line)].split())
    pieces = [piece for piece in re.split(r"(\{[^}]*\}| +)", text.strip()) if piece]

    def takes(index: int, run: str) -> bool:
        piece = pieces[index]
        if not piece.strip():
            return run == " "
        if not piece.startswith("{"):
            return run == piece
        if piece == "{...}":
            return len(run) <= 200
        match piece.strip("{}").split(": ")[1]:
            case "number":
                # Filled up with spaces on its left where text stands before it.
                filled = index and pieces[index - 1].strip()
                return bool(re.fullmatch(r"[+-]?\d{1,15}(\.\d{1,9})?", run.lstrip(" ") if filled else run))
            case "word":
                return 1 <= len(run) <= 40 and " " not in run
        return 1 <= len(run) <= 80 and run == run.strip(" ")

    def fits(line: str) -> bool:
        @cache
        def from_here(index: int, at: int) -> bool:
            if index == len(pieces):
                return at == len(line)
            ends = range(at, len(line) + 1)
            return any(takes(index, line[at:end]) and from_here(index + 1, end) for end in ends)

        return from_here(0, 0)

    spaced = (f"{left}{line}{right}" for left, right in itertools.product(("", " "), repeat=2))
    return any(fits(each) for each in spaced)


PLACES = st.sampled_from(["{...}", "{%s: number}", "{%s: word}", "{%s: text}"])
TEXTS = st.text("AB1. -", max_size=3)


@st.composite
def patterns(draw) -> str:
    text = draw(TEXTS)
    for number in range(draw(st.integers(0, 4))):
        text += draw(PLACES).replace("%s", f"p{number}") + draw(TEXTS)
    return text


@given(patterns(), st.lists(st.text("AB1. -", max_size=12), min_size=1, max_size=8), st.data())
def test_it_fits_what_an_obvious_matcher_fits(text, lines, data):
    try:
        made = Pattern(text)
    except PatternMistake:
        return
    # Half of the lines are made from the pattern, so that many fit.
    fillings = st.sampled_from(["", "1", "-1.1", "AB", "A B", " 1", ".", "1 "])
    lines.append(re.sub(r"\{[^}]*\}", lambda _: data.draw(fillings), text))
    for line in lines:
        assert (made.match(line) is not None) == obvious(text, line), (text, line)


@given(st.lists(patterns(), min_size=1, max_size=5), st.lists(st.text("AB1. -", max_size=12)), st.data())
def test_those_found_by_their_ends_are_all_that_fit_in_their_order(texts, lines, data):
    made = []
    for text in texts:
        with suppress(PatternMistake):
            made.append(Pattern(text))
    by_ends = ByEnds((known, known) for known in made)
    fillings = st.sampled_from(["", "1", "-1.1", "AB", "A B", " 1", ".", "1 "])
    lines += [re.sub(r"\{[^}]*\}", lambda _: data.draw(fillings), known.text) for known in made]
    # As a machine prints it: each line grows by a character at a time.
    for line in (whole[:end] for whole in lines for end in range(len(whole) + 1)):
        found = [known for known in by_ends.possible(line) if known.match(line) is not None]
        assert found == [known for known in made if obvious(known.text, line)], line


@given(patterns(), st.text("AB1. -", max_size=30))
def test_a_fitting_line_has_a_value_for_each_field(text, line):
    try:
        made = Pattern(text)
    except PatternMistake:
        return
    found = made.match(line)
    if found is not None:
        assert tuple(found) == made.fields
        assert all(value and value == value.strip() for value in found.values())


# -- time. Ways that multiply without bound would never come to the end of these within the test's limit.
# (While a run of spaces could be shared out among places, one line took a second: the first of these.)

NASTY = [
    "{...} {w: word} {...} Y", "{...} X {...} Y", "{...}X{...}Y", "{a: text} X {b: text} Y",
    "{a: word}X{b: word}X END",
    "{...} {n: number} {...} END", "X{...} {n: number}.5 Y",
    "{...} " + " ".join(f"{{w{n}: word}}" for n in range(10)) + " {...} END",
    " ".join(f"{{n{n}: number}}" for n in range(12)) + " END",
    ":".join(f"{{n{n}: number}}" for n in range(12)) + " END",
]  # fmt: skip
STRETCHES = [" " * 80, "X" * 80, " X" * 40, "1 " * 40, "1" * 80, ":1" * 40, "X" + " " * 79, "1 1 X " * 14]


@pytest.mark.parametrize("text", NASTY)
def test_no_line_takes_a_pattern_long(text):
    made = Pattern(text)
    for stretches in itertools.product(STRETCHES, repeat=2):
        made.match(f"a{stretches[0]}X{stretches[1]}" * 2 + "q")
        made.match(f"a{stretches[0]}X{stretches[1]}b{stretches[0]}Yq")
    for stretch in STRETCHES:
        assert made.match((stretch * 2000) + "q") is None


@pytest.mark.parametrize(
    "text", ["(A+)+B", "(A|A)*B", "(.*)(.*)(.*)X", "A{1}?", "[A-Z]*", "^A.*$", r"\\1(A)"]
)
def test_the_signs_of_other_notations_stand_for_themselves(text):
    if "{" in text:
        with pytest.raises(PatternMistake, match="is not a place"):
            Pattern(text)
        return
    made = Pattern(text)
    assert made.match(text) == {}
    assert made.match("A" * MOST_COLUMNS) is None


@given(patterns(), st.lists(st.sampled_from(STRETCHES), min_size=1, max_size=5))
def test_whatever_is_accepted_no_line_takes_it_long(text, stretches):
    try:
        made = Pattern(text)
    except PatternMistake:
        return
    made.match("".join(stretches) + "q")


def test_places_and_columns_are_bounded_so_that_the_ways_are():
    assert (MOST_COLUMNS, MOST_PLACES, MOST_LOOSE) == (400, 12, 2)
    assert all("*" not in kind and "+" not in kind.replace("[+-]", "") for kind in pattern._KINDS.values())


def test_a_long_line_is_looked_at_up_to_the_most_columns():
    assert Pattern("A{...} B").match("A" + "x" * 150 + " B") == {}
    assert Pattern("A {b: text} {...}").match("A b " + "x" * 190 + " " * 200 + "y" * 500) is not None
