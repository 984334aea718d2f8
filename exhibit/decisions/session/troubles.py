"""What became of each trouble: how often it was raised, who has seen it, and whether it is over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import msgspec

from exhibit.decisions.commands import Tell
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.console.signs import trouble_raised
from exhibit.decisions.machine.description import Machine, Trouble
from exhibit.decisions.machine.script import HOME
from exhibit.facts import kinds
from exhibit.facts.units import MIN_US
from exhibit.facts.use_before import TroubleLeft

REPEATED_WITHIN_US: Final = MIN_US
"""A trouble that is raised again so soon is the same one: nobody is asked anew."""
ABOUT_TROUBLES: Final = ("seen", "set aside", "over")
"""The requests about a trouble."""
LONGEST_ASIDE_MIN: Final = 120
_WENT_ON: Final = "a script has gone on since"


class _Open(msgspec.Struct):
    """A trouble that isn't over. `times`: how often it was raised, last at `last_us`."""

    trouble: Trouble
    last_us: int
    times: int = 1
    script_ran_since: bool = False
    """A script has begun since it was raised."""

    @property
    def went_on(self) -> bool:
        """Whether a script that goes on shows that it is over: the one that it ended shows nothing."""
        return self.script_ran_since or not self.trouble.ends_script


class Troubles:
    """The troubles of one machine that aren't over, by the number of the fact that raised each."""

    def __init__(self, machine: Machine) -> None:
        self._known = {trouble.name: trouble for trouble in machine.troubles}
        self._open: dict[int, _Open] = {}
        self._seen_before: dict[tuple[str, str], str] = {}
        """Who had seen a trouble that is about to be raised anew, by its name and since when."""
        self._tidying = False

    def counted(self, fact: kinds.AnyFact, at_us: int) -> kinds.AnyFact:
        """The same fact; if it is a trouble that was raised just before, it says so."""
        if not isinstance(fact, kinds.TroubleRaised):
            return fact
        for seq, one in self._open.items():
            if one.trouble.name == fact.trouble and at_us - one.last_us <= REPEATED_WITHIN_US:
                return msgspec.structs.replace(fact, repeats=seq, times=one.times + 1)
        return fact

    def note(self, entry: kinds.Entry) -> list[Tell]:
        """What follows from this fact."""
        fact, at_us = entry.fact, entry.at_us
        match fact:
            case kinds.RecordingOpened(use_before=before) if before is not None:
                return self._still_open(before.troubles)
            case kinds.TroubleRaised(repeats=seq) if seq in self._open:
                self._open[seq].last_us, self._open[seq].times = at_us, fact.times
            case kinds.TroubleRaised(trouble=name) if name in self._known:
                self._open[entry.seq] = _Open(self._known[name], at_us)
                if seen_by := self._seen_before.pop((name, fact.since), ""):
                    return [Tell(fact=kinds.TroubleSeen(raised=entry.seq, by=seen_by))]
            case kinds.TroubleOver(raised=raised):
                self._open.pop(raised, None)
            case kinds.RequestMade() if fact.request in ABOUT_TROUBLES:
                return [Tell(fact=self._answer_to(fact, at_us))]
            case kinds.ScriptStarted(script=script):
                self._tidying = False
                if script != HOME:
                    for one in self._open.values():
                        one.script_ran_since = True
            case kinds.TidyUpStarted():
                self._tidying = True
            case kinds.StepMatched(script=script) if script != HOME and not self._tidying:
                return self._over(_WENT_ON, lambda one: not one.trouble.over_when and one.went_on)
            case kinds.TypingLetGo(by=by):
                return self._over(f"{by} let typing go on", lambda one: bool(one.trouble.blocked_for_us))
            case kinds.PatternSeen(pattern=name, line=line) | kinds.LandmarkReached(landmark=name, line=line):
                return self._shown_over(name, line)
            case kinds.InterruptionSeen(interruption=name, text=line):
                return self._shown_over(name, line)
        return []

    def _still_open(self, troubles: Sequence[TroubleLeft]) -> list[Tell]:
        """What wasn't over when the last recording ended isn't over because a new one has begun."""
        known = [one for one in troubles if one.trouble in self._known]
        self._seen_before = {(one.trouble, one.since): one.seen_by for one in known if one.seen_by}
        raised = [(trouble_raised(self._known[one.trouble], one.line), one.since) for one in known]
        return [Tell(fact=msgspec.structs.replace(fact, since=since)) for fact, since in raised]

    def _shown_over(self, name: str, line: str) -> list[Tell]:
        """The machine shows this: it ends those troubles whose folder says so."""
        shown = line.strip() or name
        return self._over(f"the machine shows {shown}", lambda one: name in one.trouble.over_when)

    def _over(self, how: str, is_over: Callable[[_Open], bool]) -> list[Tell]:
        over = [seq for seq, one in self._open.items() if is_over(one)]
        return [Tell(fact=kinds.TroubleOver(raised=seq, by=MACHINE, how=how)) for seq in over]

    def _answer_to(self, made: kinds.RequestMade, at_us: int) -> kinds.AnyFact:
        """The fact that answers a person's word on a trouble."""
        raised, by, why = made.about, made.by, ""
        if raised not in self._open:
            why = "no trouble of this number is open"
        elif made.request == "seen":
            return kinds.TroubleSeen(raised=raised, by=by)
        elif made.request == "over":
            return kinds.TroubleOver(raised=raised, by=by, how=made.why)
        elif not made.why.strip():
            why = "a trouble is set aside only with a reason"
        elif not 1 <= made.minutes <= LONGEST_ASIDE_MIN:
            why = f"a trouble is set aside for 1 to {LONGEST_ASIDE_MIN} minutes"
        else:
            until_us = at_us + made.minutes * MIN_US
            return kinds.TroubleSetAside(raised=raised, by=by, why=made.why.strip(), until_us=until_us)
        return kinds.RequestRefused(request=made.request, why=why)
