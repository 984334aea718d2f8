"""Which recordings were removed by rule, so that the next one is still known to continue something."""

from __future__ import annotations

from typing import Final

import msgspec

LIST: Final = "discarded.jsonl"
"""Beside the recordings: a line for each that was removed."""


class Discarded(msgspec.Struct, frozen=True, kw_only=True):
    """A recording that was removed: enough for the next one to be recognised as its continuation."""

    file: str
    day: str
    facts: int
    last_crc: str
    discarded: str
    """On which date."""
    rule: str
