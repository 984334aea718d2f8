"""What `exhibit rehearse --simulator` prints: a folder's day on the simulated machine, in virtual time."""

from __future__ import annotations

import datetime
from collections import deque
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from exhibit.decisions.commands import Command
from exhibit.decisions.machine.first_fact import first_fact
from exhibit.decisions.machine.script import DOCENT_AT_A_LOSS, SIMULATED_DOCENT, Folder
from exhibit.decisions.operating import Operating
from exhibit.decisions.rehearsal.step_results import RunSummary, seen
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.watching import Watching
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.facts.use_before import UseBefore
from exhibit.folder.secret_words import demo_secrets, secrets_wanted
from exhibit.folder.whole import USUAL_SCRIPTS, read_folder
from exhibit.records.rehearsing import Report, Row, step_label, table, words_for
from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.serial_line import with_even_parity
from exhibit.simulator.tidebook.desks import WORDS

MACHINE: Final = "whimbrel"
LONGEST_US: Final = 24 * 3600 * 1_000_000
"""An opening, a round and a closing take less than a day."""
WENT_WRONG: Final = ("failed", "in vain")
"""How a step ends that doesn't end as its script says."""


class SimulatedRun:
    """The simulated machine, its docent and a decider, in one thread; `run` runs them.

    `wall`: the date and time at which the day begins. `keep` is called with each fact, as an entry of a
    recording. `use_before`: how much the machine was used before. `chance` and `scatter` are those of the
    simulated machine's options. `acts` are done at its front besides what the docent does: times in
    microseconds of virtual time, in order, and the acts (docs/whimbrel.md, sections 2 and 11).
    """

    def __init__(
        self,
        folder: Folder,
        wanted: Wanted,
        wall: datetime.datetime,
        keep: Callable[[kinds.Entry], None] | None = None,
        use_before: UseBefore | None = None,
        *,
        chance: int = 1,
        scatter: float = 0.0,
        acts: Iterable[tuple[int, str]] = (),
    ) -> None:
        self._acts = deque(acts)
        line = folder.machine.line
        self._even = line.parity == "even"
        self._bench = Bench(
            Options(
                baud=line.baud,
                parity="even" if self._even else "none",
                chance=chance,
                scatter=scatter,
                keep_truth=False,
            )
        )
        self._folder = folder
        self.runs: list[tuple[kinds.ScriptStarted, RunSummary, list[str]]] = []
        """Each run of a script: its first fact, its steps, and lines about the troubles seen in it."""
        self.outcome: kinds.Outcome | None = None
        self._asked: kinds.HandsOnAsked | kinds.StepOverdue | None = None
        opened = first_fact(folder, wall=wall.isoformat(), machine_is="simulated", use_before=use_before)
        secrets = demo_secrets(WORDS)
        self._decider = Operating(Watching(folder, opened), wanted, secrets)
        self._run = VirtualRun(
            self._decider, self, keep, Withholding(folder.machine, secrets.values(), opened.rate)
        )
        self._run.note(opened)

    def run(self) -> None:
        """Lets virtual time pass until the day is done, or has failed."""
        self._run.note(kinds.LineOpened(line="the simulated machine"))
        while self.outcome is None and self._run.now_us < LONGEST_US:
            if self._asked is not None:
                asked, self._asked = self._asked, None
                self._answer(asked)
                continue
            due = sorted((due_us, name) for name, due_us in self._run.deadlines.items())
            held_us = self._run.held_due_us()
            if held_us is not None:
                self._let_pass(held_us)
                if self._bench.now_us >= held_us and self._run.held_due_us() == held_us:
                    self._run.let_go_held()
                continue
            self._let_pass(due[0][0] if due else LONGEST_US)
            if due and self._bench.now_us >= due[0][0] and self._run.deadlines.get(due[0][1]) == due[0][0]:
                self._run.pass_deadline(due[0][1])

    def _let_pass(self, until_us: int) -> None:
        """Lets time pass until the machine sends something or an act is due, but at most until `until_us`."""
        before = len(self._bench.heard)
        until_us = min(until_us, self._acts[0][0]) if self._acts else until_us
        while self._bench.now_us < until_us and len(self._bench.heard) == before:
            self._bench.step(until_us)
        while self._acts and self._acts[0][0] <= self._bench.now_us:
            self._bench.act(self._acts.popleft()[1])
        self._run.now_us = max(self._run.now_us, self._bench.now_us)
        if len(self._bench.heard) > before:
            received, self._bench.heard = self._bench.heard[before:], b""
            self._bench.stamped.clear()
            self._run.receive(received)

    def _answer(self, asked: kinds.HandsOnAsked | kinds.StepOverdue) -> None:
        if isinstance(asked, kinds.StepOverdue):
            self._run.note(kinds.RequestMade(request="stop", by=SIMULATED_DOCENT, why=DOCENT_AT_A_LOSS))
            return
        acts = self._folder.simulated_docent.get(asked.script, {}).get(asked.step)
        about_a_date = isinstance(asked, kinds.HandsOnAsked) and not asked.caution
        why = "" if acts is not None or about_a_date else "simulated-docent.toml says nothing about this step"
        for act in acts or ():
            answer = self._bench.act(act)
            if not answer.startswith("done:"):
                why = answer
                break
        request = kinds.RequestMade(
            request="refuse" if why else "confirm", by=SIMULATED_DOCENT, step=asked.step, why=why
        )
        self._run.note(request)

    def use_before(self) -> UseBefore:
        """How much the machine was used, as a recording that begins now would state it."""
        return self._decider.use_before(self._run.now_us)

    # -- called by VirtualRun

    def is_taken(self, command: Command) -> bool:
        """Every command is carried out."""
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        """Ends the run: the day is done, or has failed."""
        self.outcome = outcome

    def typed(self, byte: int, secret: bool) -> None:
        """Puts the byte on the machine's line."""
        if self.runs:
            text = kinds.to_text(bytes((byte,)))
            typed = kinds.SecretTyped(by="") if secret else kinds.BytesTyped(bytes=text, count=1, by="")
            self.runs[-1][1].take(typed, self._run.now_us)
        self._bench.send(bytes((with_even_parity(byte) if self._even else byte,)))

    def decided(self, fact: kinds.AnyFact) -> None:
        """Notes how the steps go, the troubles, and what the docent is asked."""
        if isinstance(fact, kinds.ScriptStarted):
            self.runs.append((fact, RunSummary(self._folder.machine.typing.show_again), []))
        if not self.runs:
            return
        self.runs[-1][1].take(fact, self._run.now_us)
        what = seen(fact, ())
        if what is not None and what[0] == "trouble":
            self.runs[-1][2].append(f'Trouble {what[1]}: "{what[2]}"')
        if isinstance(fact, kinds.HandsOnAsked) or (
            isinstance(fact, kinds.StepOverdue) and fact.then == "ask"
        ):
            self._asked = fact


