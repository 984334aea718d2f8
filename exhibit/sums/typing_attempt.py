"""Follows one attempt to type a command over a noisy line along every path that it can take.

`noise_risk` explains what is calculated here, and why.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Final, NamedTuple

from exhibit.sums.console_model import NO_KEY, XOFF, XON, Console, folded
from exhibit.sums.line_noise import PRINTABLE, Noise, way_with
from exhibit.sums.way_back import Flag, WayBack

WHOLE: Final = "\r"
"""Stands for the whole command in `executed`; no command contains this character."""
_NEGLIGIBLE: Final = 1e-15
_LOOK_WRONG, _LOOK_STOPS, _NEVER = -1, -2, -3
"""The line shown again will be found wrong; an XOFF will interrupt it; it will not be shown at all."""


class _FarEnd(NamedTuple):
    """The state of the machine, and of what is on its way back."""

    right: int
    """The number of echoes that were read, or are waiting to be read and will be found right."""
    flag: Flag
    """What follows these echoes."""
    kept: int
    """How many characters of the command are on the machine's line; -1 if something else is."""
    mute: bool
    """Whether the machine received XOFF."""
    again: int
    """How many characters will be found right when the line is shown again, or one of the constants above."""


_State = tuple[int, int, _FarEnd]
"""The number of characters sent, the number of echoes read, and the state of the far end."""


