"""Checks that work by hand ends safely: the panel locked after the opening, nothing opened while it turns."""

from __future__ import annotations

from exhibit.decisions.machine.script import CLOSING
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.panel.acts import AT_REST, LEAVES, PANEL_LOCKED
from exhibit.folder.reading.panel.who_may import WHO_MAY, Role, usual_role
from exhibit.folder.reading.scripts import BY_HAND
from exhibit.folder.reading.step_drafts import StepDraft
from exhibit.folder.reading.troubles import CAUTION, CAUTIONS, caution_named

_OPENING = "opening"


def check_safe_order(drafts: Drafts) -> None:
    """Add a mistake for each step in an unsafe order, and advice where nobody has to see to it."""
    machine = drafts.machine
    opening, closing = (_by_hand(drafts, name) for name in (_OPENING, CLOSING))
    for step in opening[:-1]:
        if step.leaves == PANEL_LOCKED:
            what = "after the panel is locked and its key taken, the opening still has people work by hand"
            step.table.wrong(LEAVES, what, "this as the last step of the opening that is done by hand")
    has_panel = machine is not None and machine.front.switches.count
    if has_panel and opening and not any(step.leaves == PANEL_LOCKED for step in opening):
        what = "the opening doesn't end with a person who locks the panel and takes the key"
        write = f'a last step by hand, "Lock the panel, take the key", with {LEAVES} = "{PANEL_LOCKED}"'
        opening[-1].table.advise((), what, write)
    at_rest = [number for number, step in enumerate(closing) if step.leaves == AT_REST]
    for number, step in enumerate(closing):
        if step.kind == "pack_out" and not (at_rest and at_rest[0] < number):
            what = "the closing has a drive opened before anybody has seen that it stands still"
            write = f'before it a step by hand, "Wait for the full stop", with {LEAVES} = "{AT_REST}"'
            step.table.wrong("pack_out", what, write)
    if machine is not None and machine.packs and closing and not at_rest:
        what = "nobody has to see in the closing that every disc stands still"
        write = f'{LEAVES} = "{AT_REST}" in the step by hand that waits for it'
        closing[-1].table.advise((), what, write)


def check_who_may(drafts: Drafts) -> dict[str, Role]:
    """Return who may do what each caution stands before; adds a mistake for each caution without it."""
    if drafts.machine is None:
        return {}
    machine, roles = drafts.machine, dict(drafts.machine.who_may)
    has_words = {name for language in drafts.languages for name in language.words[CAUTIONS]}
    by_hand = [
        *machine.trouble_tables.values(),
        *(table for _, table in machine.exercisers.values()),
    ]
    used = dict.fromkeys(caution_named(table) for table in by_hand)
    for script in filter(None, drafts.scripts.values()):
        for step in script.all_steps:
            words = step.texts.get(CAUTION, "")
            used.setdefault(words)
            if " " in words and step.kind in BY_HAND:
                roles.setdefault(words, usual_role(step.kind))
    table = machine.table.table(WHO_MAY, optional=True)
    for name in machine.who_may if drafts.all_readable and drafts.languages else ():
        table.look_up((name,), name, has_words, "caution")
    for name in used if machine.table.is_sure(WHO_MAY) else ():
        if " " not in name and name in has_words and name not in roles:
            what = f'nobody has said who may do what the caution "{name}" stands before'
            at = table if table.is_present else machine.table
            at.wrong(
                (), what, f'{name} = "docent" in [{WHO_MAY}], or "trained volunteer" or "qualified person"'
            )
    return roles


def _by_hand(drafts: Drafts, script: str) -> list[StepDraft]:
    draft = drafts.scripts.get(script)
    return [step for step in draft.steps if step.kind in BY_HAND] if draft is not None else []
