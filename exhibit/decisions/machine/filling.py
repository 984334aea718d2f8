"""Fills the places of a command: dates for the machine's calendars, numbers that the machine gave."""

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
    """A command names a number that the machine hasn't given; the message says which."""


def fill(
    command: str,
    seen: Mapping[str, Mapping[str, str]],
    calendars: Mapping[str, Calendar],
    now: datetime.datetime,
    *,
    agreed: bool = False,
) -> str:
    """The command with its places filled. `seen` holds, by step, the fields of what that step waited for.

    `agreed`: a person has been asked whether its date may be told. Raises NotKnownYet, DateInDoubt where
    one must be asked first, and ScriptError when a calendar can't hold the year.
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
    """Step and field of each number that the machine gave and the command names: of a job, most often."""
    named = (STEP_FIELD.fullmatch(inner.strip()) for inner in PLACE.findall(command))
    return [(found.group(1), found.group(2)) for found in named if found]
