"""Sessions at the Bittern, for its tests. `python -m tests.foreign.bittern_session` prints the transcript."""

from tests.foreign.bittern import Bittern
from tests.foreign.bittern_monitor import WORDS
from tests.foreign.hand import Hand, paper
from tests.foreign.wire import Wire


def at_loader(machine: Bittern | Wire | None = None) -> Hand:
    """START has been pressed, and the first question stands there."""
    hand = Hand(machine or Bittern(), even_parity=True)
    hand.done("power on")
    hand.run(13)
    hand.done("start")
    hand.until("WHICH DEVICE\n?")
    return hand


def load(hand: Hand, day: str = "14-03-71") -> None:
    """Answer the loader's questions and wait for the monitor."""
    hand.line("PACK", "STORE, IN BLOCKS\n?")
    hand.line("16", "DATE, DD-MM-YY\n?")
    hand.line(day, "(Y/N) ")
    key(hand, "Y", "\n-")


def key(hand: Hand, letter: str, then: str) -> str:
    """Press one key, and wait for `then`; returns what came."""
    hand.run(0.5)
    hand.type(letter)
    return hand.until(then)


def at_monitor(machine: Bittern | Wire | None = None) -> Hand:
    """The monitor runs; nobody is signed on."""
    hand = at_loader(machine)
    load(hand)
    return hand


def sign_on(hand: Hand, who: str = "WARDEN") -> None:
    """Sign on at `-`."""
    hand.line(f"SIGN {who}", "########\r")
    hand.line(WORDS[who], "\n*")


def signed_on(machine: Bittern | Wire | None = None, who: str = "WARDEN") -> Hand:
    """The monitor runs, and `who` is signed on."""
    hand = at_monitor(machine)
    sign_on(hand, who)
    return hand


def transcript() -> str:
    """A short session as it stands on the paper."""
    hand = signed_on(Bittern(7), "GAUGER")
    hand.line("LEVELS", "\n*")
    hand.line("BEGIN PACER 2", "\n*")
    hand.line("BEGIN RAKER", "\n?")
    hand.line("1", "\n*")
    hand.line("JOBS", "\n*")
    hand.done("notice boat at sluice 2 until noon")
    hand.until("\n*")
    hand.line("LEVLES", "\n*")
    hand.until("JOB 2 OVER")
    hand.until("\n*")
    hand.line("SIGN OFF", "\n-")
    sign_on(hand)
    hand.line("CLOSE", "(Y/N) ")
    key(hand, "Y", "CLOSE DOWN (Y/N) ")
    key(hand, "Y", "GO OFF\n")
    hand.run(1)
    return paper(hand.heard).strip("\n") + "\n"


if __name__ == "__main__":
    print(transcript(), end="")
