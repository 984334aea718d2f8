"""Facts about the scripts, the people who take part, and what visitors were shown."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.fact import CaptionKind, Fact, Outcome, Words
from exhibit.facts.parts_and_cards import PanelAct

WhatThen = Literal["wait on", "again", "leave out", "stop", "ask"]
"""What happens to a step that is late."""
RequestKind = Literal[
    "confirm",
    "not yet",
    "refuse",
    "stop",
    "wait on",
    "leave out",
    "it is the prompt",
    "let go",
    "clear",
    "no job",
    "too early",
    "didn't",
    "open",
    "away",
    "back",
    "quiet",
    "round now",
    "close",
    "here",
    "hands off",
    "take keyboard",
    "key in",
    "give back",
    "seen",
    "set aside",
    "over",
    "note",
]
"""What a person can ask of the bridge (see RequestMade)."""
PutOffBecause = Literal["not yet", "too early", "didn't"]
"""Why a hands-on step has its time again: it isn't done, it was done too early, or it was done in vain."""
WentOnAfter = Literal["line lost", "late answer"]
"""The failures after which the rounds can go on by themselves."""
LateAnswer = Literal["wait on", "leave out"]
"""What a person can answer besides stop."""


class ScriptStarted(Fact, frozen=True, kw_only=True):
    """A script was started; `round` counts from 1 and is 0 outside the rounds."""

    script: str
    title: Words
    by: str
    round: int = 0
    from_step: str = ""
    """The step with which it goes on, where it was broken off; empty if it begins with its first."""


class StepStarted(Fact, frozen=True, kw_only=True):
    """A step of the script was started."""

    script: str
    step: str
    tidying: bool = False


class StepMatched(Fact, frozen=True, kw_only=True):
    """What the step was waiting for arrived."""

    script: str
    step: str
    name: str
    """The prompt, pattern or display that arrived."""
    line: str
    fields: dict[str, str] = {}


class StepLeftOut(Fact, frozen=True, kw_only=True):
    """The step was left out: it had nothing to do, its prompt wasn't showing, or it was late."""

    script: str
    step: str
    why: str


class StepOverdue(Fact, frozen=True, kw_only=True):
    """The step's time was up before what it was waiting for arrived."""

    script: str
    step: str
    waited_for: list[str]
    within_us: int
    last_lines: list[str]
    """What the console showed last, without empty rows"""
    then: WhatThen = "stop"
    """What happens to it: it gets the same time again, once; its command is typed again; it is left out; it
    fails ("stop"); or a person is asked"""
    at_prompt: bool = False
    """Whether it was still waiting for the prompt at which it types its command."""


class LateAnswered(Fact, frozen=True, kw_only=True):
    """A person who was asked decided about a late step; or its prompt arrived after all.

    In the second case `by` is the machine, and the answer is to wait on.
    """

    step: str
    answer: LateAnswer
    by: str


class PromptVouched(Fact, frozen=True, kw_only=True):
    """A person said that what the console shows is the prompt of a late step, so the step types there."""

    step: str
    by: str
    line: str
    """The line at whose end it types."""


class SecretRefused(Fact, frozen=True, kw_only=True):
    """The machine didn't take a secret and asked again, for it or for the sign-on; it is tried again."""

    script: str
    step: str
    landmark: str
    """The prompt that the machine showed instead."""
    times: int
    """How often it has been tried again, this time included."""


class StepFailed(Fact, frozen=True, kw_only=True):
    """The step could not be done."""

    script: str
    step: str
    why: str


class StepEnded(Fact, frozen=True, kw_only=True):
    """The step was done."""

    script: str
    step: str


class AnsweredLate(Fact, frozen=True, kw_only=True):
    """What a step had waited for arrived after the step was given up, and before anything else was typed."""

    script: str
    step: str
    name: str
    """The line, prompt or display that arrived."""
    line: str


