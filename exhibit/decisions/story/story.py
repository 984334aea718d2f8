"""Chooses the captions that follow from facts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.script import Caption, Folder, GiveCaption
from exhibit.decisions.story.reading_changes import LatestReading, ReadingChanges
from exhibit.decisions.story.spoken_numbers import number_in_language
from exhibit.facts import kinds

CONFIRMED_FOR_US: Final = 24 * 3600 * 1_000_000
"""How long a person's confirmation of a tell-tale counts as fresh: on the local day on which it was given, or
for 24 hours if no date is known (our own choice)."""

_VALUE: Final = "value"
"""The name of the field that holds a reading."""


class Story:
    """Chooses captions. It is given every fact, in order, with its number."""

    def __init__(self, folder: Folder, opened: kinds.RecordingOpened | None = None) -> None:
        self._by_trigger: dict[tuple[str, str], list[Caption]] = {}
        by_name = {caption.name: caption for caption in folder.captions}
        for caption in folder.captions:
            for kind in ("when", "step_started", "step_done", "reading"):
                value = getattr(caption.trigger, kind)
                if value:
                    self._by_trigger.setdefault((kind, value), []).append(caption)
        for script in folder.scripts.values():
            for step in (*script.steps, *script.tidy_up):
                if isinstance(step, GiveCaption):
                    key = ("step_started", f"{script.name}.{step.name}")
                    self._by_trigger.setdefault(key, []).append(by_name[step.caption])
        self._bytes_seq = 0
        """The number of the last piece of received bytes."""
        self._arrived_seq = 0
        """The number of the last fact that brought a step of the running script what it waited for."""
        self._showing_seq = 0
        """The number of the last fact that a prompt or a display is showing."""
        self._fields: Mapping[str, str] = {}
        self._grounds: list[int] = []
        """The numbers of the facts that show how far the current step has come."""
        self._changes = ReadingChanges(opened)
        self._confirmed: dict[str, tuple[int, int]] = {}
        """By SCRIPT.STEP: number and time of a person's confirmation."""
        self._script = ""
        self._arrived = ""
        """The prompt, line or display that the current step waited for."""
        self._displays = {display.name for display in folder.machine.displays}
        self._jobs = {one.begun: one.job for one in folder.machine.exercisers}
        """By line that says that a job has begun: its place for the number."""

    def note(self, entry: kinds.Entry) -> list[kinds.CaptionShown]:
        """The captions that this fact brings, oldest first."""
        fact = entry.fact
        self._changes.note(fact, entry.at_us)
        match fact:
            case kinds.BytesReceived():
                self._bytes_seq = entry.seq
            case kinds.LineLost():
                self._showing_seq = 0
            case kinds.ScriptStarted():
                self._script = fact.script
                self._arrived_seq = 0
            case kinds.PatternSeen():
                about = self._about(fact.pattern, fact.fields)
                return self._show(("when", fact.pattern), entry, fact.fields, [self._bytes_seq], about)
            case kinds.LandmarkReached():
                self._showing_seq = entry.seq
                about = self._about(fact.landmark, fact.fields)
                return self._show(("when", fact.landmark), entry, fact.fields, [self._bytes_seq], about)
            case kinds.StepStarted():
                self._fields, self._grounds, self._arrived = {}, [], ""
                return self._show(
                    ("step_started", f"{fact.script}.{fact.step}"),
                    entry,
                    {},
                    [self._arrived_seq or self._showing_seq],
                )
            case kinds.StepMatched():
                self._arrived_seq = entry.seq
                self._fields, self._grounds = fact.fields, [self._bytes_seq, entry.seq]
                self._arrived = fact.name
            case kinds.HandsOnConfirmed():
                self._arrived_seq = entry.seq
                self._confirmed[f"{self._script}.{fact.step}"] = (entry.seq, entry.at_us)
                self._grounds = [entry.seq]
            case kinds.StepEnded():
                done = ("step_done", f"{fact.script}.{fact.step}")
                about = self._about(self._arrived, self._fields)
                return self._show(done, entry, self._fields, self._grounds, about)
            case kinds.ReadingTaken(value=value, table=None):
                name = f"{fact.display}.{fact.name}"
                latest = self._changes.take(name, value, entry.seq, entry.at_us)
                fields, about = {_VALUE: str(value)}, (fact.display, "")
                return self._show(("reading", name), entry, fields, [self._bytes_seq], about, latest)
        return []

    def _about(self, name: str, fields: Mapping[str, str]) -> tuple[str, str]:
        """The display that a caption of this moment is about, and the number of the job; "" for none."""
        return (name if name in self._displays else "", fields.get(self._jobs.get(name, ""), ""))

    def _show(
        self,
        trigger: tuple[str, str],
        entry: kinds.Entry,
        fields: Mapping[str, str],
        also: list[int],
        about: tuple[str, str] = ("", ""),
        latest: LatestReading | None = None,
    ) -> list[kinds.CaptionShown]:
        shown = []
        for caption in self._by_trigger.get(trigger, ()):
            earlier = latest.fulfils(caption.trigger) if latest is not None else []
            if earlier is None:
                continue
            because = {seq for seq in (*earlier, *also, entry.seq) if seq}
            if caption.kind == "look or listen for":
                confirmed_seq, confirmed_us = self._confirmed.get(caption.confirmed_by, (0, 0))
                if not confirmed_seq or not self._is_fresh(confirmed_us, entry.at_us):
                    continue
                because.add(confirmed_seq)
            shown.append(
                kinds.CaptionShown(
                    caption=caption.name,
                    kind=caption.kind,
                    words={tag: _filled(words, fields, tag) for tag, words in caption.words.items()},
                    part=caption.part,
                    because=sorted(because),
                    source=caption.source,
                    display=about[0],
                    job=about[1],
                    ends=list(caption.ends),
                )
            )
        return shown

    def _is_fresh(self, confirmed_us: int, now_us: int) -> bool:
        same_day = self._changes.day(confirmed_us) == self._changes.day(now_us)
        return same_day and now_us - confirmed_us <= CONFIRMED_FOR_US


def _filled(words: str, fields: Mapping[str, str], tag: str) -> str:
    def value(place: re.Match[str]) -> str:
        name, is_number = place_of(place.group(1))
        if name not in fields:
            return place.group(0)
        return number_in_language(fields[name], tag) if is_number or name == _VALUE else fields[name]

    return PLACE.sub(value, words)


def place_of(inner: str) -> tuple[str, bool]:
    """The field that a place {...} in a caption names, and whether it is marked as a number."""
    name, colon, kind = inner.partition(":")
    is_number = bool(colon) and kind.strip() == "number"
    return (name if is_number else inner).strip(), is_number
