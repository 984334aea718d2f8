"""Looks up the names in what visitors see besides captions: tell-tales, what comes next, and glosses."""

from __future__ import annotations

from collections.abc import Iterable

from exhibit.folder.checks.references import Drafts, find_step, look_up_moments
from exhibit.folder.reading.languages import LanguageDraft, compare
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import BY_HAND
from exhibit.folder.reading.story import AheadDraft
from exhibit.folder.reading.tell_tales import TellTaleDraft


def check_showing(drafts: Drafts) -> None:
    """Add a mistake for each unknown name, and for each missing or unused entry of a language."""
    for ahead in drafts.ahead:
        _check_ahead(ahead, drafts)
    story = {
        ahead.name: f"story.toml, line {ahead.table.line_of('name')}" for ahead in drafts.ahead if ahead.name
    }
    if drafts.captions is not None:
        compare(drafts.languages, "ahead", story)
    machine = drafts.machine
    if machine is None:
        return
    for tell_tale in machine.tell_tales.values():
        _check_tell_tale(tell_tale, machine, drafts)
    where = {name: f"machine.toml, line {one.table.line_of()}" for name, one in machine.tell_tales.items()}
    sounds = {name: at for name, at in where.items() if machine.tell_tales[name].kind == "sound"}
    compare(drafts.languages, "tell_tales", where)
    compare(drafts.languages, "see_or_feel", sounds)
    busy = {name: f"machine.toml, line {table.line_of()}" for name, (_, table) in machine.exercisers.items()}
    compare(drafts.languages, "stop_by_hand", busy)
    compare(drafts.languages, "glosses", _glosses_wanted(drafts.languages, machine.waitable()))


def _glosses_wanted(languages: list[LanguageDraft], waitable: Iterable[str]) -> dict[str, str]:
    """Return the names that have a gloss in some language, and so need one in each, and where they are."""
    known = set(waitable)
    return {
        name: f"{language.table.file}, line {language.sections['glosses'].line_of(name)}"
        for language in languages
        for name in language.words["glosses"]
        if name in known
    }


def _check_ahead(ahead: AheadDraft, drafts: Drafts) -> None:
    table = ahead.table
    if drafts.machine is not None:
        table.look_up(("part",), ahead.part, drafts.machine.parts, "part")
    begins = find_step(table, "begins", ahead.begins, drafts)
    step = find_step(table, "step", ahead.step, drafts)
    if begins is None or step is None:
        return
    script_name = ahead.begins.partition(".")[0]
    script = drafts.scripts[script_name]
    assert script is not None
    if begins not in script.steps or step not in script.steps or not ahead.step.startswith(f"{script_name}."):
        table.wrong(
            "step",
            f'"{ahead.step}" doesn\'t come after "{ahead.begins}" in the same script',
            f"step = a later step of {script_name}, outside its tidy-up",
        )
        return
    first, last = script.steps.index(begins), script.steps.index(step)
    if first >= last:
        table.wrong(
            "step",
            f'"{ahead.step}" doesn\'t come after "{ahead.begins}"',
            f"step = a later step of {script_name}",
        )
    elif by_hand := next((step for step in script.steps[first:last] if step.kind in BY_HAND), None):
        table.wrong(
            "begins",
            f'"{script_name}.{by_hand.name}" in between is done by hand, and nobody knows how long it takes',
            f"begins = a step after {script_name}.{by_hand.name}",
        )


def _check_tell_tale(tell_tale: TellTaleDraft, machine: MachineDraft, drafts: Drafts) -> None:
    table = tell_tale.table
    table.look_up(("part",), tell_tale.part, machine.parts, "part")
    look_up_moments(table, [*tell_tale.begins, *tell_tale.ends], machine, drafts)
    for name, below in tell_tale.confirmed_by:
        step = find_step(table, below, name, drafts)
        if step is not None and step.kind not in BY_HAND:
            table.wrong(
                below,
                f'"{name}" is not a step that a person confirms',
                "a hands-on step (hands_on, pack or pack_out)",
            )
