"""What somebody who has signed on at a desk can do, and what only the keeper can."""

from collections.abc import Callable, Generator, Mapping
from dataclasses import dataclass
from typing import Any

from exhibit.simulator.dialogue import ask_yes
from exhibit.simulator.disc import Drive
from exhibit.simulator.program import Ask, Request, Say, Steps, Transfer, Work
from exhibit.simulator.tidebook.board import Board
from exhibit.simulator.tidebook.book import Book
from exhibit.simulator.tidebook.clock import Clock
from exhibit.simulator.tidebook.jobs import JobTable
from exhibit.simulator.tidebook.notices import Notices

WORDS = {"TIDES": "GREBE519", "SURVEY": "SMEWS27Q", "KEEPER": "TWITE804"}
"""The desks, and the word that each asks for."""
COMMAND_US = 15_000


@dataclass(frozen=True)
class Keeper:
    """The commands that only desk KEEPER has. `common_reply` answers those that work anywhere."""

    clock: Clock
    jobs: JobTable
    notices: Notices
    drives: Mapping[str, Drive]
    book: Book
    common_reply: Callable[[str], str]

    def obey(self, command: str) -> Generator[Request, Any, bool]:
        """Carry out one command; returns True if it has closed the office."""
        match command.split():
            case ["NOTICE", *words] if words:
                self.notices.give_from_harbour(" ".join(words))
            case ["EMPTY", "LOG"]:
                if (yield from ask_yes("EMPTY THE LOG, SURE", default=False)):
                    self.book.error_log.clear()
            case ["WIPE", name] if name in ("UPPER", "LOWER"):
                yield from _wipe(self.drives[name])
            case ["CLOSE", "THE", "OFFICE"]:
                return (yield from self._close())
            case _:
                yield Say(self.common_reply(command))
        return False

    def _close(self) -> Generator[Request, Any, bool]:
        """Close the office, if the keeper is sure; returns whether it was closed."""
        if (yield from ask_yes("CLOSE THE OFFICE, SURE", default=False)):
            going = self.jobs.going()
            question = f"{len(going)} JOBS STILL GO ON. STOP THEM"
            if not going or (yield from ask_yes(question, default=False)):
                self.jobs.stop_all(going, "KEEPER")
                yield Say(f"OFFICE CLOSED AT {self.clock.time_text()}. ONE OPERATOR FROM NOW\r\n")
                return True
        yield Say("OFFICE STAYS OPEN\r\n")
        return False


@dataclass(frozen=True)
class Desk:
    """A desk at which somebody has signed on. `keeper` does what the desk itself can't, at KEEPER only."""

    name: str
    clock: Clock
    jobs: JobTable
    board: Board
    keeper: Keeper
    common_reply: Callable[[str], str]

    def serve(self) -> Generator[Request, Any, bool]:
        """Serve the desk until LEAVE; returns True if the keeper has closed the office instead."""
        here = _count(self.jobs.going_at(self.name))
        yield Say(f"DESK {self.name} TAKEN AT {self.clock.time_text()}. {here} HERE\r\n")
        while True:
            command = yield Ask(f"DESK {self.name}: ")
            yield Work(COMMAND_US)
            match command.split():
                case ["BEGIN", *words]:
                    yield from self.jobs.begin(self.name, words)
                case ["RUN", *words]:
                    job = yield from self.jobs.begin(self.name, words)
                    if job is not None:
                        yield from self.jobs.follow(job)
                case ["CALL", number]:
                    yield from self.jobs.call(self.name, number)
                case ["STOP", number]:
                    yield Say(self.jobs.stop(self.name, number))
                case ["JOBS"]:
                    yield Say(self.jobs.text())
                case ["BOARD"]:
                    yield from self.board.show()
                case ["LEAVE"]:
                    here = _count(self.jobs.going_at(self.name))
                    yield Say(f"DESK {self.name} LEFT AT {self.clock.time_text()}. {here} GO ON\r\n")
                    return False
                case ["HELP"]:
                    yield Say("BEGIN, RUN, CALL, STOP, JOBS, BOARD, LOG, DRIVES, TIME, LEAVE, HELP\r\n")
                    if self.name == "KEEPER":
                        yield Say("NOTICE, EMPTY LOG, WIPE, CLOSE THE OFFICE\r\n")
                case _ if self.name == "KEEPER":
                    if (yield from self.keeper.obey(command)):
                        return True
                case _:
                    yield Say(self.common_reply(command))


def _count(jobs: int) -> str:
    return f"{jobs or 'NO'} JOBS"


def _wipe(drive: Drive) -> Steps:
    """Write over a whole pack, if the keeper is sure."""
    if drive.state != "ready" or drive.pack is None or not drive.may_be_written:
        yield Say(f"CANNOT: {drive.name} HOLDS NO PACK THAT MAY BE WRITTEN\r\n")
        return
    if not (yield from ask_yes(f"WIPE {drive.pack.label}, SURE", default=False)):
        return
    drive.pack.holds_tidebook = False
    drive.pack.words.clear()
    yield Say("WIPING ")
    for track in range(drive.geometry.tracks):
        yield Transfer(drive.name, track, 0, 0)
        if track % 24 == 23:
            yield Say(".")
    yield Say(" WIPED\r\n")
