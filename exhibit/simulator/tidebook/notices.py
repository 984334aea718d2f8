"""Notices: short messages that break into whatever is on the console."""

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.serial_line import SerialLine
from exhibit.simulator.tidebook.clock import Clock
from exhibit.simulator.truth import NoticeGiven, TruthLog


class Notices:
    """Gives notices at once, except while the board is up or a desk's word is being typed.

    `wanted`: the operator wants the harbour office's notices on this console. `on_board`: the text on
    the board's notice line while the board is up, otherwise None.
    """

    def __init__(
        self, agenda: Agenda, clock: Clock, keyboard: Keyboard, line: SerialLine, truth: TruthLog
    ) -> None:
        self.wanted = True
        self.on_board: str | None = None
        self._agenda = agenda
        self._clock = clock
        self._keyboard = keyboard
        self._line = line
        self._truth = truth
        self._delayed: list[str] = []

    def give_from_harbour(self, text: str) -> None:
        """Give a notice from the harbour office or the keeper, if these are wanted."""
        if self.wanted:
            self.give(f"NOTICE {self._clock.time_text()} {text}")

    def give(self, text: str) -> None:
        """Break into the console; or show the notice on the board, or delay it while a word is typed."""
        self._truth.add(NoticeGiven(at_us=self._agenda.now_us, text=text))
        if self.on_board is not None:
            self.on_board = f"== {text} =="
        elif self._keyboard.secret:
            self._delayed.append(text)
        else:
            self._line.interrupt(f"\r\n== {text} ==\r\n")

    def give_delayed(self) -> None:
        """Print the notices that were delayed while a desk's word was typed."""
        delayed, self._delayed = self._delayed, []
        for text in delayed:
            self._line.put(f"\r\n== {text} ==\r\n")
