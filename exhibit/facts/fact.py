"""What all kinds of fact have in common."""

from __future__ import annotations

import re
from typing import Literal

import msgspec

Words = dict[str, str]
"""The same words in each language, by language tag (BCP 47): {"en": "...", "de": "..."}."""

Outcome = Literal["done", "failed", "stopped"]
CaptionKind = Literal["seen", "look or listen for", "background"]


def name_on_disc(class_name: str) -> str:
    """The name on disc of a fact's class: BytesReceived is bytes_received."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", class_name).lower()


class Fact(msgspec.Struct, frozen=True, kw_only=True, tag_field="fact", tag=name_on_disc):
    """Something that happened."""
