"""A visitors' page that is no process, for tests of the run that has it."""

from __future__ import annotations

from collections.abc import Callable


class MadePage:
    """`waits`: called while a run waits for the page. `address`: what the page then says."""

    def __init__(self, waits: Callable[[], None] = lambda: None, address: str = "http://127.0.0.1:8000/"):
        self._waits = waits
        self._address = address
        self.looks = 0
        self.given_up = False
        self.ended: list[bool] = []
        """Each time that it was ended, whether the run had begun its recording."""

    def start(self, give_up: Callable[[], bool] = lambda: False) -> str:
        self._waits()
        self.given_up = give_up()
        return "" if self.given_up else self._address

    def about(self) -> str:
        return ""

    def complaints(self) -> str:
        return "why\n"

    def has_explained(self) -> bool:
        return True

    def look(self) -> None:
        self.looks += 1

    def end(self, *, ran: bool) -> str:
        self.ended.append(ran)
        return "the page has ended" if ran else ""
