"""What the visitors are told: captions that follow from facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from exhibit.decisions.filling import PLACE
from exhibit.decisions.script import Caption, Folder, GiveCaption
from exhibit.facts import kinds

CONFIRMED_FOR_US: Final = 24 * 3600 * 1_000_000
"""How long a person's confirmation of a tell-tale counts as fresh: a day (our own choice)."""

Value = int | float | str


class Story:
    """Chooses captions. It sees every fact, in order, with its number."""

    def __init__(self, folder: Folder) -> None:
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
        self._came_seq = 0
        """The number of the fact by which a step of the running script got what it waited for last."""
        self._fields: Mapping[str, str] = {}
        self._grounds: list[int] = []
        """What the step that runs has come to so far, and the numbers of the facts that say so."""
        self._values: dict[str, Value] = {}
        self._confirmed: dict[str, tuple[int, int]] = {}
        """By SCRIPT.STEP: number and time of a person's confirmation."""
        self._script = ""

    def note(self, entry: kinds.Entry) -> list[kinds.CaptionShown]:
        """The captions that this fact brings, oldest first."""
        fact = entry.fact
        match fact:
            case kinds.BytesReceived():
                self._bytes_seq = entry.seq
            case kinds.LineLost():
                self._values.clear()  # what changed while nobody could see it neither rose nor fell
            case kinds.ScriptStarted():
                self._script = fact.script
                self._came_seq = 0
            case kinds.PatternSeen():
                return self._show(("when", fact.pattern), entry, fact.fields, [self._bytes_seq])
            case kinds.LandmarkReached():
                return self._show(("when", fact.landmark), entry, fact.fields, [self._bytes_seq])
            case kinds.StepStarted():
                self._fields, self._grounds = {}, []
                return self._show(("step_started", f"{fact.script}.{fact.step}"), entry, {}, [self._came_seq])
            case kinds.StepMatched():
                self._came_seq = entry.seq
                self._fields, self._grounds = fact.fields, [self._bytes_seq, entry.seq]
            case kinds.HandsOnConfirmed():
                self._came_seq = entry.seq
                self._confirmed[f"{self._script}.{fact.step}"] = (entry.seq, entry.at_us)
                self._grounds = [entry.seq]
            case kinds.StepEnded():
                done = ("step_done", f"{fact.script}.{fact.step}")
                return self._show(done, entry, self._fields, self._grounds)
            case kinds.ReadingTaken(value=value, table=None):
                return self._reading(f"{fact.display}.{fact.name}", value, entry)
        return []

    def _reading(self, name: str, value: Value, entry: kinds.Entry) -> list[kinds.CaptionShown]:
        before = self._values.get(name)
        self._values[name] = value
        if before is None or before == value:
            return []
        changes = {"changes"}
        if not isinstance(before, str) and not isinstance(value, str):
            changes.add("rises" if value > before else "falls")
        return self._show(("reading", name), entry, {"value": str(value)}, [self._bytes_seq], changes)

    def _show(
        self,
        trigger: tuple[str, str],
        entry: kinds.Entry,
        fields: Mapping[str, str],
        also: list[int],
        changes: set[str] | None = None,
    ) -> list[kinds.CaptionShown]:
        shown = []
        for caption in self._by_trigger.get(trigger, ()):
            if changes is not None and caption.trigger.change not in changes:
                continue
            because = {seq for seq in (*also, entry.seq) if seq}
            if caption.kind == "look or listen for":
                confirmed_seq, confirmed_us = self._confirmed.get(caption.confirmed_by, (0, 0))
                if not confirmed_seq or entry.at_us - confirmed_us > CONFIRMED_FOR_US:
                    continue
                because.add(confirmed_seq)
            shown.append(
                kinds.CaptionShown(
                    caption=caption.name,
                    kind=caption.kind,
                    words={tag: _filled(words, fields) for tag, words in caption.words.items()},
                    part=caption.part,
                    because=sorted(because),
                    source=caption.source,
                )
            )
        return shown


def _filled(words: str, fields: Mapping[str, str]) -> str:
    return PLACE.sub(lambda place: fields.get(place.group(1).strip(), place.group(0)), words)
