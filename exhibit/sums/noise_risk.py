"""What noise can do to a command that is typed as `exhibit.decisions.console.keying` types it.

**The typing.** Up to `window` characters are under way; the first of them must come back, folded as the
machine folds, before the next one is sent. RETURN follows when the whole command has come back and
nothing behind it; where the machine has a key that shows its line again, it is pressed first, and the
line must come back right once more. Whatever else comes, or nothing, ends the attempt with the cancel key;
when the prompt stands again the command is typed afresh, three times at most and with a window of 1. After
RETURN any text that isn't a new line, or silence, leads to the cancel key and to no further attempt.

**The ways in.** Three things can make the machine act on what nobody meant.

1. A character turns into one that ends the line: what stands there is executed, a *beginning* of the
   command. One fault is enough, and no echo can prevent it: it is seen, but afterwards.
2. Two faults hide each other: a character arrives as another one and its echo is turned back, or one
   arrives twice and one echo is lost. Then a *wrong* command comes back right, and RETURN is sent. With a
   second look it takes a third fault: the wrong line must be shown as the right one too.
3. A command that came back wrong is to be cancelled and the cancel key turns into RETURN: two faults.

Also, a RETURN that is doubled leaves a *bare* RETURN for whatever the machine asks next. It takes one
fault and no echo can prevent it either: a question's default may be accepted so. And RETURN in place of
the cancel key may execute the whole command *unseen*: taken for garbled, it is perhaps typed again.

**The sum.** A state is (n, k, r, flag, m, l): n characters were sent, k echoes read; r - k echoes that
will be found right wait to be read, and behind them, if `flag` says so, something wrong or an XOFF. The
machine holds the first m characters of the command, or something else; of these, when they are shown again, l
will be found right, or it will be found wrong. (The noise that the line will meet then depends on nothing
that happens in between, so it may be drawn for each character when it comes to stand there.) Nothing else
about the past matters, because each character is damaged independently: a Markov chain. Sending a
character takes a state to others with the chance of each arrival at the machine times the chance of each
arrival of its echo; reading takes it to k + 1. Every path ends in an execution, in the cancel key, or in
nothing. With a the chance that an attempt ends with a cancel that works, and b that something unmeant is
executed in it, three attempts have b' + a' (b + a b), where b' and a' are those of the first, of the window.

For one character c of a command, in one attempt, with one bit of seven flipped at the rate p each way,
the leading terms are p/7 for each bit that makes c end the line (way 1), and (p/7)^2 for each that makes
it another printable character which the machine doesn't fold into c (way 2); with a second look (p/7)^3.

**What it leaves out.** The machine is taken to answer at once, so that no echo comes too late; what it
prints by itself is left out, and so is noise before the prompt stands. An escape in an echo counts as
wrong at once, where `wire` would wait for the rest of the sequence; a machine that was sent XOFF stays
silent. Something else on the machine's line is never mended by being rubbed out, which would take four
faults. Where the key that shows the line came twice, or came as another, what is printed is never found
right. Ways less likely than 1e-15 count as wrong commands. None of these makes an execution likelier in
the first order.
"""

from __future__ import annotations

import msgspec

from exhibit.decisions.console.keying import MOST_ATTEMPTS
from exhibit.decisions.machine.description import Typing
from exhibit.sums.console_model import Console
from exhibit.sums.line_noise import PRINTABLE, Noise
from exhibit.sums.typing_attempt import WHOLE, Attempt


class Risk(msgspec.Struct, frozen=True):
    """Chances of what comes first of a command that was asked for once. They add up to 1."""

    right: float
    """It was executed, once, and nothing else was."""
    nothing: float
    """Nothing was executed."""
    wrong: float
    """Something was executed that is no beginning of it."""
    beginnings: dict[str, float]
    """This beginning of it was executed, though not the whole."""
    bare: float
    """A RETURN alone was, instead of it or behind it."""
    unseen: float
    """The whole command was executed by a key that wasn't RETURN when it was typed. Where that was the cancel
    key, it may then be typed again."""

    @property
    def beginning(self) -> float:
        """Any beginning of it was executed, though not the whole."""
        return sum(self.beginnings.values())


def console_of(typing: Typing, *, flow_control: bool, prompt: str = "") -> Console:
    """The console that a machine's folder describes, as far as it does; `prompt` is what stands there."""
    return Console(
        upper=typing.folds_to == "upper case",
        echo=typing.echo == "full",
        return_key=typing.return_key[0],
        cancel=typing.cancel[0],
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
    prompt_stands: float = 1.0,
) -> Risk:
    """What may become of a command of printable ASCII characters.

    `inward` is the noise on the way to the machine, `outward` on the way back. `prompt_stands`: the
    chance that the prompt is recognised when the command was cancelled; with 1 no risk is left out.
    Raises ValueError for an empty command, one that can't be typed, and a window or attempts below 1.
    """
    if not command or any(ord(character) not in PRINTABLE for character in command):
        raise ValueError("a command is one or more printable characters of seven bits")
    if window < 1 or attempts < 1:
        raise ValueError("at least one character is under way, and one attempt made")
    first = Attempt(command, console, inward, outward, window)
    first.go()
    later = first
    if window > 1 and attempts > 1:
        later = Attempt(command, console, inward, outward, 1)
        later.go()
    # How often, on the average, an attempt after the first is made.
    made = (
        first.cancelled
        * prompt_stands
        * sum((later.cancelled * prompt_stands) ** attempt for attempt in range(attempts - 1))
    )
    executed = {
        text: first.executed.get(text, 0.0) + made * later.executed.get(text, 0.0)
        for text in {*first.executed, *later.executed}
    }
    right = first.right + made * later.right
    unseen = executed.pop(WHOLE, 0.0)
    wrong, bare = executed.pop(None, 0.0), executed.pop("", 0.0)
    beginnings = {text: chance for text, chance in executed.items() if text is not None and chance > 0}
    nothing = 1 - right - wrong - bare - unseen - sum(beginnings.values())
    return Risk(right, max(0.0, nothing), wrong, beginnings, bare, unseen)
