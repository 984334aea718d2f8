"""What visitors can look at and read beside the captions: the parts in their row, and the written cards."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Words

PartShape = Literal["cabinet", "drive", "desk", "chest"]
PartState = Literal["working", "being restored", "kept for spares"]


class PartDrawn(msgspec.Struct, frozen=True, kw_only=True):
    """How a part is drawn in the row of cabinets, and what is known of it."""

    shape: PartShape
    cabinet: str
    """Parts of the same cabinet are drawn one over the other, the first at the top."""
    width_cm: int
    height_cm: int
    state: PartState
    joins: list[str]
    """The parts that a cable leads to."""


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A short text of background, as a museum wrote it. One that is named like a part is about that part."""

    name: str
    title: Words
    text: Words
    """Paragraphs, a blank line between them; a line beginning with "- " is a figure: name, colon, value."""
    source: Words
    """Where it is written."""
