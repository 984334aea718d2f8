"""Each job that a script starts is stopped by its tidy-up, which runs whatever happened."""

from __future__ import annotations

import pytest

from tests.folder.folder_writing import FILES, mistakes_in, with_edit

pytestmark = pytest.mark.pure


def test_a_job_that_only_a_step_stops_would_be_forgotten_when_the_script_fails_before_it():
    in_tidy_up = '[[tidy_up]]\nname = "stop-sums"'
    files, _ = with_edit("round.toml", in_tidy_up, in_tidy_up.replace("tidy_up", "step"))
    _, line = with_edit("round.toml", 'type = "BEGIN SUMS', "")
    found = [m for m in mistakes_in(files) if (m.file, m.line) == ("round.toml", line)]
    assert ["{begin-sums.job}" in m.what for m in found] == [True]
    assert mistakes_in(FILES) == []


SAME_LINE = {
    'typed = "BEGIN SHUTTLE LOWER {minutes: number} MINUTES"\nbegun = "shuttle-begun"\n': None,
    'typed = "BEGIN SHUTTLE LOWER"\nbegun = "shuttle-begun-without-end"\n': (
        'typed = "BEGIN WEAVE LOWER {minutes: number} MINUTES"\nbegun = "shuttle-begun"\n'
    ),
}
"""What the machine's shuttle exercisers have, and what they have when both begin with the same line."""


def with_a_weave(command: str) -> dict[str, bytes]:
    """Return the Whimbrel's files with two exercisers that begin with the same line, and a step for each."""
    machine = FILES["machine.toml"].decode()
    for old, new in SAME_LINE.items():
        assert old in machine
        machine = machine.replace(old, new or old)
    step, by_number = '[[step]]\nname = "begin-shuttle"', '[[tidy_up]]\nname = "stop-shuttle"'
    round_ = FILES["round.toml"].decode()
    begins = round_[round_.index(step) :].partition("\n\n")[0]
    stops = round_[round_.index(by_number) :].partition("\n\n")[0]
    weave = begins.replace("SHUTTLE", "WEAVE").replace("begin-shuttle", "begin-weave")
    weave = weave.replace("BEGIN WEAVE LOWER 4 MINUTES", command)
    stop_weave = stops.replace("begin-shuttle", "begin-weave").replace("stop-shuttle", "stop-weave")
    round_ = round_.replace(begins, f"{begins}\n\n{weave}").replace(stops, f"{stops}\n\n{stop_weave}")
    return {**FILES, "machine.toml": machine.encode(), "round.toml": round_.encode()}


def test_the_command_decides_which_of_two_exercisers_with_the_same_line_a_step_starts():
    assert mistakes_in(with_a_weave("BEGIN WEAVE LOWER 4 MINUTES")) == []


def test_a_command_that_fits_neither_of_them_is_one_mistake_that_names_both():
    (found,) = mistakes_in(with_a_weave("BEGIN LOOM LOWER 4 MINUTES"))
    assert "this starts shuttle or shuttle-without-end, but doesn't fit" in found.what
    assert "BEGIN SHUTTLE LOWER {" in found.write_instead
    assert "BEGIN WEAVE LOWER {" in found.write_instead


def test_a_job_is_named_after_the_command_that_starts_it():
    files = with_a_weave("BEGIN WEAVE LOWER 4 MINUTES")
    text = files["round.toml"].decode().replace("STOP {begin-weave.job}", "STOP {begin-shuttle.job}")
    (found,) = mistakes_in({**files, "round.toml": text.encode()})
    assert found.what.startswith("this starts shuttle-without-end, but no tidy-up step stops it")
