"""Exercisers, marks of parts, disc errors, packs and limits are read, and impossible values are found."""

from __future__ import annotations

import pytest

from exhibit.decisions.machine.wear_rules import Limits
from exhibit.decisions.session.limits import begun_by
from exhibit.facts.units import H_US, duration_us
from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.reading.wear import count_of, hours_us, or_none, time_min
from exhibit.folder.whole import folder_from, read_folder
from tests.folder.folder_writing import FILES, ROOT, mistakes_in, with_edit

pytestmark = pytest.mark.pure


def test_the_demonstrations_exercisers_are_read():
    machine = folder_from(FILES, "whimbrel").machine
    shuttle = next(one for one in machine.exercisers if one.name == "shuttle")
    assert (shuttle.part, shuttle.writes, shuttle.longest_us) == ("lower-drive", "lower-drive", H_US)
    endless = next(one for one in machine.exercisers if one.longest_us is None)
    assert endless.because
    assert machine.marks["lower-drive"].stopped == ("lower-stopped", "closing.stop-lower")
    assert machine.error_signs.readings == ("board.disc-errors",)


def test_the_loads_of_the_posix_round_are_exercisers_without_limits():
    posix = read_folder(ROOT / "scripts/posix")
    begun = begun_by(posix.scripts["round"], posix.machine)
    assert [exerciser.name for exerciser, _ in begun] == ["disc-load", "processor-load"]
    assert posix.limits == Limits()


def test_a_limit_that_is_none_is_no_limit():
    limits = folder_from(FILES, "whimbrel").limits
    assert limits.hour_us == 100 * 60 * 1_000_000
    assert limits.starts_a_day == 60
    assert limits.closes_min is limits.last_round_min is limits.day_us is None


@pytest.mark.parametrize(("file", "old", "new", "said"), [
    ("machine.toml", 'begun = "shuttle-begun"\n', 'begun = "shuttel"\n', 'no line is named "shuttel"'),
    ("machine.toml", 'minutes = "minutes"', 'minutes = "hours"', 'no place for a number named "hours"'),
    ("machine.toml", 'job = "job"', 'job = "task"', 'no place for a number named "task"'),
    ("machine.toml", 'longest = "none"\nbecause', 'longest = "60 min"\nbecause', 'no key "because"'),
    ("machine.toml", 'longest = "60 min"', 'longest = "none"', "lacks because"),
    ("machine.toml", 'writes = "lower-drive"', 'writes = "drum"', 'no part is named "drum"'),
    ("machine.toml", '"upper-stopped", "closing.stop-upper"', '"closing.let-it-be"', "a person confirms"),
    ("machine.toml", '"upper-stopped", "closing.stop-upper"', '"ending.stop-upper"', 'no script is named'),
    ("machine.toml", '"upper-stopped", "closing.stop-upper"', '"uper-stopped"', "no line or interruption"),
    ("machine.toml", 'may_be_written = true\noriginal = false', 'may_be_written = true\noriginal = true',
     "never be written on"),
    ("machine.toml", 'label = "SALLOW 1"\ndrive = "upper-drive"\nmay_be_written = false\noriginal = false',
     'label = "SALLOW 1"\ndrive = "upper-drive"\nmay_be_written = false\noriginal = true',
     "while one is mounted nothing runs unattended"),
    ("machine.toml", 'may_be_written = true', 'may_be_written = false', "no pack for that drive may"),
    ("round.toml", 'SHUTTLE LOWER 4 MINUTES"', 'SHUTTLE LOWER 4 PASSES"', "nobody knows how long"),
    ("round.toml", 'until = ["shuttle-begun"]', 'until = ["desk-tides"]', "doesn't wait for"),
    ("round.toml", "SUMS 4 MINUTES", "SUMS 97 MINUTES", "round runs exercisers for 101 min in all"),
    ("day.toml", 'last_round = "none"', 'last_round = "half past four"', "not a time of day"),
    ("day.toml", 'closes = "none"', 'closes = "24:00"', "not a time of day"),
    ("day.toml", '"60 starts"', '"60"', "not a number of starts"),
    ("day.toml", '"60 errors"', '"60 starts"', "not a number of errors"),
    ("day.toml", '"9000 h"', '"1 year"', "not a number of hours"),
    ("day.toml", '"100 min"', '"100"', "does not say its unit"),
])  # fmt: skip
def test_each_impossible_value_is_found(file, old, new, said):
    text = FILES[file].decode()
    assert old in text
    found = mistakes_in({**FILES, file: text.replace(old, new, 1).encode()})
    ours = [mistake for mistake in found if said in mistake.what]
    assert len(ours) == 1, found
    where = "round.toml" if said == "no pack for that drive may" else file
    where = "opening.toml" if "unattended" in said else where
    where = "day.toml" if "101 min" in said else where
    assert ours[0].file == where
    assert ours[0].write_instead


