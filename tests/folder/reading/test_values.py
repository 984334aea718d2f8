"""Values in a machine's folder: what they mean, and what is reported about those that mean nothing."""

import pytest

from exhibit.folder.reading.values import (
    ValueMistake,
    frame_end,
    intended_name,
    key_pressed,
    pattern_of,
    places_of,
    row_range,
    year_rule,
)

pytestmark = pytest.mark.pure


@pytest.mark.parametrize(
    ("text", "sent"),
    [
        ("return", b"\r"),  # ISO 646: CR
        ("rubout", b"\x7f"),  # DEL
        ("escape", b"\x1b"),  # ESC
        ("space", b" "),
        ("control A", b"\x01"),
        ("control C", b"\x03"),
        ("control X", b"\x18"),
        ("control Z", b"\x1a"),
        ("q", b"q"),
        ("?", b"?"),
    ],
)
def test_a_key_is_named_by_its_label(text, sent):
    assert key_pressed(text) == sent


@pytest.mark.parametrize(
    ("text", "write"),
    [
        ("Return", '"return"'),
        ("retrun", '"return"'),
        ("control x", '"control X"'),
        ("ctrl X", '"control X"'),
        ("control 1", "control"),
        ("F1", "a single character"),
        ("", "a single character"),
        (" ", "a single character"),
        ("é", "a single character"),
    ],
)
def test_a_text_that_is_not_a_key_is_reported_with_one(text, write):
    with pytest.raises(ValueMistake, match="is not a key") as caught:
        key_pressed(text)
    assert write in caught.value.write_instead


@pytest.mark.parametrize("text", ["break", "BREAK", "control break", "long-break"])
def test_break_is_not_a_key_and_the_reason_is_given(text):
    with pytest.raises(ValueMistake, match="a script can't send BREAK") as caught:
        key_pressed(text)
    assert "hands-on step" in caught.value.write_instead


def test_rows_are_one_row_or_a_range():
    assert row_range("3") == (3, 3)
    assert row_range("6 to 15") == (6, 15)
    for wrong in ("0", "6 to 5", "6-15", "six", "", "1 to 201", "6 to"):
        with pytest.raises(ValueMistake):
            row_range(wrong)


def test_a_frame_ends_at_a_place_or_after_quiet():
    assert frame_end("row 24 column 1") == ((24, 1), None)
    assert frame_end("quiet 400 ms") == (None, 400_000)
    for wrong in (
        "row 24",
        "row 0 column 1",
        "400 ms",
        "quiet",
        "quiet 400",
        "quiet 0 s",
        "row 24 column 401",
    ):
        with pytest.raises(ValueMistake):
            frame_end(wrong)


def test_a_year_is_as_it_is_a_stand_in_fixed_or_asked_for():
    assert year_rule("ask") == ("ask", 0)
    assert year_rule("as it is") == ("as it is", 0)
    assert year_rule("stand-in") == ("stand-in", 0)
    assert year_rule("fixed 1985") == ("fixed", 1985)
    for wrong, write in (("as is", '"as it is"'), ("stand in", '"stand-in"'), ("fixed", '"fixed 1985"')):
        with pytest.raises(ValueMistake) as caught:
            year_rule(wrong)
        assert caught.value.write_instead == write


def test_an_impossible_pattern_is_refused_with_the_reason():
    assert pattern_of("JOB {job: number}", False).fields == ("job",)
    with pytest.raises(ValueMistake, match="no text of its own"):
        pattern_of("{a: word} {b: word}", False)
    assert pattern_of("{a: word} {b: word}", True).fields == ("a", "b")


def test_the_places_of_a_pattern_have_their_kinds():
    assert places_of("JOB {job: number} {...} {name:word}: {t: text}") == {
        "job": "number",
        "name": "word",
        "t": "text",
    }


def test_the_intended_name_is_the_closest_one_or_none():
    assert intended_name("strater", ["starter", "desk"]) == "starter"
    assert intended_name("zzz", ["starter", "desk"]) == ""
    assert intended_name("starter", []) == ""


@pytest.mark.parametrize(
    ("misspelt", "name"),
    [
        ("echo_witin", "echo_within"),
        ("lower-redy", "lower-ready"),
        ("lowerready", "lower-ready"),
        ("press start", "press-start"),
        ("swich-on", "switch-on"),
        ("openning.toml", "opening.toml"),
        ("sallow-l", ""),  # an l for a figure: which of the packs can't be known
    ],
)
def test_a_typing_error_is_recognised(misspelt, name):
    known = [
        "echo_within",
        "lower-ready",
        "press-start",
        "switch-on",
        "switch-off",
        "opening.toml",
        "sallow-1",
    ]
    assert intended_name(misspelt, known) == name


@pytest.mark.parametrize(
    ("name", "another"),
    [
        ("switch-on", "switch-off"),
        ("start-lower", "stop-lower"),
        ("upper-ready", "lower-ready"),
        ("sallow-1", "sallow-2"),
        ("pack-in-upper", "pack-in-lower"),
        ("lock", "unlock"),
        ("writable", "unwritable"),
        ("desk-tides", "desk-tides-left"),
        ("in", "on"),
        ("core", "board"),
    ],
)
def test_another_name_is_never_taken_for_a_misspelling(name, another):
    assert intended_name(name, [another]) == ""
    assert intended_name(another, [name]) == ""


def test_of_two_equally_close_names_neither_is_proposed():
    assert intended_name("stop-lover", ["stop-lower"]) == "stop-lower"
    assert intended_name("stop-lover", ["stop-lower", "stop-loser"]) == ""
