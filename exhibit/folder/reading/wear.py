"""Reads what wear is counted by: [exercisers], [disc_errors], a part's marks, and [limits] of day.toml."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeVar

import msgspec

from exhibit.decisions.machine.description import Interruption, LinePattern, StatusDisplay
from exhibit.decisions.machine.wear_rules import ErrorSigns, Exerciser, Limits, Marks
from exhibit.facts.units import H_US, MIN_US, UnitMistake, duration_us
from exhibit.folder.reading.languages import Beside, read_beside
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.troubles import CAUTION, read_bring, read_caution
from exhibit.folder.reading.values import ValueMistake, intended_name, pattern_of, places_of

NONE: Final = "none"
NOTHING: Final = "nothing"
BEFORE_DOORS: Final = " before the doors close"
WITH_DOORS: Final = "when the doors close"
_EXERCISE: Final = ("exercise_an_hour", "exercise_a_day", "exercise_a_year")
MOST_HOURS: Final = 9999
NOON_MIN: Final = 12 * 60
T = TypeVar("T")
COMMON_TO_EXERCISERS: Final = ("part", "writes", "longest", "ended", "refused", "stop_by_hand", CAUTION)
"""The keys that can stand in [exercisers], for each exerciser that doesn't have them."""
_COUNT: Final = re.compile(r"([0-9]{1,5}) (starts|errors|days)")
_HOURS: Final = re.compile(r"([0-9]{1,4}) h")
_TIME: Final = re.compile(r"([0-9]{1,2}):([0-9]{2})")


@dataclass
class MarksDraft:
    """What shows that a part was started or stopped, as read: lines and interruptions, and SCRIPT.STEP."""

    table: Table
    part: str
    started: LocatedTexts
    stopped: LocatedTexts

    def marks(self) -> Marks:
        """Return the marks without their positions."""
        return Marks(
            started=tuple(name for name, _ in self.started), stopped=tuple(name for name, _ in self.stopped)
        )


@dataclass
class LimitsDraft:
    """[limits] of day.toml as read, and the table, to which mistakes are added later."""

    table: Table
    limits: Limits

    def keeps_to_doors(self, key: str) -> bool:
        """Whether `key` isn't a time of day, but follows the doors."""
        before_min = self.limits.last_round_before_doors_min
        return before_min is not None if key == "last_round" else self.limits.closes_with_doors


def read_exerciser(
    name: str,
    table: Table,
    lines: dict[str, LinePattern],
    interruptions: Mapping[str, Interruption],
    parts: Collection[str],
    beside: list[Beside],
    *,
    has_packs: bool,
    tables: Collection[str] = (),
    troubles: Collection[str] = (),
) -> Exerciser:
    """Read [exercisers.NAME]. Its words go to `beside` if they stand here. Adds mistakes to the table.

    Without packs nothing can be spoilt by writing, so `writes` is then not required. `tables`: those on
    status displays, as DISPLAY.READING.
    """
    read_beside(table, name, {"stop_by_hand": "stop_by_hand"}, beside)
    read_caution(table, beside)
    typed = table.pattern("typed", "BEGIN SHUTTLE {minutes: number} MINUTES")
    begun = table.name("begun", "shuttle-begun", default=name if table.is_sure("begun") else None)
    places: dict[str, str] | None = None
    if begun in lines:
        places = places_of(lines[begun].pattern.text)
    table.look_up(("begun",), begun, lines, "line")
    is_endless = table.data.get("longest") == NONE
    ended = table.texts("ended", '["job-ended"]', at_least_one=is_endless, default=None if is_endless else [])
    ended = _with_patterns(table, name, ended, lines)
    for other, below in ended:
        table.look_up(below, other, [*lines, *interruptions], "line or interruption")
    fallback: int | None = 1
    longest_us = table.read("longest", "15 min", fallback, or_none(duration_us))
    because = ""
    if longest_us is None:
        because = table.text("because", "the machine has no such command")
    elif "longest" not in table:
        table.allow("because")
    unknown_job = "" if places is None else None
    numbers = [place for place, kind in (places or {}).items() if kind == "number"]
    table.allow("called")
    called = table.text("called", "SHUTTLE") if "called" in table else ""
    listed = _signs(table, "listed", [*lines, *tables], "line or table")
    none_listed = _signs(table, "none_listed", [*lines, *tables], "line or table")
    if not called and (named := [one for one in (*listed, *none_listed) if one in tables]):
        what = f"{named[0]} lists jobs by the names of their programs, but called doesn't give that name"
        table.wrong((), what, 'called = "SHUTTLE", as the table calls it')
    exerciser = Exerciser(
        name=name,
        typed=typed,
        begun=begun,
        job=_place(table, "job", "job", places, default=numbers[0] if len(numbers) == 1 else unknown_job),
        minutes=_place(
            table,
            "minutes",
            "minutes",
            None if places is None else {**places_of(typed.text), **places},
            of="typed and the line in begun have no place",
            may_be_none=True,
            default=NONE,
        ),
        ended=tuple(other for other, _ in ended),
        part=_part(table, "part", parts, default=_part_named(name, parts)),
        writes=_part(table, "writes", parts, may_be_nothing=True, default=None if has_packs else NOTHING),
        longest_us=longest_us,
        because=because,
        called=called,
        listed=listed,
        none_listed=none_listed,
        refused=_signs(table, "refused", [*lines, *troubles], "line or trouble"),
    )
    for line in listed:
        if (
            line in lines
            and exerciser.job
            and places_of(lines[line].pattern.text).get(exerciser.job) != "number"
        ):
            what = f'the line {line} has no place for a number named "{exerciser.job}"'
            table.wrong("listed", what, f"a line with {{{exerciser.job}: number}}, the number of the job")
    table.close()
    return exerciser


