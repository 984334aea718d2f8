"""Does at the simulated front what a docent says is done, and what goes wrong on purpose."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from exhibit.bridge.request_door import Request, ask
from exhibit.commands.practice.mistakes import MISTAKES
from exhibit.commands.simulated_docent import Acts, act_at_front
from exhibit.decisions.desk.practised import PRACTICE
from exhibit.facts import kinds

AGAIN: Final = {"pack-in-upper": ("unload upper",), "pack-in-lower": ("unload lower",)}
"""By step: what comes first if it has been done before."""


class PractisedFront:
    """The docent answers; this is the hands. `mistake` is a name from MISTAKES, or None."""

    def __init__(
        self,
        acts: Acts,
        front: Path,
        door: Path,
        mistake: str | None,
        act: Callable[[Path, str], str] = act_at_front,
    ) -> None:
        self._acts, self._front, self._door, self._act = acts, front, door, act
        self._name = mistake or ""
        self._mistake = MISTAKES[mistake] if mistake else None
        self._planted = False
        self._asked: dict[str, kinds.HandsOnAsked] = {}
        self._done: set[str] = set()

    def take(self, entry: kinds.Entry) -> None:
        """Does what belongs to this fact. Raises SetUpFault if the simulated machine is gone."""
        fact = entry.fact
        if isinstance(fact, kinds.HandsOnAsked):
            self._asked[fact.step] = fact
        mistake = self._mistake
        if mistake is not None and not self._planted and mistake.at(fact):
            self._planted = True
            job = fact.fields.get("job", "") if isinstance(fact, kinds.StepMatched) else ""
            asked = fact if isinstance(fact, kinds.HandsOnAsked) else None
            self._do(mistake.acts, start=_switches(asked), job=job)
            # So that the recording itself says what went wrong, and when.
            ask(self._door, Request(request="here", by=PRACTICE, why=self._name))
        if isinstance(fact, kinds.TroubleSeen) and mistake is not None and self._planted:
            self._do(mistake.mended)
        if isinstance(fact, kinds.HandsOnConfirmed) and (asked := self._asked.get(fact.step)) is not None:
            self._step(asked)

    def _step(self, asked: kinds.HandsOnAsked) -> None:
        name = f"{asked.script}.{asked.step}"
        acts = tuple(self._acts.get(asked.script, {}).get(asked.step, ()))
        if name in self._done:
            acts = (*AGAIN.get(asked.step, ()), *acts)
        elif self._mistake is not None and name in self._mistake.instead:
            acts = self._mistake.instead[name]
        self._done.add(name)
        self._do(acts, start=_switches(asked))

    def _do(self, acts: tuple[str, ...], start: str = "", job: str = "") -> None:
        for act in acts:
            # What can't be done, such as stopping a drive that stands, is done already.
            self._act(self._front, act.replace("{start}", start).replace("{job}", job))


def _switches(asked: kinds.HandsOnAsked | None) -> str:
    """What the step says the switches are to be set to."""
    return next((act.value for act in asked.panel if act.act == "set"), "") if asked else ""
