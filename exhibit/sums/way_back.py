"""Calculates what arrives over a noisy line of what the machine prints, and how it is interpreted."""

from __future__ import annotations

from collections import defaultdict
from typing import Final, Literal

from exhibit.sums.console_model import XOFF, XON, Console
from exhibit.sums.line_noise import PRINTABLE, Noise, way_with

Flag = Literal["", "wrong", "stop"]
"""What follows the echoes that are found right: nothing yet, something wrong, or an XOFF."""
_LF, _CR = 10, 13
_DROPPED: Final = (0, 127, XON, XOFF)
"""What `wire` drops: fillers, and flow-control characters even if there is no flow control."""


class WayBack:
    """The way back from a machine's console. `echo` is what should come back of the command.

    A result of reading is (how many characters more are found right, the flag after them, its chance).
    """

    def __init__(self, echo: list[int], console: Console, outward: Noise) -> None:
        self._echo = echo
        self._console = console
        self._outward = way_with(outward).arrivals
        self._found: dict[tuple[int, int, int], tuple[tuple[int, Flag, float], ...]] = {}
        self._parts: dict[int, tuple[float, float, float]] = {}
        self._backs: dict[tuple[int, Flag, bytes], tuple[tuple[int, Flag, float], ...]] = {}

    def read_back(self, right: int, flag: Flag, shown: bytes) -> tuple[tuple[int, Flag, float], ...]:
        """Return (characters found right in all, flag, chance) after the machine has printed `shown`.

        `right` and `flag` are those of what was already on its way back.
        """
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
                    for more, then, likely in self.outcomes(emitted, first, second):
                        ends[right_so_far + more, then] += chance * likely
            known = tuple((end, then, chance) for (end, then), chance in ends.items())
            self._backs[right, flag, shown] = known
        return known

    def outcomes(self, emitted: int, first: int, second: int) -> tuple[tuple[int, Flag, float], ...]:
        """Return the results of reading when the machine has printed one character.

        `first` and `second` are the characters that should come back next, or -1 if there are none.
        """
        known = self._found.get((emitted, first, second))
        if known is None:
            unseen, stop, double = self.special_chances(emitted)
            right = self._outward(emitted).get((first,), 0.0)
            found: defaultdict[tuple[int, Flag], float] = defaultdict(float)
            found[1, ""] += right
            found[0, ""] += unseen
            found[0, "stop"] += stop
            found[_judged((emitted, emitted), (first, second))] += double
            found[0, "wrong"] += 1 - right - unseen - stop - double
            # Anything smaller is only a rounding error of the sum above.
            known = tuple((more, flag, likely) for (more, flag), likely in found.items() if likely > 1e-14)
            self._found[emitted, first, second] = known
        return known

    def special_chances(self, emitted: int) -> tuple[float, float, float]:
        """Return the chances that a printed character is dropped, arrives as an XOFF, or arrives twice."""
        known = self._parts.get(emitted)
        if known is None:
            unseen = stop = double = 0.0
            for arrived, likely in self._outward(emitted).items():
                if len(arrived) == 2:
                    double += likely
                elif arrived == (XOFF,) and self._console.flow_control:
                    stop += likely
                elif not arrived or arrived[0] in _DROPPED:
                    unseen += likely
            known = self._parts[emitted] = unseen, stop, double
        return known

    def line_again(self) -> tuple[float, float]:
        """Return the chances that what precedes the line shown again is found right, and that it stops us.

        Any text is accepted before the new line, but only the prompt after it.
        """
        shows = self._console.again_shows
        new_line = max(shows.rfind(_CR), shows.rfind(_LF)) + 1
        before, after, stops = 1.0, 0.0, 0.0
        for emitted in shows[:new_line]:
            still_before, then_after = 0.0, 0.0
            for arrived, likely in self._outward(emitted).items():
                texts = [character for character in arrived if character not in _DROPPED]
                if arrived == (XOFF,) and self._console.flow_control:
                    stops += (before + after) * likely
                elif not texts:
                    still_before += before * likely
                    then_after += after * likely
                elif all(character in (_CR, _LF) for character in texts):
                    then_after += (before + after) * likely
                elif all(character in PRINTABLE for character in texts):
                    still_before += before * likely
            before, after = still_before, then_after
        for character in shows[new_line:]:
            stops += after * self.special_chances(character)[1]
            after *= self._outward(character).get((character,), 0.0)
        return after, stops

    def new_line(self, shown: bytes) -> float:
        """Return the chance that no cancel key follows RETURN when the machine prints this.

        A new line counts as the answer, and an XOFF makes us wait. Text before them leads to the cancel key.
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
    """Return how many of the expected characters a doubled one matches, and the flag after them."""
    if twice[0] != expected[0]:
        return 0, "wrong"
    return (2, "") if twice[1] == expected[1] else (1, "wrong")