def read_error_signs(
    table: Table, lines: Mapping[str, LinePattern], displays: Mapping[str, StatusDisplay]
) -> ErrorSigns:
    """Read [disc_errors]. Adds mistakes to the table."""
    numbers = [
        f"{display.name}.{reading.name}"
        for display in displays.values()
        for reading in display.readings
        if reading.kind == "number"
    ]
    signs = ErrorSigns(
        readings=_names(table, "readings", "board.disc-errors", numbers, "reading that is a number"),
        lines=_names(table, "lines", "log-entry", lines, "line"),
        anew=_names(table, "anew", "system-started", lines, "line"),
        bring=read_bring(table),
    )
    table.close()
    return signs


def read_limits(table: Table, *, is_exercised: bool) -> LimitsDraft:
    """Read [limits] of day.toml. Adds mistakes to the table.

    What wears a machine is never unlimited by default: if it is exercised, one of those limits is required.
    """
    is_decided = not is_exercised or any(key in table or not table.is_sure(key) for key in _EXERCISE)

    def limit(key: str, example: str, parse: Callable[[str], int]) -> int | None:
        default = None if key == _EXERCISE[0] and not is_decided else NONE
        return table.read(key, example, None, or_none(parse), default=default)

    limits = Limits(
        hour_us=limit("exercise_an_hour", "40 min", duration_us),
        day_us=limit("exercise_a_day", "6 h", duration_us),
        year_us=limit("exercise_a_year", "800 h", hours_us),
        starts_a_day=limit("starts_a_day", "4 starts", count_of("starts", 1)),
        errors_a_day=limit("errors_a_day", "30 errors", count_of("errors")),
        errors_an_hour=limit("errors_an_hour", "12 errors", count_of("errors")),
    )
    limits = msgspec.structs.replace(limits, **_times_of_day(table))
    table.close()
    return LimitsDraft(table, limits)


def _times_of_day(table: Table) -> dict[str, Any]:
    unknown: tuple[int | None, int | None] = (None, None)
    open_end: tuple[int | None, bool] = (None, False)
    last_min, before_min = table.read("last_round", "16:30", unknown, _last_round, default=NONE)
    closes_min, with_doors = table.read("closes", "17:00", open_end, _closes, default=NONE)
    if last_min is not None and closes_min is not None and last_min > closes_min:
        what = "the last round begins after the museum closes"
        table.wrong("last_round", what, "an earlier last_round, or a later closes")
    for key, minute, what in (
        ("last_round", last_min, "no round"),
        ("closes", closes_min, "no opening and no round"),
    ):
        if minute == 0:
            what = f"a day begins at 0:00, so {what} could ever begin"
            table.wrong(key, what, f'{key} = "{NONE}", or a time')
        elif minute is not None and minute < NOON_MIN:
            afternoon = f'{key} = "{minute // 60 + 12}:{minute % 60:02}", if the afternoon is meant'
            what = f"this time is in the morning, and from then until midnight {what} begins"
            table.advise(key, what, afternoon)
    return {
        "last_round_min": last_min,
        "last_round_before_doors_min": before_min,
        "closes_min": closes_min,
        "closes_with_doors": with_doors,
    }


def _last_round(text: str) -> tuple[int | None, int | None]:
    """A time of day, or how long before the doors close."""
    before = f'"30 min{BEFORE_DOORS}"'
    if not text.endswith(BEFORE_DOORS):
        return _or_doors(text, before), None
    try:
        return None, duration_us(text.removesuffix(BEFORE_DOORS)) // MIN_US
    except UnitMistake as mistake:
        raise ValueMistake(mistake.what, before) from mistake


def _closes(text: str) -> tuple[int | None, bool]:
    """A time of day, or with the doors."""
    return (None, True) if text == WITH_DOORS else (_or_doors(text, f'"{WITH_DOORS}"'), False)


