"""Finds steps without captions, and captions that can't appear because they are confirmed too late."""

from __future__ import annotations

from typing import Final

from exhibit.facts.units import MIN_US
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.scripts import BY_HAND
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft

MOST_UNCAPTIONED_STEPS: Final = 6
"""How many steps in a row can do without a new caption (our own choice)."""
NEEDS_NO_CAPTION: Final = (*BY_HAND, "pause", "caption")
"""Visitors can watch what is done by hand, and a pause is there for a caption that they are reading."""
LONG_US: Final = 2 * MIN_US
"""A step with a longer limit needs a caption of its own (our own choice)."""


def check_uncaptioned(script: ScriptDraft, drafts: Drafts) -> None:
    """Add advice where a script goes on too long without a caption."""
    captions = _Captions(script, drafts)
    uncaptioned: list[StepDraft] = []
    is_fresh = False
    """Whether the caption that is showing appeared after the last step that did something."""
    for step in script.steps:
        if captions.has_one_at(step) or step.kind in NEEDS_NO_CAPTION:
            uncaptioned, is_fresh = [], True
            continue
        if step.within_us > LONG_US and not is_fresh:
            step.table.advise(
                "within",
                f'the step "{step.name}" can last {step.within_us / MIN_US:g} min, and no caption says '
                "what is happening",
                f'a caption with step_started = "{script.name}.{step.name}" in story.toml',
            )
        is_fresh = False
        uncaptioned.append(step)
        if len(uncaptioned) == MOST_UNCAPTIONED_STEPS + 1:
            first = uncaptioned[0]
            first.table.advise(
                "name",
                f'no caption appears from the step "{first.name}" to the step "{step.name}", '
                f"for {len(uncaptioned)} steps or more",
                f'a caption with step_started = "{script.name}.{first.name}" in story.toml',
            )


def check_confirmed(drafts: Drafts) -> None:
    """Add a mistake for each "look or listen for" caption that is confirmed only after its step."""
    for caption in drafts.captions or []:
        script_name, _, step_name = caption.value.partition(".")
        confirms_in, _, confirms = caption.confirmed_by.partition(".")
        script = drafts.scripts.get(script_name)
        if (
            caption.trigger not in ("step_started", "step_done")
            or script is None
            or confirms_in != script_name
        ):
            continue
        names = [step.name for step in script.all_steps]
        if step_name not in names or confirms not in names:
            continue
        is_later = names.index(confirms) > names.index(step_name)
        if is_later or (confirms == step_name and caption.trigger == "step_started"):
            caption.table.wrong(
                "confirmed_by",
                f'"{caption.confirmed_by}" is done only after "{caption.value}", so this never appears',
                "confirmed_by = an earlier hands-on step",
            )


class _Captions:
    """The captions that appear during a script."""

    def __init__(self, script: ScriptDraft, drafts: Drafts) -> None:
        self._script = script.name
        captions = drafts.captions or []
        self._steps = {c.value for c in captions if c.trigger in ("step_started", "step_done")}
        self._names = {c.value for c in captions if c.trigger == "when"}
        self._displays = {c.value.partition(".")[0] for c in captions if c.trigger == "reading"}

    def has_one_at(self, step: StepDraft) -> bool:
        """Whether a caption appears at this step, or with something in its `at` or `until`."""
        if step.kind == "caption" or f"{self._script}.{step.name}" in self._steps:
            return True
        if step.kind in ("read", "read_if_shown") and step.texts.get(step.kind) in self._displays:
            return True
        return any(name in self._names for name, _ in (*step.until, *step.lists.get(step.at_key, [])))
