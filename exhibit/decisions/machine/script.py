"""Scripts and captions as their files describe them: plain, checked data."""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.opening_hours import OpeningHours
from exhibit.decisions.machine.wear_rules import Limits
from exhibit.facts.kinds import CaptionKind, Words
from exhibit.facts.parts_and_cards import Card, Emergency, PanelAct, Screen
from exhibit.facts.session_facts import WhatThen
from exhibit.facts.visitor_words import Ahead, Chapter, ExerciserWords

SIMULATED_DOCENT: Final = "the simulated docent"
"""Who does the hands-on steps at the simulated machine, as recordings name it."""
DOCENT_AT_A_LOSS: Final = "nobody told the simulated docent what to do when a step is late"
"""The reason that the simulated docent gives when it asks for a stop."""


class WhenLate(msgspec.Struct, frozen=True):
    """What to do with a step when its time is up; `times`: how often its command is typed again at most.

    A secret is typed again as soon as the machine has refused it.
    """

    then: WhatThen
    times: int = 0
    then_ask: bool = False
    """Once it can't be typed again, a person is asked; otherwise the step fails."""


STOP = WhenLate("stop")


CLOSING: Final = "closing"
ROUND: Final = "round"
"""The script that shuts the machine down at the end of a day."""
HOME: Final = "home"
"""The script's name under which a recording has the steps of the way home."""
SILENT: Final = "silent"
"""The place of a machine that sends nothing: it may be off or unplugged."""


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """A step of a script. Its class says what it does; every `within_us` is its time limit."""

    name: str
    late: WhenLate = STOP


class StepByHand(Step, frozen=True, kw_only=True):
    """A step in which a person has to do something and confirm it."""

    words: Words
    caution: Words
    within_us: int
    too_early: Words = {}
    """What to look at and do after "I did it too early"; empty if the folder doesn't say."""
    didnt: Words = {}
    """The same after "it didn't work"."""
    too_early_shows: tuple[str, ...] = ()
    """The troubles that show that it was done too early: it is then asked for again."""


class HandsOn(StepByHand, frozen=True, kw_only=True):
    """A person does something at the machine and confirms it."""

    panel: tuple[PanelAct, ...] = ()
    """What to do at the machine's switches and keys, in order."""


class CheckPack(StepByHand, frozen=True, kw_only=True):
    """A person confirms that the named pack is in its drive or, with `out`, that it has been taken out."""

    pack: str
    out: bool = False


class StepAtPlace(Step, frozen=True, kw_only=True):
    """A step at one of the prompts or displays in `at`: it waits until the console shows one of them.

    If the console shows another one, a step that is `only_if_there` is left out; in a tidy-up every step is.
    """

    at: tuple[str, ...]
    only_if_there: bool = False


class TypeCommand(StepAtPlace, frozen=True, kw_only=True):
    """Types a command at a prompt, then waits for one of `until`.

    `command` can name a date as {date: CALENDAR}, and a number that the machine printed earlier in the
    same script as {STEP.FIELD}: field FIELD of the line that step STEP waited for.
    """

    command: str
    until: tuple[str, ...]
    within_us: int
    lifts: str = ""
    """The pattern of `never` that only this step may type; machine.toml gives the reason."""


class TypeSecret(StepAtPlace, frozen=True, kw_only=True):
    """Types a secret at its prompt, then waits for one of `until`."""

    secret: str
    until: tuple[str, ...]
    within_us: int


class PressKey(StepAtPlace, frozen=True, kw_only=True):
    """Presses one key, without RETURN. If `at` is empty, only while no known prompt or display is showing."""

    key: str
    until: tuple[str, ...]
    within_us: int


class Wait(Step, frozen=True, kw_only=True):
    """Waits for one of `until`."""

    until: tuple[str, ...]
    within_us: int


class Pause(Step, frozen=True, kw_only=True):
    """Types nothing for this long."""

    pause_us: int


class ReadDisplay(Step, frozen=True, kw_only=True):
    """Waits for a whole frame of a status display and reads it.

    If the console shows something else, a step that is `only_if_there` is left out.
    """

    display: str
    only_if_there: bool = False
    within_us: int


class GiveCaption(Step, frozen=True, kw_only=True):
    """Shows a caption."""

    caption: str


AnyStep = HandsOn | CheckPack | TypeCommand | TypeSecret | PressKey | Wait | Pause | ReadDisplay | GiveCaption


class Script(msgspec.Struct, frozen=True, kw_only=True):
    """A scripted operator session, and the tidy-up that ends it whatever happens."""

    name: str
    title: Words
    within_us: int
    steps: tuple[AnyStep, ...]
    tidy_up: tuple[AnyStep, ...]

    @property
    def last_by_hand(self) -> tuple[str, ...]:
        """Its last steps, behind the last one that types or waits for the machine."""
        for place in range(len(self.steps), 0, -1):
            if not isinstance(self.steps[place - 1], StepByHand | Pause | GiveCaption):
                return tuple(step.name for step in self.steps[place:])
        return tuple(step.name for step in self.steps)


