"""Sessions at the Dunlin, for its tests. `python -m tests.foreign.dunlin_session` prints the transcript."""

import pyte

from tests.foreign.dunlin import Dunlin
from tests.foreign.dunlin_host import SECRETS
from tests.foreign.dunlin_screen import COLUMNS, ROWS
from tests.foreign.hand import Hand
from tests.foreign.wire import Wire


class Terminal(Hand):
    """A hand at a terminal that knows the control sequences of ECMA-48."""

    def __init__(self, machine: Dunlin | Wire) -> None:
        super().__init__(machine, even_parity=False)
        self._pyte = pyte.Screen(COLUMNS, ROWS)
        self._unfed = ""
        self._shown = ""
        self._stream = pyte.Stream(self._pyte)

    def run_to(self, to_us: int) -> str:
        """Let time pass; what arrives changes the screen."""
        text = super().run_to(to_us)
        self._unfed += text
        return text

    @property
    def _screen(self) -> pyte.Screen:
        if self._unfed:
            # A terminal takes XOFF and XON for itself.
            self._stream.feed(self._unfed.replace("\x11", "").replace("\x13", ""))
            self._unfed = self._shown = ""
        return self._pyte

    @property
    def rows(self) -> list[str]:
        """The screen's rows, without what is empty at their ends."""
        return [row.rstrip() for row in self._screen.display]

    @property
    def shown(self) -> str:
        """The whole screen."""
        if self._unfed or not self._shown:
            self._shown = "\n".join(self.rows)
        return self._shown

    @property
    def cursor(self) -> tuple[int, int]:
        """Row and column, counted from 1."""
        return self._screen.cursor.y + 1, self._screen.cursor.x + 1

    def reversed_in(self, row: int) -> str:
        """What stands in reverse video in a row."""
        cells = self._screen.buffer[row - 1]
        return "".join(cells[column].data for column in range(COLUMNS) if cells[column].reverse)

    def see(self, text: str, within_s: float = 60.0) -> None:
        """Wait until `text` is on the screen."""
        end_us = self.now_us + round(within_s * 1_000_000)
        while text not in self.shown:
            assert self.now_us < end_us, f"{text!r} did not appear within {within_s} s:\n{self.shown}"
            self.run(0.1)

    def keys(self, text: str) -> None:
        """Type, as fast as a person does."""
        for letter in text:
            self.type(letter)
            self.run(0.1)

    def command(self, text: str) -> None:
        """Type a command, and wait for the next prompt."""
        number = int(self.rows[22].split()[0])
        self.keys(text + "\r")
        self.see(f"\n{number + 1} ")
        self.run(1)


def at_fixed_loader(machine: Dunlin | Wire | None = None) -> Terminal:
    """Power has been turned on, and the first loader waits for an address."""
    terminal = Terminal(machine or Dunlin())
    terminal.done("power on")
    terminal.see("unit address (hex)")
    terminal.run(0.5)
    return terminal


def at_second_loader(machine: Dunlin | Wire | None = None) -> Terminal:
    """The second loader asks what to boot from."""
    terminal = at_fixed_loader(machine)
    terminal.keys("1F40")
    terminal.see("boot from?")
    terminal.run(0.5)
    return terminal


def boot(terminal: Terminal, day: str = "780314", clock: str = "0915") -> None:
    """Answer the second loader's questions."""
    terminal.keys("d1\r")
    terminal.see("(yymmdd)?")
    terminal.keys(day + "\r")
    terminal.see("(hhmm)?")
    terminal.keys(clock + "\r")
    terminal.see("name:", 90)
    terminal.run(0.5)


def at_host(machine: Dunlin | Wire | None = None) -> Terminal:
    """The host asks for a name."""
    terminal = at_second_loader(machine)
    boot(terminal)
    return terminal


def sign_on(terminal: Terminal, who: str = "fitter") -> None:
    """Sign on."""
    terminal.keys(who + "\r")
    terminal.see("secret:")
    terminal.keys(SECRETS[who] + "\r")
    terminal.see(f" {who}> "[:-1])
    terminal.run(0.5)


def signed_on(machine: Dunlin | Wire | None = None, who: str = "fitter") -> Terminal:
    """`who` is signed on."""
    terminal = at_host(machine)
    sign_on(terminal, who)
    return terminal


def transcript() -> str:
    """A short session, as the screens that one would copy down."""
    screens: list[str] = []
    terminal = at_second_loader(Dunlin(7))

    def copy_down(what: str) -> None:
        screens.append(f"[{what}]\n{terminal.shown.rstrip()}\n")

    boot(terminal)
    copy_down("after loading")
    sign_on(terminal, "porter")
    terminal.command("date")
    terminal.command("run sieve 2")
    terminal.command("run weave 1")
    terminal.command("jobs")
    terminal.done("notice The lift is out of order")
    terminal.run(1)
    copy_down("signed on, with two jobs and a notice")
    terminal.command("list")
    copy_down("after list")
    terminal.keys("load\r")
    terminal.run(9)
    copy_down("the load display")
    terminal.keys("q")
    terminal.run(1)
    terminal.keys("bye\r")
    terminal.see("name:")
    sign_on(terminal)
    terminal.keys("down\r")
    terminal.see("(yes or no)?")
    copy_down("the question of down")
    terminal.keys("yes\r")
    terminal.see("safe to switch off")
    copy_down("shut down")
    return "\n".join(screens)


if __name__ == "__main__":
    print(transcript(), end="")