def test_the_last_round_is_not_after_the_closing_time():
    def with_times(last_round: str) -> list:
        day = FILES["day.toml"].decode().replace('last_round = "none"', f'last_round = "{last_round}"')
        return mistakes_in({**FILES, "day.toml": day.replace('closes = "none"', 'closes = "17:00"').encode()})

    assert with_times("17:00") == []
    assert ["after the museum closes" in mistake.what for mistake in with_times("17:01")] == [True]


def test_a_round_just_within_the_limit_of_an_hour_is_in_order():
    text = FILES["round.toml"].decode().replace("SUMS 4 MINUTES", "SUMS 96 MINUTES")
    assert mistakes_in({**FILES, "round.toml": text.encode()}) == []


@pytest.mark.parametrize(("read", "text", "value"), [
    (time_min, "0:00", 0), (time_min, "16:30", 990), (time_min, "23:59", 1439),
    (hours_us, "1 h", H_US), (hours_us, "9999 h", 9999 * H_US),
    (count_of("starts"), "0 starts", 0), (count_of("errors"), "30 errors", 30),
    (or_none(duration_us), "none", None), (or_none(time_min), "none", None),
])  # fmt: skip
def test_values_with_units_are_parsed(read, text, value):
    assert read(text) == value


@pytest.mark.parametrize(("read", "text"), [
    (time_min, "16.30"), (time_min, "16:60"), (time_min, "4 pm"), (hours_us, "0 h"), (hours_us, "90 min"),
    (count_of("starts"), "4"), (count_of("starts"), "4 errors"), (or_none(duration_us), "no"),
])  # fmt: skip
def test_what_is_none_of_them_says_what_to_write(read, text):
    with pytest.raises(ValueMistake) as caught:
        read(text)
    assert caught.value.write_instead


def test_an_exercisers_unknown_number_is_not_reported_again_at_the_scripts_that_start_it():
    files, line = with_edit("machine.toml", 'job = "job"', 'job = "task"')
    assert [(m.file, m.line) for m in mistakes_in(files)] == [("machine.toml", line)]


@pytest.mark.parametrize(("typed", "is_known"), [
    ("BEGIN SHUTTLE LOWER {minutes: number} MINUTES", True),
    ("BEGIN SHUTTLE LOWER {minutes: one word} MINUTES", False),
    ("BEGIN SHUTTLE LOWER {for: number} MINUTES", False),
])  # fmt: skip
def test_the_minutes_can_stand_in_the_command_alone(typed, is_known):
    machine = FILES["machine.toml"].decode()
    line = 'line = "JOB {job: number} BEGUN: SHUTTLE LOWER {minutes: number} MINUTES"'
    command = 'typed = "BEGIN SHUTTLE LOWER {minutes: number} MINUTES"'
    assert line in machine
    assert command in machine
    machine = machine.replace(line, 'line = "JOB {job: number} BEGUN: SHUTTLE LOWER FOR A WHILE"')
    files = {**FILES, "machine.toml": machine.replace(command, f'typed = "{typed}"').encode()}
    found = [mistake.what for mistake in mistakes_in(files) if "place for a number" in mistake.what]
    said = 'typed and the line in begun have no place for a number named "minutes"'
    assert found == [] if is_known else found == [said]


def test_the_number_of_a_job_stands_in_the_line_that_says_that_it_has_begun():
    files, _ = with_edit(
        "machine.toml", 'job = "job"\nminutes = "minutes"', 'job = "minutes"\nminutes = "none"'
    )
    text = (
        files["machine.toml"]
        .decode()
        .replace("BEGUN: SHUTTLE LOWER {minutes: number} MINUTES", "BEGUN: SHUTTLE FOR A WHILE")
    )
    found = [mistake.what for mistake in mistakes_in({**files, "machine.toml": text.encode()})]
    assert 'the line in begun has no place for a number named "minutes"' in found
