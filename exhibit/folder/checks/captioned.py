"""Finds where visitors are told nothing: steps without captions, and captions that can't come."""

from __future__ import annotations

from typing import Final

from exhibit.facts.units import MIN_US
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.scripts import BY_HAND, ScriptDraft, StepDraft

MOST_UNTOLD: Final = 6
"""So many steps in a row may go by under the same caption (our own choice)."""
TELLING: Final = (*BY_HAND, "pause", "caption")
"""What is done by hand is seen being done, and a pause is made for what is read."""
LONG_US: Final = 2 * MIN_US
"""A step that may last for longer needs a caption of its own (our own choice)."""


def check_uncaptioned(script: ScriptDraft, drafts: Drafts) -> None:
    """Advise captions where a script has none."""
    told = _Told(script, drafts)
    untold: list[StepDraft] = []
    under_a_caption = False
    """Whether a caption has come since something was last done."""
    for step in script.steps:
        if told.by(step) or step.kind in TELLING:
            untold, under_a_caption = [], True
            continue
        if step.within_us > LONG_US and not under_a_caption:
            step.table.advise(
                "within",
                f'the step "{step.name}" may last {step.within_us / MIN_US:g} min, and no caption says '
                "what goes on",
                f'a caption with step_started = "{script.name}.{step.name}" in story.toml',
            )
        under_a_caption = False
        untold.append(step)
        if len(untold) == MOST_UNTOLD + 1:
            untold[0].table.advise(
                "name",
                f'from the step "{untold[0].name}" to "{step.name}" no caption comes, '
                f"through {len(untold)} steps or more",
                f'a caption with step_started = "{script.name}.{untold[0].name}" in story.toml',
            )


def check_confirmed(drafts: Drafts) -> None:
    """Add a tell-tale whose confirmation comes behind it to the mistakes."""
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
        behind = names.index(confirms) > names.index(step_name)
        if behind or (confirms == step_name and caption.trigger == "step_started"):
            caption.table.wrong(
                "confirmed_by",
                f'"{caption.confirmed_by}" comes only after "{caption.value}", so this is never shown',
                "confirmed_by = a hands-on step that comes before",
            )


class _Told:
    """Which steps of a script bring a caption."""

    def __init__(self, script: ScriptDraft, drafts: Drafts) -> None:
        self._script = script.name
        captions = drafts.captions or []
        self._steps = {c.value for c in captions if c.trigger in ("step_started", "step_done")}
        self._names = {c.value for c in captions if c.trigger == "when"}
        self._displays = {c.value.partition(".")[0] for c in captions if c.trigger == "reading"}

    def by(self, step: StepDraft) -> bool:
        """Whether a caption comes at this step, or with what it waits for or stands at."""
        if step.kind == "caption" or f"{self._script}.{step.name}" in self._steps:
            return True
        if step.kind in ("read", "read_if_shown") and step.texts.get(step.kind) in self._displays:
            return True
        return any(name in self._names for name, _ in (*step.until, *step.lists.get(step.at_key, [])))
