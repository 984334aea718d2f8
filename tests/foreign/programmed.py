"""A core whose programs are dialogues: they print, pause, and wait for what is typed."""

from collections.abc import Iterable

from exhibit.simulator.agenda import Agenda, Booking
from tests.foreign.core import Ask, Core, Dialogue, Line, Pause


class Programmed(Core):
    """Runs one dialogue at a time. A machine says how it prints, and gives what is typed to `answered`."""

    def __init__(self, agenda: Agenda, line: Line, seed: int) -> None:
        super().__init__(agenda, line, seed)
        self.awaiting: Ask | None = None
        """What is waited for right now: its prompt has been printed, and nothing else is being printed."""
        self.typed = ""
        self.held = False
        """Nothing is waited for until `hold_no_more`, as when the console is asleep."""
        self._dialogue: Dialogue | None = None
        self._request: Ask | Pause | None = None
        self._pausing: Booking | None = None
        line.on_idle = self._printed

    def pieces(self, text: str) -> Iterable[str]:
        """How `text` goes out on the line: fill characters and so on."""
        raise NotImplementedError

    def waits(self, ask: Ask) -> None:
        """The machine now waits for something to be typed."""

    def say(self, text: str) -> None:
        """Print `text` after all that still has to be printed."""
        self.line.put(self.pieces(text))

    def run(self, dialogue: Dialogue) -> None:
        """Start a program in the place of the one that runs."""
        self.drop_program()
        self._dialogue = dialogue
        self._go_on(None)

    def drop_program(self) -> None:
        """End the program that runs, wherever it is."""
        self._dialogue = None
        self._request = None
        self.awaiting = None
        self.typed = ""
        self.held = False
        if self._pausing is not None:
            self._pausing.call_off()

    def answered(self, text: str) -> None:
        """What was waited for has been typed."""
        self.stop_waiting()
        self._request = None
        self._go_on(text)

    def stop_waiting(self) -> None:
        """Wait for nothing, until what is printed meanwhile has gone out."""
        if self.awaiting is not None:
            self.awaiting = None
            self.note("prompt")

    def hold_no_more(self) -> None:
        """Show the prompt again, and wait at it."""
        self.held = False
        if isinstance(self._request, Ask):
            self.show(self._request)

    @property
    def asks(self) -> Ask | None:
        """What the program waits for, though perhaps not right now."""
        return self._request if isinstance(self._request, Ask) else None

    def show(self, ask: Ask) -> None:
        """Print the prompt."""
        self.say(ask.prompt)

    def _go_on(self, value: str | None) -> None:
        dialogue = self._dialogue
        if dialogue is None:
            return
        try:
            request = dialogue.send(value)
        except StopIteration:
            return
        if dialogue is not self._dialogue:
            return
        self._request = request
        self.typed = ""
        if isinstance(request, Ask):
            self.show(request)
        if self.line.idle:
            self._printed()

    def _printed(self) -> None:
        request = self._request
        if isinstance(request, Pause):
            self._request = None
            self._pausing = self.agenda.after(request.us, lambda: self._go_on(None))
        elif isinstance(request, Ask) and self.awaiting is None and not self.held:
            self.awaiting = request
            self.note("prompt", request.name or request.prompt)
            self.waits(request)
