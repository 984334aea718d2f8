"""Calculates what noise can do to a command that is typed as `exhibit.decisions.console.keying` types it.

**The typing.** Up to `window` characters are on their way at a time. The echo of the first of them, folded
as the machine folds, must come back before the next one is sent. RETURN follows when the whole command has
come back with nothing after it. If the machine has a key that shows its line again, that key is pressed
first, and the line must come back right once more. If anything else arrives, or nothing, the attempt ends
with the cancel key. When the prompt is showing again, the command is typed again, three times at most
altogether and then with a window of 1. If RETURN brings no new line, or other text before it, the cancel key
follows, and there is no further attempt.

**The dangers.** Three things can make the machine execute something that nobody meant.

1. A character turns into one that ends the line, and the machine executes a *beginning* of the command. One
   fault is enough, and no echo can prevent it: it is noticed only afterwards.
2. Two faults hide each other: a character arrives as another one and its echo is changed back, or a
   character arrives twice and one echo is lost. Then a *wrong* command comes back right, and RETURN is
   sent. If the line is shown again, it takes a third fault, which makes the wrong line look right.
3. A command that came back wrong is to be cancelled, and the cancel key turns into RETURN: two faults.

Besides, if RETURN is doubled, a *bare* RETURN remains for whatever the machine asks next, and can accept a
question's default. This takes one fault, and no echo can prevent it either. And if the cancel key arrives as
RETURN, it can execute the whole command *unseen*: the command counts as garbled and may be typed again.

**The calculation.** A state is (n, k, r, flag, m, l). n characters were sent, and k echoes were read; r - k
echoes that will be found right are waiting to be read, and after them, depending on `flag`, something wrong
or an XOFF. The machine's line holds the first m characters of the command, or something else. When the line
is shown again, l of its characters will be found right, or it will be found wrong. (The noise that the line
will then meet doesn't depend on anything that happens until then, so it can be drawn for each character when
that character reaches the line.) Nothing else about the past matters, because each character is damaged
independently: the states form a Markov chain. Sending a character leads from a state to others, each with
the chance of what arrives at the machine times the chance of what arrives of its echo; reading an echo leads
to k + 1. Every path ends with an execution, with the cancel key, or with nothing. If a is the chance that an
attempt ends with a cancel key that works, and b the chance that something else than the command is executed
in it, then that chance for three attempts is b' + a' (b + a b), where a' and b' are those of the first
attempt, with its window.

For one character c of a command, in one attempt, with one bit of seven flipped at the rate p each way, the
leading terms are p/7 for each bit that turns c into a character that ends the line (danger 1), and (p/7)^2
for each bit that turns c into another printable character which the machine doesn't fold into c (danger 2),
or (p/7)^3 if the line is shown again.

**Simplifications.** The machine answers at once, so no echo is late. What it prints on its own is left out,
and so is noise before the prompt is showing. An escape in an echo counts as wrong at once, although `wire`
would wait for the rest of the sequence. A machine that received XOFF stays silent. A wrong line is never
corrected by a rubout, which would take four faults. If the key that shows the line arrived twice, or as
another character, what the machine then prints is never found right. Paths less likely than 1e-15 count as
wrong commands. None of this makes an execution more likely in the first order.
"""

from __future__ import annotations

import msgspec

from exhibit.decisions.console.keying import MOST_ATTEMPTS
from exhibit.decisions.machine.description import Typing
from exhibit.sums.console_model import NO_KEY, Console
from exhibit.sums.line_noise import PRINTABLE, Noise
from exhibit.sums.typing_attempt import WHOLE, Attempt


class Risk(msgspec.Struct, frozen=True):
    """The chances of what happens first when a command is typed. They add up to 1."""

    right: float
    """The command was executed once, and nothing else was."""
    nothing: float
    """Nothing was executed."""
    wrong: float
    """Something was executed that is not a beginning of the command."""
    beginnings: dict[str, float]
    """This beginning of the command was executed, but not the whole."""
    bare: float
    """A RETURN alone was executed, instead of the command or after it."""
    unseen: float
    """The whole command was executed by a key other than RETURN. If that was the cancel key, it may be typed
    again."""

    @property
    def beginning(self) -> float:
        """Any beginning of the command was executed, but not the whole."""
        return sum(self.beginnings.values())


def console_of(typing: Typing, *, flow_control: bool, prompt: str = "") -> Console:
    """Return the model of the console that a machine's folder describes; `prompt` is what is showing."""
    return Console(
        upper=typing.folds_to == "upper case",
        echo=typing.echo == "full",
        return_key=typing.return_key[0],
        cancel=typing.cancel[0] if typing.cancel else NO_KEY,
        ends_line=frozenset({10, 13, typing.return_key[0]}),
        flow_control=flow_control,
        show_again=typing.show_again[0] if typing.show_again else None,
        again_shows=b"\r\n" + prompt.encode("latin-1", "replace"),
    )


def noise_risk(
    command: str,
    console: Console,
    inward: Noise,
    outward: Noise,
    *,
    window: int = 1,
    attempts: int = MOST_ATTEMPTS,
    prompt_recognised: float = 1.0,
) -> Risk:
    """Calculate what can happen to a command of printable ASCII characters.

    `inward` is the noise on the way to the machine, `outward` that on the way back. `prompt_recognised` is
    the chance that the prompt is recognised after the command was cancelled; with 1 no risk is left out.
    Raises ValueError for an empty command, one that can't be typed, and a window or attempts below 1.
    """
    if not command or any(ord(character) not in PRINTABLE for character in command):
        raise ValueError("a command must consist of one or more printable characters of seven bits")
    if window < 1 or attempts < 1:
        raise ValueError("the window and the number of attempts must be at least 1")
    first = Attempt(command, console, inward, outward, window)
    first.run()
    later = first
    if window > 1 and attempts > 1:
        later = Attempt(command, console, inward, outward, 1)
        later.run()
    # The average number of attempts after the first.
    retries = (
        first.cancelled
        * prompt_recognised
        * sum((later.cancelled * prompt_recognised) ** attempt for attempt in range(attempts - 1))
    )
    executed = {
        text: first.executed.get(text, 0.0) + retries * later.executed.get(text, 0.0)
        for text in {*first.executed, *later.executed}
    }
    right = first.right + retries * later.right
    unseen = executed.pop(WHOLE, 0.0)
    wrong, bare = executed.pop(None, 0.0), executed.pop("", 0.0)
    beginnings = {text: chance for text, chance in executed.items() if text is not None and chance > 0}
    nothing = 1 - right - wrong - bare - unseen - sum(beginnings.values())
    return Risk(right, max(0.0, nothing), wrong, beginnings, bare, unseen)