class WayHome(msgspec.Struct, frozen=True, kw_only=True):
    """How to find out what state the console is in, and how to get from there to where scripts begin."""

    title: Words
    listen_us: int
    """How long the line must be quiet before a key is typed, or before a landmark counts."""
    answer_us: int
    """How long the machine can take to start answering such a key."""
    within_us: int
    """The time limit for all steps of one way."""
    home: tuple[str, ...]
    """The landmarks at which every script begins that `begins` doesn't name."""
    begins: dict[str, tuple[str, ...]]
    """By script: the landmarks at which it begins; "silent" if the machine sends nothing."""
    ways: dict[str, tuple[AnyStep, ...]]
    """By landmark: the steps that lead from there home, or to the next landmark."""

    def begins_at(self, script: str) -> tuple[str, ...]:
        """The landmarks at which this script can begin."""
        return self.begins.get(script, self.home)

    def from_place(self, landmark: str) -> Script | None:
        """The steps from this landmark, as a script; None if the folder has no way from there."""
        steps = self.ways.get(landmark, ())
        if not steps:
            return None
        return Script(name=HOME, title=self.title, within_us=self.within_us, steps=steps, tidy_up=())


class Trigger(msgspec.Struct, frozen=True, kw_only=True):
    """What makes a caption appear: one of the first four fields. If all are empty, a step shows it."""

    when: str = ""
    """The name of a prompt, a line or a display that has appeared."""
    step_started: str = ""
    """SCRIPT.STEP"""
    step_done: str = ""
    """SCRIPT.STEP"""
    reading: str = ""
    """DISPLAY.READING has changed as `change` says."""
    change: str = ""
    """One of reading_changes.CHANGES; only with `reading`."""
    number: float = 0.0
    """The number that the reading crosses, or is above or below (above: that number or more)."""
    for_us: int = 0
    """How long it must stay so."""


class Caption(msgspec.Struct, frozen=True, kw_only=True):
    """A caption of the story. `words` can name fields of its trigger as {FIELD}; a reading is {value}."""

    name: str
    kind: CaptionKind
    trigger: Trigger
    part: str
    words: Words
    source: Words
    """Background only: the written source that it rests on."""
    confirmed_by: str
    """Look or listen for only: SCRIPT.STEP, the hands-on step by which a person confirmed the tell-tale."""
    ends: tuple[str, ...] = ()
    """What else ends it: prompts, lines, displays, interruptions, or steps (SCRIPT.STEP)."""


class Folder(msgspec.Struct, frozen=True, kw_only=True):
    """A machine's folder, read and checked."""

    machine: Machine
    scripts: dict[str, Script]
    captions: tuple[Caption, ...]
    rest_us: int
    """The pause between two rounds."""
    limits: Limits = Limits()
    goes_on_after_loss: int = 0
    """How often a day the rounds go on by themselves after a round that failed and was tidied up."""
    second_language: str = ""
    """The tag of the language shown beneath the first if nobody has chosen another."""
    digests: dict[str, str]
    """The SHA-256 of each file, by its name within the folder."""
    cards: tuple[Card, ...] = ()
    """The background cards."""
    pictures: dict[str, str] = {}
    """The museum's own pictures of parts, cleaned, by the names under which they are served."""
    screens: dict[str, Screen] = {}
    """The screens on which the visitors' page is shown."""
    way_home: WayHome | None = None
    """None: scripts begin in whatever state the console is, and wait for their own prompts."""
    ahead: dict[str, Ahead] = {}
    """The announcements of what comes next."""
    glosses: dict[str, Words] = {}
    """The notes beside prompts, lines and displays on the mirrored console, by their names."""
    exercisers: dict[str, ExerciserWords] = {}
    """What the page says about exercisers that could still be running while the line is lost."""
    chapters: dict[str, list[Chapter]] = {}
    """By script: what its steps are to visitors."""
    round_words: Words = {}
    """What a round does, if somebody wrote it down."""
    emergencies: dict[str, Emergency] = {}
    """What to do in each emergency, by name."""
    hours: OpeningHours | None = None
    """When the doors are open."""
    zone: str = ""
    """The zone of the wall times, by its name in the tz database; empty for that of the museum's computer."""
    presence_us: int | None = None
    """After so long without a sign that somebody is there, no further round of a day begins; None: never."""
    keep_days: int | None = None
    """For how many days recordings are kept in any case; None: for good."""
    simulated_docent: dict[str, dict[str, tuple[str, ...]]] = {}
    """What the simulated docent does at the machine, by script and step; empty for a real machine."""

    def at_any_hour(self) -> Folder:
        """The same without the museum's hours, and without the limits that hold at some hour of the day."""
        limits = msgspec.structs.replace(
            self.limits,
            last_round_min=None,
            closes_min=None,
            last_round_before_doors_min=None,
            closes_with_doors=False,
        )
        return msgspec.structs.replace(self, hours=None, limits=limits)


class Planned(msgspec.Struct, frozen=True):
    """A script that is to run next; `round` counts from 1 and is 0 outside the rounds."""

    script: str
    round: int
