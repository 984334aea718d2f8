"""The demonstration: the simulated machine, its docent, a bridge and a web server, from one command."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from exhibit.commands.child import Child
from exhibit.commands.options import REFUSED
from exhibit.commands.running import Run, own_folder
from exhibit.commands.saying import ENGLISH
from exhibit.commands.simulated_docent import SimulatedDocent, read_acts
from exhibit.commands.told_machine import DISC_FULL
from exhibit.commands.visitors_page import VisitorsPage
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put
from exhibit.web.places import scripts_folder

MACHINE = "whimbrel"
SIMULATOR_ENDS_WITHIN_S = 5.0


def demonstrate(
    *,
    speed: float,
    rounds: int | None,
    recordings: Path,
    page: VisitorsPage,
    truth: Path | None,
    on_ready: Callable[[str, Path], None],
) -> int:
    """Runs the demonstration until its rounds are done or somebody stops it. Returns the exit status.

    `speed`: how fast the machine's time runs; 1 is real time. `truth`: a file for the simulator's own log.
    `on_ready` is called with the page's address and the recording's path.
    """
    folder = scripts_folder() / MACHINE
    with own_folder() as place:
        front = Path(place) / "front"
        simulate = ["simulate", "--speed", f"{speed}", "--control", f"{front}"]
        simulator = Child([*simulate, *(["--truth", f"{truth}"] if truth else [])])
        try:
            line = simulator.first_line().removeprefix("line: ")
            if not line:
                if simulator.has_explained():
                    return REFUSED
                raise SetUpFault(
                    "The simulated machine did not start.",
                    "So there is nothing to show.",
                    "Read its message above, correct the cause and start again.",
                )
            bridge = ["bridge", f"{folder}", "--line", line, "--recordings", f"{recordings}"]
            bridge += ["--rate", f"{speed}", "--simulated", "--just-made"]
            bridge += [] if rounds is None else ["--rounds", f"{rounds}", "--end-when-failed"]
            run = Run(bridge, page)
            docent = SimulatedDocent(read_acts(folder), front, run.door, goes_on=rounds is None)

            def on_fact(entry: kinds.Entry) -> None:
                docent.respond(entry)
                if isinstance(entry.fact, kinds.RecordNearlyFull):
                    put(ENGLISH(DISC_FULL).strip())

            return run.execute(on_ready, on_fact, simulator)
        finally:
            simulator.end(SIMULATOR_ENDS_WITHIN_S)
