"""Scripts and captions as their files describe them: plain data, already checked."""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.wear_rules import Limits
from exhibit.facts.kinds import CaptionKind, Words
from exhibit.facts.parts_and_cards import Card
from exhibit.facts.session_facts import WhatThen
from exhibit.facts.visitor_words import Ahead, ExerciserWords

SIMULATED_DOCENT: Final = "the simulated docent"
"""By this name a recording knows the person who does the hands-on steps at the simulated machine."""
DOCENT_AT_A_LOSS: Final = "nobody told the simulated docent what to do when a step is late"
"""Why the simulated docent asks for a stop."""


class WhenLate(msgspec.Struct, frozen=True):
    """What becomes of a step when its time is up; `times`: how often its command is typed again at most."""

    then: WhatThen
    times: int = 0


STOP = WhenLate("stop")


HOME: Final = "home"
"""The name under which the steps of the way home stand in a recording, as those of a script."""
SILENT: Final = "silent"
"""The place of a machine that is off or unplugged, as far as can be heard."""


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """A step of a script. What it does is said by its class."""

    name: str
    late: WhenLate = STOP


class HandsOn(Step, frozen=True, kw_only=True):
    """A person does something and confirms it."""

    words: Words
    caution: Words
    within_us: int


class CheckPack(Step, frozen=True, kw_only=True):
    """A person confirms that the named pack is mounted as the machine's folder says, or that it is out."""

    pack: str
    out: bool = False
    words: Words
    caution: Words
    within_us: int


class StepAtPlace(Step, frozen=True, kw_only=True):
    """A step at one of the prompts or displays in `at`: until the console stands there, it waits.

    Where it stands elsewhere, a step that is `only_if_there` is left out; in a tidy-up every step is.
    """

    at: tuple[str, ...]
    only_if_there: bool = False


class TypeCommand(StepAtPlace, frozen=True, kw_only=True):
    """A command is typed at a prompt, and what follows is waited for.

    `command` may name a date as {date: CALENDAR} and a number that the machine gave earlier in the
    same script as {STEP.FIELD}, which is field FIELD of the line for which step STEP waited.
    """

    command: str
    until: tuple[str, ...]
    within_us: int
    lifts: str = ""
    """What is never typed but by this step: the pattern, which machine.toml lifts with a reason."""


class TypeSecret(StepAtPlace, frozen=True, kw_only=True):
    """A secret is typed at its prompt."""

    secret: str
    until: tuple[str, ...]
    within_us: int


class PressKey(StepAtPlace, frozen=True, kw_only=True):
    """One key is pressed, without RETURN. With an empty `at` only where nothing that we know stands."""

    key: str
    until: tuple[str, ...]
    within_us: int


class Wait(Step, frozen=True, kw_only=True):
    """Something is waited for."""

    until: tuple[str, ...]
    within_us: int


class Pause(Step, frozen=True, kw_only=True):
    """Nothing is typed for a while."""

    pause_us: int


class ReadDisplay(Step, frozen=True, kw_only=True):
    """A whole frame of a status display is waited for and read.

    Where something else stands, one that is `only_if_there` is left out.
    """

    display: str
    only_if_there: bool = False
    within_us: int


class GiveCaption(Step, frozen=True, kw_only=True):
    """A caption is shown."""

    caption: str


AnyStep = HandsOn | CheckPack | TypeCommand | TypeSecret | PressKey | Wait | Pause | ReadDisplay | GiveCaption


class Script(msgspec.Struct, frozen=True, kw_only=True):
    """A scripted operator session and the tidy-up that ends it whatever happened."""

    name: str
    title: Words
    within_us: int
    steps: tuple[AnyStep, ...]
    tidy_up: tuple[AnyStep, ...]


class WayHome(msgspec.Struct, frozen=True, kw_only=True):
    """How it is found out where the console stands, and how to get from there to where scripts begin."""

    title: Words
    listen_us: int
    """So long nothing may have come before a key is typed, or before what stands there counts."""
    answer_us: int
    """How long the machine may take to begin to answer such a key."""
    within_us: int
    """For the steps of one way."""
    home: tuple[str, ...]
    """The landmarks at which a script begins that `begins` doesn't name."""
    begins: dict[str, tuple[str, ...]]
    """By script: the landmarks at which it begins; "silent" where nothing is to be heard."""
    ways: dict[str, tuple[AnyStep, ...]]
    """By landmark: the steps that lead home from there, or on to the next landmark."""

    def begins_at(self, script: str) -> tuple[str, ...]:
        """The landmarks at which this script may begin."""
        return self.begins.get(script, self.home)

    def from_place(self, landmark: str) -> Script | None:
        """The steps from there as a script to be run; None where there is no way from there."""
        steps = self.ways.get(landmark, ())
        if not steps:
            return None
        return Script(name=HOME, title=self.title, within_us=self.within_us, steps=steps, tidy_up=())


class Trigger(msgspec.Struct, frozen=True, kw_only=True):
    """What makes a caption appear. Exactly one of the fields is not empty, or none: then a step gives it."""

    when: str = ""
    """The name of a prompt, a line or a display that has come."""
    step_started: str = ""
    """SCRIPT.STEP"""
    step_done: str = ""
    """SCRIPT.STEP"""
    reading: str = ""
    """DISPLAY.READING has changed as `change` says."""
    change: str = ""
    """One of reading_changes.CHANGES; only with `reading`."""
    number: float = 0.0
    """What is crossed, or what it is above or below (above: that number or more)."""
    for_us: int = 0
    """For how long it stays so."""


class Caption(msgspec.Struct, frozen=True, kw_only=True):
    """A caption of the story. `words` may name fields of its trigger as {FIELD}; a reading is {value}."""

    name: str
    kind: CaptionKind
    trigger: Trigger
    part: str
    words: Words
    source: Words
    """Background only: where it is written."""
    confirmed_by: str
    """Look or listen for only: SCRIPT.STEP, the hands-on step by which a person confirmed the tell-tale."""


class Folder(msgspec.Struct, frozen=True, kw_only=True):
    """A machine's folder, read and checked."""

    machine: Machine
    scripts: dict[str, Script]
    captions: tuple[Caption, ...]
    rest_us: int
    """The pause between two rounds."""
    limits: Limits = Limits()
    second_language: str = ""
    """The tag of the language that stands beneath the first where nobody has chosen."""
    digests: dict[str, str]
    """SHA-256 of each file, by its name within the folder."""
    cards: tuple[Card, ...] = ()
    """The cards of background."""
    way_home: WayHome | None = None
    """None: a script begins wherever the console stands, and waits for its own prompts."""
    ahead: dict[str, Ahead] = {}
    """What visitors are told beforehand."""
    glosses: dict[str, Words] = {}
    """What stands beside prompts, lines and displays on the mirrored console, by their names."""
    exercisers: dict[str, ExerciserWords] = {}
    """What is said of exercisers that may be running while nobody can see it."""
    simulated_docent: dict[str, dict[str, tuple[str, ...]]] = {}
    """What the simulated docent does at the front, by script and step; empty for a real machine."""