def rehearse_on_simulator(folder: Path, wall: datetime.datetime | None = None) -> Report:
    """Runs the opening, one round and the closing on the simulated machine, in virtual time.

    `wall`: the date and time at which the day begins; None means now. Raises FolderMistakes, and SetUpFault
    if the folder describes another machine or needs a secret that the simulated machine doesn't have.
    """
    described = read_folder(folder)
    if described.machine.name != MACHINE:
        raise SetUpFault(
            f"The folder describes {described.machine.name}, and the simulated machine is the {MACHINE}.",
            "No other machine is built in.",
            "Name recordings of your machine instead.",
        )
    known = demo_secrets(WORDS)
    to_run = [described.scripts[name] for name in USUAL_SCRIPTS]
    missing = [name for name in secrets_wanted(to_run) if name not in known]
    if missing:
        raise SetUpFault(
            f"The simulated machine has no secret named {', '.join(missing)}.",
            "So the step that types it can't be rehearsed.",
            f"Use one that it has: {', '.join(sorted(known))}.",
        )
    day = SimulatedRun(described, Wanted(rounds=1), wall or datetime.datetime.now().astimezone())
    day.run()
    report = Report(["The simulated machine, in virtual time"], day.outcome != "done")
    for started, run, troubles in day.runs:
        rows = [
            Row(
                step_label(step.name, step.tidying),
                "",
                words_for(step),
                step.came in WENT_WRONG or bool(step.late),
            )
            for step in run.steps
        ]
        differs = run.outcome != "done" or bool(troubles) or any(row.differs for row in rows)
        report.differs |= differs
        number = f" {started.round}" if started.round else ""
        report.lines.append(f"  {started.script}{number}:")
        report.lines += [f"  {line}" for line in [*table(rows), *troubles]]
        if run.outcome != "done":
            report.lines.append(f"  The script ended: {run.outcome} ({run.why})")
        report.lines.append("")
    not_run = sorted(set(described.scripts) - {started.script for started, _, _ in day.runs})
    if not_run:
        report.lines.append(f"Not rehearsed: {', '.join(not_run)}.")
    report.lines.append("Something went wrong." if report.differs else "Each step ends as its script says.")
    return report
