"""A practice: the simulated machine, a bridge by the day, both pages, and what is said of it at the end."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

from exhibit.commands.child import Child
from exhibit.commands.day.day_run import DayRun
from exhibit.commands.docents_page.beside import DocentsPage
from exhibit.commands.open_question import numbers
from exhibit.commands.options import REFUSED
from exhibit.commands.practice.front import PractisedFront
from exhibit.commands.running import own_folder
from exhibit.commands.saying import Say, Sentence
from exhibit.commands.simulated_docent import read_acts
from exhibit.commands.terminal import Terminal
from exhibit.commands.visitors_page import VisitorsPage
from exhibit.decisions.desk.desk_view import DeskView
from exhibit.decisions.desk.practised import PRACTICE
from exhibit.decisions.machine.script import Folder
from exhibit.desk.people import Docent, PeopleFile, new_code
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put

SIMULATOR_ENDS_WITHIN_S: Final = 5.0
OWN_ADDRESS: Final = "127.0.0.2"
"""This computer too, by another number: what a browser keeps for the real docent's page stays as it is."""
NOTHING_TYPED: Final = Sentence("Practice: nothing is typed at the machine. What answers is a simulated one.")
ANY_HOUR: Final = Sentence("You can practise at any hour: the hours in day.toml don't apply.")
AT: Final = Sentence("The docent's page for practice: {address}")
GOOD_ONCE: Final = Sentence("That address signs one browser in, within ten minutes. Then it is used up.")
OVER: Final = Sentence("How the practice went:")
TO_END: Final = Sentence("Press Ctrl-C to end the practice.")


def practise(
    folder: Path, described: Folder, recordings: Path, mistake: str | None, port: int, speed: float
) -> int:
    """Runs a practice until the docent ends it. `recordings`: where practices go, each in its own folder.

    Returns the exit status. Raises SetUpFault if the folder has no simulated machine.
    """
    say = Say(next(iter(described.machine.languages)))
    if not described.simulated_docent:
        raise SetUpFault(
            say("{folder} has no simulated machine, and practice needs one.", folder=folder),
            say("So nothing was started: at the machine itself nobody practises."),
            say(
                "Walk through the printed card instead: `exhibit card {folder} --to card.html`.",
                folder=folder,
            ),
        )
    own = recordings / time.strftime("%Y-%m-%d-%H%M%S")
    with own_folder() as place:
        front, people = Path(place) / "front", Path(place) / "people.json"
        simulator = Child(["simulate", "--speed", f"{speed}", "--control", f"{front}"])
        page = PracticePage(folder, own, port, say, people)
        try:
            line = simulator.first_line().removeprefix("line: ")
            if not line:
                return _without_simulator(simulator, say)
            visitors = VisitorsPage(own, described.machine.name, port=0, host="127.0.0.1", say=say)
            run = DayRun(bridge_command(folder, line, own, speed), visitors, page, say)
            terminal = Terminal(run.door, described.machine.site, number=numbers(described, say), say=say)
            hands = PractisedFront(read_acts(folder), front, run.door, mistake)
            went = Went(say)

            def on_fact(entry: kinds.Entry) -> None:
                hands.take(entry)
                terminal.report(entry)
                went.take(entry)

            put(say(NOTHING_TYPED), say(ANY_HOUR))
            terminal.show_cautions()
            terminal.listen()
            return run.execute(_announce(say), on_fact, simulator, terminal.look)
        finally:
            page.end()
            simulator.end(SIMULATOR_ENDS_WITHIN_S)


def bridge_command(folder: Path, line: str, recordings: Path, speed: float) -> list[str]:
    """The bridge of a practice, at the simulator's own line."""
    bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}"]
    return [*bridge, "--rate", f"{speed}", "--simulated", "--just-made", "--practice"]


class PracticePage(DocentsPage):
    """The docent's page, at which nobody needs to be known: its address signs a browser in, once."""

    def __init__(self, folder: Path, recordings: Path, port: int, say: Say, people: Path) -> None:
        more = ["--people", f"{people}", "--host", OWN_ADDRESS, "--practice"]
        super().__init__(folder, recordings, port, say, more)
        self._people = PeopleFile(people)
        with self._people.change() as known:
            known.docents = [Docent(number=known.next_number("docent"), initials=PRACTICE)]

    def _opened(self) -> None:
        with self._people.change() as known:
            code = new_code(known, time.time())
        put(self._say(AT, address=f"{self.address}#code={code}"), self._say(GOOD_ONCE), self._say(TO_END))


class Went:
    """Says at the end how it went; once, though the day can be opened again."""

    def __init__(self, say: Say) -> None:
        self._say = say
        self._view = DeskView()
        self._said: list[kinds.Words] = []

    def take(self, entry: kinds.Entry) -> None:
        """Take in the next fact."""
        if isinstance(entry.fact, kinds.RecordingOpened):
            self._view = DeskView()
        self._view.apply(entry)
        if isinstance(entry.fact, kinds.DayTurned | kinds.RecordingClosed):
            lines = self._view.batch(0, console=False)["items"].get(PRACTICE)
            if lines and lines != self._said:
                self._said = lines
                put("", self._say(OVER), *(f"  {self._say.words(line)}" for line in lines))


def _announce(say: Say) -> Callable[[str, Path], None]:
    def announce(address: str, recording: Path) -> None:
        put(say("The visitors' page: {address}", address=address))
        put(say("The recording: {file}", file=recording))

    return announce


def _without_simulator(simulator: Child, say: Say) -> int:
    if simulator.has_explained():
        return REFUSED
    raise SetUpFault(
        say("The simulated machine did not start."),
        say("So there is nothing to practise at."),
        say("Read its message above, correct the cause and start again."),
    )
