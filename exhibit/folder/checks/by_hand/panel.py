"""Checks the acts at the machine's front, and the places in the words of their steps."""

from __future__ import annotations

import re
from typing import Final

from exhibit.decisions.panel.sequence import fillings
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.panel.acts import acts_at
from exhibit.folder.reading.step_drafts import StepDraft

_BRACES: Final = re.compile(r"\{ *([a-z]*) *\}|[{}]")
_WORDS: Final = {"hands_on": "hands_on", "pack": "words", "pack_out": "words"}


def check_panel(drafts: Drafts) -> None:
    """Add a mistake for each act that this front can't have, and each place that nothing fills in."""
    users: dict[str, list[StepDraft]] = {}
    unsure: set[str] = set()
    front = drafts.machine.front if drafts.machine is not None else None
    for script in filter(None, drafts.scripts.values()):
        for step in script.all_steps:
            if step.kind in _WORDS:
                users.setdefault(step.texts.get(_WORDS[step.kind], ""), []).append(step)
            for act in step.panel if front is not None else ():
                assert front is not None  # for mypy
                done = acts_at(front, [act])
                step.acts = [*step.acts, *done]
                if not done:  # its mistake is reported, and needs no other beside it
                    unsure.add(step.texts.get(_WORDS.get(step.kind, ""), ""))
    if not drafts.all_readable:
        return  # nobody knows what the steps of a file that can't be read set or press
    for language in drafts.languages:
        for name, text in language.words["hands_on"].items():
            each = [{*fillings(step.acts, language.tag)} for step in users.get(name, [])]
            known = set.intersection(*each) if each else set()
            for place in _BRACES.finditer(text):
                if place[1] not in known and name not in unsure:
                    table, key = language.where("hands_on", name)
                    what = "these words are shown exactly as they are written here, so nothing fills in "
                    what += "a {FIELD}"
                    write = "words without braces"
                    if known:
                        what = f"nothing that this step has people set or press fills in {place[0]}"
                        write = f"one of: {', '.join(f'{{{one}}}' for one in sorted(known))}"
                    table.wrong(key, what, write)
                    break
