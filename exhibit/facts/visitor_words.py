"""What the page shows beside the captions: tell-tales, what comes next, how to stop exercisers."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Words

TellTaleKind = Literal["lamps", "sound"]
MachineState = Literal["idle", "busy", "seeking", "starting"]


class TellTale(msgspec.Struct, frozen=True, kw_only=True):
    """A lamp pattern or a sound that goes with a state of the machine.

    `begins`, `ends` and `confirmed_by` name steps as SCRIPT.STEP. The first two can also name prompts, lines,
    displays and interruptions, by which the machine itself shows that the state begins or ends.
    """

    kind: TellTaleKind
    state: MachineState
    part: str
    lamps: str
    """One character for each lamp: o dark, * lit, x blinking, ~ flickering. A space is a gap, / a new row."""
    begins: list[str]
    ends: list[str]
    at_most_us: int
    """The time after which nobody knows whether the state still lasts."""
    confirmed_by: list[str]
    """The steps by which a person confirms that day that the lamp or sound is right."""
    words: Words
    see_or_feel: Words
    """For a sound: what shows the same to people who can't hear it."""


class ExerciserWords(msgspec.Struct, frozen=True, kw_only=True):
    """What the page says about an exerciser that may be running while nobody can see it."""

    part: str
    """The part that it keeps busy."""
    stop_by_hand: Words
    begun: str = ""
    """The line with which the machine says that it has begun."""
    called: str = ""
    """What the machine calls the program; empty if unknown."""


class Ahead(msgspec.Struct, frozen=True, kw_only=True):
    """Something worth waiting for: it happens with step `step`, `usually_us` after step `begins`."""

    part: str
    begins: str
    step: str
    usually_us: int
    words: Words
    display: str = ""
    """The status display whose next frame it is, if it is one: once that is put away, none comes."""
