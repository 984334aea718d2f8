"""scripts/posix: the end of one load isn't taken for the end of the other, whichever shell prints it."""

from __future__ import annotations

import pytest

from exhibit.decisions.wear.use import Use
from exhibit.decisions.wear.use_watch import UseWatch
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.web.places import scripts_folder
from tests.decisions.heron import opened

# What bash 5.2 and dash 0.5.12 print when a load has been stopped with `kill`; bash goes on in further lines.
PRINTED = {
    "[1]-  Terminated              ( for i in $n;": "disc-load",
    "[1] - Terminated                 (for i in ${n}; do for j in ${n}; do once; done; done)": "disc-load",
    "[2]+  Terminated              ( ulimit -t 120 && while :; do": "processor-load",
    "[2] + Terminated                 (ulimit -t 120 && while :; do :; done)": "processor-load",
}


@pytest.mark.parametrize("line", PRINTED)
def test_the_end_of_a_load_ends_that_load_only(line: str) -> None:
    machine = read_folder(scripts_folder() / "posix").machine
    use = Use(opened(machine))
    watch = UseWatch(machine, use)
    for name in ("disc-load", "processor-load"):
        use.note(0, kinds.ExerciserBegun(exerciser=name, job="4711", part="disc", ends_us=0))
    facts = [
        fact
        for known in machine.lines
        if (fields := known.pattern.match(line)) is not None
        for fact in watch.note(0, kinds.PatternSeen(pattern=known.name, line=line, fields=fields))
    ]
    assert [fact.exerciser for fact in facts if isinstance(fact, kinds.ExerciserEnded)] == [PRINTED[line]]