def _or_doors(text: str, doors: str) -> int | None:
    try:
        return or_none(time_min)(text)
    except ValueMistake as mistake:
        raise ValueMistake(mistake.what, f"{mistake.write_instead}, or {doors}") from mistake


# -- values --------------------------------------------------------------------------------------


def or_none(parse: Callable[[str], T]) -> Callable[[str], T | None]:
    """Return a parser that gives None for "none" and otherwise does what `parse` does."""

    def parse_or_none(text: str) -> T | None:
        try:
            return None if text == NONE else parse(text)
        except (UnitMistake, ValueMistake) as mistake:
            write = f'{mistake.write_instead}, or "{NONE}"'
            raise ValueMistake(mistake.what, write) from mistake

    return parse_or_none


def hours_us(text: str) -> int:
    """Return the microseconds of whole hours such as "800 h". Raises ValueMistake."""
    found = _HOURS.fullmatch(text)
    if found is None or not int(found[1]):
        raise ValueMistake(f'"{text}" is not a number of hours', f'"800 h", at most "{MOST_HOURS} h"')
    return int(found[1]) * H_US


def count_of(what: str, least: int = 0) -> Callable[[str], int]:
    """Return a parser of counts such as "4 starts" or "30 errors", which raises ValueMistake."""

    def parse(text: str) -> int:
        found = _COUNT.fullmatch(text)
        if found is None or found[2] != what or int(found[1]) < least:
            wanted = f"a number of {what}" + (f", {least} or more" if least else "")
            raise ValueMistake(f'"{text}" is not {wanted}', f'"{max(12, least)} {what}"')
        return int(found[1])

    return parse


def time_min(text: str) -> int:
    """Return the minutes after midnight of a time such as "16:30". Raises ValueMistake."""
    found = _TIME.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise ValueMistake(f'"{text}" is not a time of day', '"16:30"')
    return int(found[1]) * 60 + int(found[2])


# -- names ---------------------------------------------------------------------------------------


def _place(
    table: Table,
    key: str,
    example: str,
    places: Mapping[str, str] | None,
    *,
    of: str = "the line in begun has no place",
    may_be_none: bool = False,
    default: str | None = None,
) -> str:
    """Return the name of one of these places, for a number; "" for "none" and after a mistake.

    `of` begins the mistake.
    """
    name = table.text(key, example, default=default)
    if may_be_none and name == NONE:
        return ""
    if name and places is not None and places.get(name) != "number":
        numbers = [place for place, kind in places.items() if kind == "number"]
        near = intended_name(name, numbers)
        others = ", ".join([*numbers, *([NONE] if may_be_none else [])])
        write = f"one of: {others}" if others else "the name of a number, once there is a place for it"
        what = f'{of} for a number named "{name}"'
        table.wrong(key, what, f'{key} = "{near}"' if near else f"{key} = {write}")
        return ""
    return name


def _part(
    table: Table,
    key: str,
    parts: Collection[str],
    *,
    may_be_nothing: bool = False,
    default: str | None = None,
) -> str:
    name = table.name(key, "lower-drive", default=default)
    if may_be_nothing and name == NOTHING:
        return ""
    table.look_up((key,), name, [*parts, *([NOTHING] if may_be_nothing else [])], "part")
    return name


def _part_named(name: str, parts: Collection[str]) -> str | None:
    """Return the part with whose name that of the exerciser begins, if there is one."""
    found = [part for part in parts if f"{name}-".startswith(f"{part}-")]
    return max(found, key=len, default=None)


def _with_patterns(
    table: Table, name: str, ended: LocatedTexts, lines: dict[str, LinePattern]
) -> LocatedTexts:
    """Return the names of all signs; a pattern that stands in place of a name is added to the lines."""
    names: LocatedTexts = []
    for text, below in ended:
        if " " in text.strip():
            line = free = f"{name}-ended"
            number = 2
            while line in lines:
                line, number = f"{free}-{number}", number + 1
            try:
                lines[line] = LinePattern(name=line, pattern=pattern_of(text, False), below="")
            except ValueMistake as mistake:
                table.wrong(below, f"ended: {mistake.what}", mistake.write_instead)
                continue
            text = line
        names.append((text, below))
    return names


def _signs(table: Table, key: str, known: Collection[str], kind: str) -> tuple[str, ...]:
    """Return the names in a key that can be missing."""
    return _names(table, key, "no-jobs", known, kind)


def _names(table: Table, key: str, example: str, known: Collection[str], kind: str) -> tuple[str, ...]:
    names = table.texts(key, f'["{example}"]', default=[])
    for name, below in names:
        table.look_up(below, name, known, kind)
    return tuple(name for name, _ in names)