class RoundsWentOn(Fact, frozen=True, kw_only=True):
    """A round couldn't be finished, but all was tidied up after it, so the rounds went on by themselves."""

    after: WentOnAfter
    why: str
    times: int
    """How often the rounds have gone on in this way today, this time included."""
    most: int
    """How often a day the machine's folder allows it."""


class TidyUpStarted(Fact, frozen=True, kw_only=True):
    """The script's tidy-up was started, and why."""

    script: str
    why: str


class ScriptEnded(Fact, frozen=True, kw_only=True):
    """The script and its tidy-up are over. `tidy` is false if the tidy-up could not be done."""

    script: str
    outcome: Outcome
    tidy: bool
    why: str


class SessionFailed(Fact, frozen=True, kw_only=True):
    """Nothing more is typed until a person has looked and started afresh."""

    why: str
    last_lines: list[str]


class SessionResting(Fact, frozen=True, kw_only=True):
    """All the scripts that were asked for are done, or the rest between two rounds has begun."""

    until_us: int
    """When the next round begins; 0 if nothing more is to come."""


class DeadlineArmed(Fact, frozen=True, kw_only=True):
    """A deadline was set. It replaces an earlier one of the same name."""

    name: str
    due_us: int


class DeadlinePassed(Fact, frozen=True, kw_only=True):
    """A deadline passed that had not been cancelled."""

    name: str


class HandsOnAsked(Fact, frozen=True, kw_only=True):
    """A person was asked to do something by hand; or, if there is no caution, whether a date may be typed."""

    script: str
    step: str
    words: Words
    caution: Words
    panel: list[PanelAct] = []
    """What to do at the machine's switches and keys, in order, if the step is about them."""
    late: WhatThen | Literal[""] = ""
    """What happens once the person's time is up; empty in recordings from before this was recorded."""


class HandsOnConfirmed(Fact, frozen=True, kw_only=True):
    """A person said that it has been done."""

    step: str
    by: str


class HandsOnPutOff(Fact, frozen=True, kw_only=True):
    """A person said that it isn't done yet, so the step is given its time again."""

    step: str
    by: str
    because: PutOffBecause = "not yet"
    words: Words = {}
    """What to look at or do now, from the machine's folder, if it says so for this answer."""


class HandsOnRefused(Fact, frozen=True, kw_only=True):
    """A person said that it can't be done."""

    step: str
    by: str
    why: str


class PackMounted(Fact, frozen=True, kw_only=True):
    """A person confirmed which pack is in which drive, and whether it may be written on."""

    label: str
    drive: str
    may_be_written: bool
    by: str
    original: bool = False
    """Whether it dates from the machine's own time and isn't a copy."""


class CaptionShown(Fact, frozen=True, kw_only=True):
    """This was shown to visitors."""

    caption: str
    kind: CaptionKind
    words: Words
    part: str
    because: list[int]
    """The numbers (`seq`) of the facts that the caption rests on."""
    source: Words
    """The written source of a background caption; empty for the other kinds."""
    display: str = ""
    """The status display that it is about: once that is put away, the caption is over. Empty for none."""
    job: str = ""
    """The number of the job that it says has begun: once that has ended, it is over. Empty for none."""
    ends: list[str] = []
    """What else ends it: prompts, lines, displays, interruptions, or steps (SCRIPT.STEP)."""


class RequestMade(Fact, frozen=True, kw_only=True):
    """A person asked the bridge for something: to confirm a hands-on step, put it off or refuse it, to wait
    longer for a late step, to leave it out or to type it at a prompt that isn't recognised, to type on
    although the machine is holding it up, to go on after a failure, to note that none of the jobs in doubt is
    running, or to stop typing."""

    request: RequestKind
    by: str
    step: str = ""
    """The step in question; empty if the request concerns no step."""
    why: str = ""
    about: int = 0
    """The number of the fact in question, such as a trouble's; 0 if the request concerns none."""
    minutes: int = 0
    """For how long, where the request says that."""


class RequestRefused(Fact, frozen=True, kw_only=True):
    """The request was not carried out."""

    request: str
    why: str
