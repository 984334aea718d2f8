"""What the docent's page needs to know about a machine's folder."""

from __future__ import annotations

import msgspec

from exhibit.facts.fact import Words


class TidyStep(msgspec.Struct, frozen=True, kw_only=True):
    """A step of a script's tidy-up."""

    name: str
    within_us: int
    """Its time limit on the recording's clock, or how long it pauses; 0 if it takes no time."""
    needs: list[str] = []
    """The steps whose number from the machine it types: if one of them never ran, it is left out."""


class HandStep(msgspec.Struct, frozen=True, kw_only=True):
    """A step by hand, as the page lists it where no script asks for it any more."""

    name: str
    words: Words
    caution: Words = {}


class ForDocent(msgspec.Struct, frozen=True, kw_only=True):
    """What the docent's page says besides what happens."""

    mains_stop: Words = {}
    """Where it is."""
    keyholder: Words = {}
    """Whom to call."""
    two_people: Words = {}
    """Who else must be there, and when."""
    by_hand: dict[str, list[str]] = {}
    """By script: the steps that a person does by hand, in order."""
    parts: dict[str, str] = {}
    """By step, as SCRIPT.STEP: the part of the machine that somebody starts or stops in it."""
    closing: list[HandStep] = []
    """The closing's steps by hand, in order."""
    closing_types: bool = False
    """Whether the closing types, or waits for the machine."""
    last_by_hand: list[str] = []
    """The closing's last steps, behind the last one that types or waits for the machine."""
    tidy_ups: dict[str, list[TidyStep]] = {}
    """By script: the steps of its tidy-up."""
