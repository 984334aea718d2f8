"""What comes back of what the machine prints, over a noisy line: how it is read, and how likely that is."""

from __future__ import annotations

from collections import defaultdict
from typing import Final, Literal

from exhibit.sums.console_model import XOFF, XON, Console
from exhibit.sums.line_noise import PRINTABLE, Noise, way_with

Flag = Literal["", "wrong", "stop"]
"""What comes behind the echoes that are found right: nothing yet, a wrong one, or an XOFF."""
_LF, _CR = 10, 13
_UNSEEN: Final = (0, 127, XON, XOFF)
"""What `wire` leaves out: fillers, and flow control where there is none."""


class WayBack:
    """The way back from one machine's console. `echo` is to come back of the command."""

    def __init__(self, echo: list[int], console: Console, outward: Noise) -> None:
        self._echo = echo
        self._console = console
        self._outward = way_with(outward).arrivals
        self._found: dict[tuple[int, int, int], tuple[tuple[int, Flag, float], ...]] = {}
        self._parts: dict[int, tuple[float, float, float]] = {}
        self._backs: dict[tuple[int, Flag, bytes], tuple[tuple[int, Flag, float], ...]] = {}

    def come_back(self, right: int, flag: Flag, shown: bytes) -> tuple[tuple[int, Flag, float], ...]:
        """What the machine prints comes back to us, behind what waits to be read already."""
        known = self._backs.get((right, flag, shown))
        if known is None:
            ends: dict[tuple[int, Flag], float] = {(right, flag): 1.0}
            for emitted in shown:
                before, ends = ends, defaultdict(float)
                for (right_so_far, flagged), chance in before.items():
                    if flagged:
                        ends[right_so_far, flagged] += chance
                        continue
                    first, second, *_ = *self._echo[right_so_far : right_so_far + 2], -1, -1
                    for more, then, likely in self.seen(emitted, first, second):
                        ends[right_so_far + more, then] += chance * likely
            known = tuple((end, then, chance) for (end, then), chance in ends.items())
            self._backs[right, flag, shown] = known
        return known

    def seen(self, emitted: int, first: int, second: int) -> tuple[tuple[int, Flag, float], ...]:
        """How many more are found right of a printed character, what is flagged then, and how likely that is.

        `first` and `second` are the characters that are to come back next, -1 where none is.
        """
        known = self._found.get((emitted, first, second))
        if known is None:
            unseen, stop, double = self.apart(emitted)
            right = self._outward(emitted).get((first,), 0.0)
            found: defaultdict[tuple[int, Flag], float] = defaultdict(float)
            found[1, ""] += right
            found[0, ""] += unseen
            found[0, "stop"] += stop
            found[_judged((emitted, emitted), (first, second))] += double
            found[0, "wrong"] += 1 - right - unseen - stop - double
            # What is less than the rounding of a sum is nothing.
            known = tuple((more, flag, likely) for (more, flag), likely in found.items() if likely > 1e-14)
            self._found[emitted, first, second] = known
        return known

    def apart(self, emitted: int) -> tuple[float, float, float]:
        """How likely it is that nothing is seen of what was printed, that it stops us, that it is doubled."""
        known = self._parts.get(emitted)
        if known is None:
            unseen = stop = double = 0.0
            for arrived, likely in self._outward(emitted).items():
                if len(arrived) == 2:
                    double += likely
                elif arrived == (XOFF,) and self._console.flow_control:
                    stop += likely
                elif not arrived or arrived[0] in _UNSEEN:
                    unseen += likely
            known = self._parts[emitted] = unseen, stop, double
        return known

    def line_again(self) -> tuple[float, float]:
        """How likely what is printed before the line is found right, and that it holds us up.

        Before the new line any text may stand; behind it the prompt.
        """
        shows = self._console.again_shows
        new_line = max(shows.rfind(_CR), shows.rfind(_LF)) + 1
        begun, standing, stops = 1.0, 0.0, 0.0
        for emitted in shows[:new_line]:
            still, then = 0.0, 0.0
            for arrived, likely in self._outward(emitted).items():
                texts = [character for character in arrived if character not in _UNSEEN]
                if arrived == (XOFF,) and self._console.flow_control:
                    stops += (begun + standing) * likely
                elif not texts:
                    still += begun * likely
                    then += standing * likely
                elif all(character in (_CR, _LF) for character in texts):
                    then += (begun + standing) * likely
                elif all(character in PRINTABLE for character in texts):
                    still += begun * likely
            begun, standing = still, then
        for character in shows[new_line:]:
            stops += standing * self.apart(character)[1]
            standing *= self._outward(character).get((character,), 0.0)
        return standing, stops

    def new_line(self, shown: bytes) -> float:
        """How likely it is that no cancel key follows RETURN when the machine prints this.

        A new line is taken for its answer, and an XOFF makes us wait; any text before them is one too much.
        """
        waiting, taken = 1.0, 0.0
        for emitted in shown:
            on = 0.0
            for arrived, likely in self._outward(emitted).items():
                for character in arrived:
                    if character == _LF or (character == XOFF and self._console.flow_control):
                        taken += waiting * likely
                        break
                    if character in PRINTABLE and self._console.echo:
                        break
                else:
                    on += likely
            waiting *= on
        return taken


def _judged(twice: tuple[int, int], expected: tuple[int, int]) -> tuple[int, Flag]:
    """How many of the expected characters came when a printed one came twice, and whether more did."""
    if twice[0] != expected[0]:
        return 0, "wrong"
    return (2, "") if twice[1] == expected[1] else (1, "wrong")
