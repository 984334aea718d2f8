"""One value of a TOML file is changed, and every other byte of it is kept."""

import copy
import tomllib

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from exhibit.folder.reading.toml_lines import spans_of, with_values
from tests.folder.folder_writing import value_at
from tests.folder.reading.test_toml_lines import files, paths_of

pytestmark = pytest.mark.pure

BEFORE = """\
# a comment with within = "1 s"
[script]   # "within"
within = "15 min"     # the whole

[[step]]
name = "ä"
within   =  '30 s' # why, "4 s"
[[step]]
within = \"""\\
  8 s\"""
until = ["within", "30 s" ]
x = { within = "2 s", y = { within = "3 s"} } # end"""


def test_only_the_values_are_changed():
    after = with_values(
        BEFORE,
        {
            ("step", 0, "within"): "9 s",
            ("step", 1, "within"): "400 ms",
            ("step", 1, "until", 1): "word",
            ("step", 1, "x", "y", "within"): "12 min",
            ("script", "within"): "1 h",
        },
    )
    assert (
        after
        == """\
# a comment with within = "1 s"
[script]   # "within"
within = "1 h"     # the whole

[[step]]
name = "ä"
within   =  "9 s" # why, "4 s"
[[step]]
within = "400 ms"
until = ["within", "word" ]
x = { within = "2 s", y = { within = "12 min"} } # end"""
    )


def test_line_ends_of_other_systems_are_kept():
    before = BEFORE.replace("\n", "\r\n")
    after = with_values(before, {("step", 0, "within"): "9 s", ("step", 1, "x", "within"): "7 s"})
    assert after == before.replace("'30 s'", '"9 s"').replace('"2 s"', '"7 s"')


def test_spaces_and_comments_after_a_value_do_not_belong_to_it():
    text = "a = 12 # b\nc = 1979-05-27 07:32:00Z \t\nd = [ 1.5\t, true ]\n"
    found = {path: text[start:end] for path, (start, end) in spans_of(text).items()}
    assert found == {
        ("a",): "12",
        ("c",): "1979-05-27 07:32:00Z",
        ("d",): "[ 1.5\t, true ]",
        ("d", 0): "1.5",
        ("d", 1): "true",
    }


def test_nothing_to_change_changes_nothing():
    assert with_values(BEFORE, {}) == BEFORE


def test_a_path_without_a_value_is_refused():
    with pytest.raises(KeyError):
        with_values(BEFORE, {("step", 7, "within"): "9 s"})


@pytest.mark.parametrize("value", ['9 s"', "9\\u0020s", "9\ns", "9\rs"])
def test_what_would_need_escaping_is_refused(value):
    with pytest.raises(ValueError, match="without escapes"):
        with_values(BEFORE, {("script", "within"): value})


@given(files(), st.data(), st.booleans())
def test_in_generated_files_one_value_becomes_another_and_the_rest_stays(generated, data, crlf):
    text, _ = generated
    # A lone carriage return in front of a new line would become part of it.
    assume("\r" not in text)
    text = text.replace("\n", "\r\n") if crlf else text
    values = tomllib.loads(text)
    texts = sorted((path for path in paths_of(values) if isinstance(value_at(values, path), str)), key=str)
    assume(texts)
    path = data.draw(st.sampled_from(texts))
    after = with_values(text, {path: "30 s"})
    changed = copy.deepcopy(values)
    value_at(changed, path[:-1])[path[-1]] = "30 s"
    assert tomllib.loads(after) == changed
    start, end = spans_of(text)[path]
    assert tomllib.loads(f"x = {text[start:end]}") == {"x": value_at(values, path)}
    assert after == text[:start] + '"30 s"' + text[end:]


@given(files())
def test_in_generated_files_each_span_is_that_of_its_value(generated):
    text, _ = generated
    values = tomllib.loads(text)
    for path, (start, end) in spans_of(text).items():
        assert text[start:end] == text[start:end].strip()
        assert tomllib.loads(f"x = {text[start:end]}") == {"x": value_at(values, path)}
