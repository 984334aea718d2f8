"""Fills the places in a command: dates for the machine's calendars, and numbers that the machine printed."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from typing import Final

from exhibit.decisions.machine.calendars import date_for
from exhibit.decisions.machine.description import Calendar

PLACE: Final = re.compile(r"\{([^{}]*)\}")
DATE: Final = re.compile(r"date: *([a-z][a-z0-9-]*)")
STEP_FIELD: Final = re.compile(r"([a-z][a-z0-9-]*)\.([a-z][a-z0-9_]*)")


class NotKnownYet(Exception):
    """A command names a number that the machine hasn't printed yet; the message says which."""


def fill(
    command: str,
    seen: Mapping[str, Mapping[str, str]],
    calendars: Mapping[str, Calendar],
    now: datetime.datetime,
    *,
    agreed: bool = False,
) -> str:
    """The command with its places filled. `seen`: by step, the fields of the line that the step waited for.

    `agreed`: a person has agreed to the date. Raises NotKnownYet; DateInDoubt if a person must be asked
    first; ScriptError if a calendar can't hold the year.
    """

    def value(place: re.Match[str]) -> str:
        inner = place.group(1).strip()
        date = DATE.fullmatch(inner)
        if date:
            return date_for(calendars[date.group(1)], now, agreed=agreed)
        step, _, field = inner.partition(".")
        try:
            return seen[step][field]
        except KeyError:
            raise NotKnownYet(f"{field} of the step {step}") from None

    return PLACE.sub(value, command)


def numbers_named(command: str) -> list[tuple[str, str]]:
    """Step and field of each number from the machine that the command names, most often a job's number."""
    named = (STEP_FIELD.fullmatch(inner.strip()) for inner in PLACE.findall(command))
    return [(found.group(1), found.group(2)) for found in named if found]