class Attempt:
    """One attempt; `run` calculates the chances of its outcomes.

    `executed`: by what was executed (None for a wrong command), the chance. `right`: the whole command was
    executed by the intended RETURN. `cancelled`: nothing was executed, and the cancel key worked.
    """

    def __init__(self, command: str, console: Console, inward: Noise, outward: Noise, window: int) -> None:
        self._command = command
        self._echo = [ord(folded(character, console)) for character in command]
        self._length = len(command)
        self._console = console
        self._inward = way_with(inward).arrivals
        self._back = WayBack(self._echo, console, outward)
        self._window = window
        self._ends_line = console.ends_line - {console.cancel}
        # Only a doubled key arrives as two characters, and they are the same, so the first is enough.
        cancel = self._inward(console.cancel) if console.cancel != NO_KEY else {}
        became = [(arrived[0], chance) for arrived, chance in cancel.items() if arrived]
        self._cancel_works = sum(chance for first, chance in became if first == console.cancel)
        self._cancel_ends = sum(chance for first, chance in became if first in self._ends_line)
        self._before_the_line = self._back.line_again()
        # A state's successors have sent or read one character more.
        self._due: list[defaultdict[_State, float]] = [
            defaultdict(float) for _ in range(2 * self._length + 1)
        ]
        self.executed: defaultdict[str | None, float] = defaultdict(float)
        self.right = 0.0
        self.cancelled = 0.0

    def run(self) -> None:
        """Follow every path that the attempt can take."""
        again = 0 if self._console.show_again is not None else _NEVER
        self._due[0][0, 0, _FarEnd(0, "", 0, False, again)] = 1.0
        for due in self._due:
            for state, chance in due.items():
                if chance < _NEGLIGIBLE:
                    self.executed[None] += chance
                else:
                    self._advance(state, chance)

    def _advance(self, state: _State, chance: float) -> None:
        sent, read, far = state
        if sent < self._length and (sent - read < self._window or not self._console.echo):
            self._send(state, chance)
        elif not self._console.echo:
            self._look(far, chance)
        elif far.right > read:
            self._due[sent + read + 1][sent, read + 1, far] += chance
        elif far.flag == "stop":
            pass  # we wait for XON; the step is overdue, and nothing more is typed
        elif far.flag == "wrong" or sent > read:
            self._cancel(far, chance)
        else:
            self._look(far, chance)

    def _send(self, state: _State, chance: float) -> None:
        sent, read, before = state
        # Many characters have the same effect, above all those that aren't printable.
        effects: defaultdict[tuple[int, bool, int, bytes], float] = defaultdict(float)
        unheard = not self._console.echo or bool(before.flag)
        for arrived, likely in self._inward(ord(self._command[sent])).items():
            ends = [(before.kept, before.mute, _NEVER if before.flag else before.again, b"", likely)]
            for character in arrived:
                if character in self._ends_line:
                    # The results for showing the line again don't matter any more.
                    self.executed[self._line_text(ends[0][0])] += chance * likely
                    break
                ends = [
                    (kept, mute, again, shown + (b"" if mute or unheard else more), share * seen)
                    for kept_before, mute_before, again_before, shown, share in ends
                    for kept, mute, more in (self._take(kept_before, mute_before, character),)
                    for again, seen in self._shown_again(again_before, kept_before, kept, character)
                ]
            else:
                for kept, mute, again, shown, share in ends:
                    effects[kept, mute, again, shown] += share
        after: defaultdict[_FarEnd, float] = defaultdict(float)
        for (kept, mute, again, shown), likely in effects.items():
            for right, flag, share in self._back.read_back(before.right, before.flag, shown):
                # After something wrong the line is not shown again.
                after[_FarEnd(right, flag, kept, mute, _NEVER if flag else again)] += likely * share
        for far, share in after.items():
            self._due[sent + 1 + read][sent + 1, read, far] += chance * share

    # -- the machine ----------------------------------------------------------------------------------

    def _line_text(self, kept: int) -> str | None:
        """Return what is on the machine's line, as a key of `executed`."""
        if kept < 0:
            return None
        return WHOLE if kept == self._length else self._command[:kept]

    def _take(self, kept: int, mute: bool, character: int) -> tuple[int, bool, bytes]:
        """Return `kept`, `mute` and what the machine prints after a character that doesn't end the line."""
        console = self._console
        if character == console.cancel:
            return 0, mute, console.cancel_shows
        if character in console.rubs_out:
            if kept:
                return max(-1, kept - 1), mute, console.rub_out_shows
            return kept, mute, b"\a"
        if console.flow_control and character in (XON, XOFF):
            return kept, mute or character == XOFF, b""
        if character in console.ignores:
            return kept, mute, b""
        if character not in PRINTABLE:
            return kept, mute, b"\a"
        shown = ord(folded(chr(character), console))
        fits = 0 <= kept < self._length and shown == self._echo[kept]
        return kept + 1 if fits else -1, mute, bytes((shown,))

    # -- showing the line again -----------------------------------------------------------------------

    def _shown_again(
        self, again: int, kept_before: int, kept: int, character: int
    ) -> Iterable[tuple[int, float]]:
        """Yield the values of `again`, with their chances, after this character has reached the line."""
        console = self._console
        if again == _NEVER:
            return ((again, 1.0),)
        if character == console.cancel:
            return ((0, 1.0),)
        if character in console.rubs_out:
            return ((again - 1 if again == kept_before else again, 1.0),) if kept_before else ((again, 1.0),)
        if character not in PRINTABLE or again < 0:
            return ((again, 1.0),)
        first, second, *_ = *self._echo[again : again + 2], -1, -1
        look = {"wrong": _LOOK_WRONG, "stop": _LOOK_STOPS}
        emitted = ord(folded(chr(character), console))
        return [
            (look[flag] if flag else again + more, likely)
            for more, flag, likely in self._back.outcomes(emitted, first, second)
        ]

    def _look(self, far: _FarEnd, chance: float) -> None:
        """Follow an attempt whose echo was right: show the line again if a key does that, else RETURN."""
        console = self._console
        if console.show_again is None:
            self._return(far, chance)
            return
        for arrived, likely in self._inward(console.show_again).items():
            kept, mute, executed, shown = far.kept, far.mute, False, b""
            for character in arrived:
                executed = executed or character in self._ends_line
                if not executed and character != console.show_again:
                    kept, mute, more = self._take(kept, mute, character)
                    shown += b"" if mute or not console.echo else more
            after = far._replace(kept=kept, mute=mute)
            if executed:
                self.executed[self._line_text(kept)] += chance * likely
            elif arrived != (console.show_again,) or mute:
                back = self._back.read_back(self._length, "", shown)
                stopped = sum(share for _, flag, share in back if flag == "stop")
                self._cancel(after, chance * likely * (1 - stopped))
            else:
                self._looked(after, chance * likely)

    def _looked(self, far: _FarEnd, chance: float) -> None:
        """Follow an attempt whose line is shown again: RETURN if it is found right, else the cancel key."""
        right, stops = self._before_the_line
        found = {self._length: right, _LOOK_STOPS: 0.0}.get(far.again, 0.0)
        stopped = stops + (right if far.again == _LOOK_STOPS else 0.0)
        self._return(far, chance * found)
        self._cancel(far, chance * (1 - found - stopped))

    # -- outcomes -------------------------------------------------------------------------------------

    def _cancel(self, far: _FarEnd, chance: float) -> None:
        """Follow an attempt that ends with the cancel key because the echo was wrong."""
        self.executed[self._line_text(far.kept)] += chance * self._cancel_ends
        if not far.mute:
            self.cancelled += chance * self._cancel_works

    def _return(self, far: _FarEnd, chance: float) -> None:
        """Follow an attempt that ends with RETURN because everything came back right."""
        for arrived, likely in self._inward(self._console.return_key).items():
            kept, mute, shown = far.kept, far.mute, b""
            executed = False
            for character in arrived:
                if character not in self._ends_line:
                    kept, mute, more = self._take(kept, mute, character)
                    shown += more
                elif not executed and kept == self._length:
                    executed, shown = True, b"\r\n"
                else:
                    self.executed["" if executed else self._line_text(kept)] += chance * likely
                    break
            else:
                self._answered(kept, b"" if mute else shown, executed, chance * likely)

    def _answered(self, kept: int, shown: bytes, executed: bool, chance: float) -> None:
        """Follow what comes back after RETURN; unless it is a new line, the cancel key is typed."""
        by_cancel = chance * (1 - self._back.new_line(shown)) * self._cancel_ends
        if executed:
            self.right += chance - by_cancel
        self.executed["" if executed else self._line_text(kept)] += by_cancel
