"""A script that is to run next."""

from __future__ import annotations

from typing import Final

import msgspec

ROUND: Final = "round"


class Planned(msgspec.Struct, frozen=True):
    """A script to run; `round` counts from 1 and is 0 outside the rounds."""

    script: str
    round: int
