"""Gives advice on what is seldom meant: regular expressions, patterns that overlap, unused names."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator
from typing import Final

from exhibit.decisions.machine.fitting import same_text
from exhibit.folder.checks.patterns import hides, named_patterns
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.tables import HARMLESS

_REGULAR: Final = re.compile(
    r"\.[*+]|\\[dwsDWSb.]|\[(?:\^|[0-9a-zA-Z]-[0-9a-zA-Z])[^\]]*\]|\(\?|\(\.|^\^.*\$$|\[[a-zA-Z0-9]+\][*+?]"
)
"""What people write who are used to regular expressions."""
_PLACES: Final = "{NAME: number}, {NAME: one word}, {NAME: text} or {...} for what varies"


def check_hints(drafts: Drafts) -> None:
    """Add advice to the machine's table."""
    machine = drafts.machine
    if machine is None:
        return
    _regular_expressions(machine)
    _overlaps(machine)
    if drafts.all_readable:
        _unused(machine, drafts)
        _unreached(machine, drafts)


def _regular_expressions(machine: MachineDraft) -> None:
    typed = ((("exercisers", name, "typed"), one.typed) for name, (one, _) in machine.exercisers.items())
    for path, pattern in itertools.chain(named_patterns(machine), typed):
        if found := _REGULAR.search(pattern.text):
            what = (
                f'"{found[0]}" looks like a regular expression, but stands for exactly these characters, '
                "because a pattern is the text that the machine prints"
            )
            machine.table.advise(path, what, _PLACES)


def _overlaps(machine: MachineDraft) -> None:
    """Add advice on each pattern that fits every line that another one fits."""
    lines = {name: line.pattern for name, line in machine.lines.items()}
    troubles = {
        name: trouble.pattern
        for name, trouble in machine.troubles.items()
        if not trouble.display and trouble.pattern is not HARMLESS
    }
    starts = {name: one.starts for name, one in machine.interruptions.items()}
    for group, patterns, then in (
        ("lines", lines, "a step that waits for the general one also goes on at the particular one"),
        ("troubles", troubles, "such a line raises both"),
    ):
        for one, other in itertools.permutations(patterns, 2):
            if hides(patterns[one], patterns[other]) and not same_text(patterns[one], patterns[other]):
                what = f'whatever fits "{other}" also fits "{one}", so {then}'
                write = f"a longer pattern in [{group}.{one}], if the two must be told apart"
                machine.table.advise((group, other, "line"), what, write)
    for first, later in itertools.combinations(starts, 2):
        if hides(starts[first], starts[later]):
            what = (
                f'the interruption "{later}" is never recognised, but taken for "{first}", which comes first'
            )
            write = f"[interruptions.{later}] before [interruptions.{first}]"
            machine.table.advise(("interruptions", later, "starts"), what, write)


def _unused(machine: MachineDraft, drafts: Drafts) -> None:
    """Add advice on each unused prompt or line. A line with a place may be there to be recorded."""
    used = set(_used(machine, drafts))
    lines = [name for name, line in machine.lines.items() if not line.pattern.fields]
    for group, names in (("prompts", list(machine.prompts)), ("lines", lines)):
        for name in names:
            if name not in used:
                kind = group.removesuffix("s")
                what = f'nothing uses the {kind} "{name}": no step, caption, tell-tale or gloss names it'
                machine.table.advise((group, name), what, "nothing; delete it, if it isn't needed")


def _used(machine: MachineDraft, drafts: Drafts) -> Iterator[str]:
    for script in filter(None, drafts.scripts.values()):
        for step in script.all_steps:
            yield from (name for listed in step.lists.values() for name, _ in listed)
    for caption in drafts.captions or []:
        yield from (caption.value, *(name for name, _ in caption.ends))
    for language in drafts.languages:
        yield from language.words["glosses"]
    for tell_tale in machine.tell_tales.values():
        yield from (name for name, _ in (*tell_tale.begins, *tell_tale.ends))
    for exerciser, _ in machine.exercisers.values():
        yield from (exerciser.begun, *exerciser.ended, *exerciser.refused)
        yield from (*exerciser.listed, *exerciser.none_listed)
    for plot in machine.visitors.plots.values():
        yield from (plot.begins, *(name for name, _ in (*plot.ended, *plot.stopped, *plot.marks)))
    yield from (line.below for line in machine.lines.values())
    for marks in machine.marks:
        yield from (name for name, _ in (*marks.started, *marks.stopped))
    yield from (*machine.error_signs.lines, *machine.error_signs.anew)
    if "landmarks" in machine.table:
        yield from itertools.chain.from_iterable(machine.landmarks.values())


def _unreached(machine: MachineDraft, drafts: Drafts) -> None:
    """Add advice on each landmark that nothing reaches: no way leads from it, and no script goes there."""
    home = drafts.home
    if home is None or "landmarks" not in machine.table:
        return
    begins = {name for listed in home.begins.values() for name, _ in listed}
    known = {*begins, *home.ways, *(name for name, _ in home.home)}
    gone_to = set(_gone_to(drafts))
    for name, places in machine.landmarks.items():
        if name not in known and not gone_to & set(places):
            what = f'no way home leads from the landmark "{name}", and no script goes there'
            write = f"[[ways.{name}]] in home.toml, or nothing; delete it"
            machine.table.advise(("landmarks", name), what, write)


def _gone_to(drafts: Drafts) -> Iterable[str]:
    for script in filter(None, drafts.scripts.values()):
        for step in script.all_steps:
            yield from (name for listed in step.lists.values() for name, _ in listed)
            yield from (step.texts.get(key, "") for key in ("read", "read_if_shown"))
