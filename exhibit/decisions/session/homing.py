"""Finds out what state the console is in before a script begins, then follows the way home or asks a person.

It first listens. If a command may be half typed on the console, it types the cancel key before anything else.
Otherwise it types one nudge at most, and none if a question may be open, because RETURN would answer it. Then
it recognises what is showing as a landmark of the machine's folder. If a script was left unfinished, it
runs that script's tidy-up, with the numbers that the machine printed then, and then follows the way home.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, Literal

import msgspec

from exhibit.decisions.commands import Arm, Command, Drop, Tell
from exhibit.decisions.console import half_typed
from exhibit.decisions.console.local_echo import local_echo
from exhibit.decisions.console.noise import look_at
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.console.where import Place, silent_landmark
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import SILENT, Script, WayHome
from exhibit.decisions.session.home_keys import HomeKeys, Key
from exhibit.decisions.session.left_open import BY, LeftOpen
from exhibit.decisions.session.script_run import until_of
from exhibit.decisions.session.session import Session
from exhibit.facts import kinds

DEADLINE: Final = "home"
MOST_WAYS: Final = 4
"""How many ways to follow, each from one landmark to the next: more would mean going round in circles."""
JUDGED_BYTES: Final = 512
"""How many of the last received bytes to judge for noise."""
BLOCKED_LOOK_US: Final = 15_000_000
"""How often to look again while the machine blocks typing, which it may do for hours."""
_NEVER_QUIET: Final = (
    "the machine keeps printing, and is never quiet for long enough to show what state it is in"
)
_LINE_ENDS: Final = frozenset(b"\r\n")


class Homing:
    """One machine's way home. Once it is `there`, a script can begin at `place`."""

    def __init__(
        self,
        machine: Machine,
        way: WayHome,
        scripts: Mapping[str, Script],
        console: TypingConsole,
        session: Session,
        left_open: LeftOpen,
    ) -> None:
        self._machine = machine
        self._way = way
        self._scripts = scripts
        self._console = console
        self._watched = console.watched
        self._session = session
        self._left_open = left_open
        self._state: Literal["away", "listening", "under way", "there"] = "away"
        self._enough: tuple[str, ...] = ()
        self._vouched = False
        self._keys = HomeKeys(machine, way, scripts, console.watched, left_open)
        self._heard = b""
        self._told_half = False
        """A person was asked to remove what is half typed on the console."""
        self._lines_before: list[str] = []
        """The last printed lines when a key was sent."""
        self._begun_us = self._since_us = 0
        self._tidied: tuple[str, list[str]] | None = None
        """The last tidy-up, which isn't run twice: its script, and the steps whose numbers were known."""
        self._ways = 0
        self.place = ""

    @property
    def there(self) -> bool:
        """Whether a script can begin in the console's present state."""
        return self._state == "there"

    @property
    def at_rest(self) -> bool:
        """Whether it is finding nothing out: it hasn't begun, has given up, or is there."""
        return self._state in ("away", "there")

    @property
    def under_way(self) -> bool:
        """Whether the running script is a way home, or the tidy-up of an unfinished script."""
        return self._state == "under way"

    def begin(self, enough: tuple[str, ...], why: str, at_us: int, *, vouched: bool = False) -> list[Command]:
        """Starts to listen. `vouched`: a person has looked at the machine.

        `enough`: the landmarks at which the next script can begin, so that no way home is needed.
        """
        self._state, self.place = "listening", ""
        self._enough, self._vouched = enough, vouched
        self._heard = b""
        self._keys.begin(vouched=vouched)
        self._begun_us = self._since_us = at_us
        self._ways = 0
        line_clear = vouched and (self._told_half or bool(self._console.half_standing))
        self._told_half = False
        sought = kinds.PlaceSought(why=why, vouched=vouched, line_clear=line_clear)
        return [Tell(fact=sought), Arm(name=DEADLINE, due_us=at_us + self._way.listen_us)]

    def arrive(self) -> None:
        """A script can begin without finding anything out: the last recording carried over to this one."""
        self._state = "there"

    def take_place(self) -> str:
        """Takes the place that was recognised, once only: after a script the console is somewhere else."""
        place, self.place = self.place, ""
        return place

    def leave(self) -> list[Command]:
        """Gives up: the line was lost, or nothing more is to be typed."""
        self._state, self.place = "away", ""
        return [Drop(name=DEADLINE)]

    def heard(self, data: bytes) -> None:
        """The machine sent this; keeps it to judge whether it is noise."""
        if self._state == "listening":
            self._heard = (self._heard + data)[-JUDGED_BYTES:]
            said = any(byte & 0x7F in _LINE_ENDS or _is_shown(byte) for byte in data)
            self._keys.heard |= said
            self._keys.answered |= said

    def landmark_reached(self, at_us: int) -> list[Command]:
        """A prompt or a display was recognised, so only quiet is still needed."""
        if self._state != "listening" or self._session.state == "failed":
            return []  # the display may have shown a trouble, which made the session fail
        if self._watched.status_display is not None and at_us >= self._since_us + self._way.listen_us:
            # A display that is always being repainted is never quiet.
            return self._look(at_us)
        if not self._keys.typed:
            return []
        return [Arm(name=DEADLINE, due_us=at_us + self._way.listen_us)]

    def overdue(self, at_us: int) -> list[Command]:
        """The deadline has passed."""
        if self._state != "listening":
            return []
        if self._watched.status_display is None:
            quiet_us = max(self._watched.heard_us, self._since_us) + self._way.listen_us
            if at_us < quiet_us:
                return self._listen_on(quiet_us, at_us)
            settles_us = self._watched.settle_due_us
            if settles_us is not None:
                return self._listen_on(max(settles_us, at_us) + 1, at_us)
        return self._look(at_us)

    def _look(self, at_us: int) -> list[Command]:
        """The line is quiet, so what the console shows counts: acts on it."""
        if self._noise:
            return self._ask(self._noise)
        if self._console.blocked_by_xoff:
            # A key typed now would be sent when typing is released, whatever the console shows by then.
            if self._console.blocked_without_limit and not self._vouched:
                return [Arm(name=DEADLINE, due_us=at_us + max(self._way.listen_us, BLOCKED_LOOK_US))]
            return self._listen_on(at_us + self._way.listen_us, at_us, "the machine is blocking typing")
        if self._left_open.half_possible and not self._keys.cancelled:
            if not self._keys.typing.cancel:
                return self._ask_about_half(half_typed.no_cancel_key)
            return self._press(self._keys.cancel("part of a command may be on the console"), at_us)
        place = self._watched.place
        # The person who looked may have switched the machine off and on, so an old prompt needs a fresh sign.
        unseen = self._vouched and not self._heard and not self._keys.typed
        if (unseen or place is None) and (key := self._keys.next(place)) is not None:
            return self._press(key, at_us)
        if place is not None and place.landmark:
            return self._recognised(place, at_us)
        return self._not_recognised(place, at_us)

    def script_over(self, at_us: int) -> list[Command]:
        """The way or the tidy-up is done: finds out again what state the console is in."""
        self._state = "listening"
        self._since_us = self._begun_us = at_us
        if self._watched.prompt is not None:
            return self._look(at_us)
        return [Arm(name=DEADLINE, due_us=at_us + self._way.listen_us)]

    def _listen_on(
        self,
        until_us: int,
        at_us: int,
        why: str = _NEVER_QUIET,
    ) -> list[Command]:
        if at_us >= self._begun_us + self._way.within_us:
            return self._ask(why)
        return [Arm(name=DEADLINE, due_us=until_us)]

    # -- keys ---------------------------------------------------------------------------------

    def _press(self, key: Key, at_us: int) -> list[Command]:
        self._keys.take(key)
        self._lines_before = self._watched.last_lines()
        self._since_us = self._begun_us = at_us
        if key.name == "cancel":
            pressed = self._console.press_cancel(key.data, BY, at_us)
        else:
            pressed = self._console.press(key.data, BY)
        sent = kinds.KeySent(key=key.name, why=key.why)
        due = Arm(name=DEADLINE, due_us=at_us + max(self._way.answer_us, self._way.listen_us))
        return [Tell(fact=sent), *pressed, due]

    # -- places -------------------------------------------------------------------------------

    @property
    def _noise(self) -> str:
        """Why a person is asked, if what arrives isn't text. A prompt that has settled is text."""
        seen = look_at(self._heard, self._machine.line)
        # If the folder doesn't use the eighth bit for parity, it can be anything.
        any_eighth = seen.wrong == "parity" and self._machine.eighth_bit != "parity"
        if not seen.wrong or any_eighth or self._watched.prompt is not None:
            return ""
        what = f"what the machine sends is not text ({seen.words('last')})"
        return f"{what}: is its {seen.wrong} set differently?"

    def _not_recognised(self, place: Place | None, at_us: int) -> list[Command]:
        question = self._left_open.now.question
        if place is not None:
            return self._ask(
                f'the console shows "{place.line.strip()}", '
                "which is none of the states that the folder describes"
            )
        if (
            self._keys.cancelled
            and self._keys.typing.after_cancel == "nothing"
            and self._left_open.half_known
        ):
            return self._ask_about_half(half_typed.cancel_not_shown)
        if any(_is_shown(byte) for byte in self._heard):
            return self._ask("what the machine printed last is none of the states that the folder describes")
        if question and not self._keys.typed:
            why = f"the question {question} was left open, so nothing was typed"
            return self._ask(why)
        landmark = silent_landmark(self._machine)
        silent: list[Command] = [Tell(fact=kinds.PlaceRecognised(place=landmark, line=""))]
        pressed = b"".join(key.data for key in self._keys.typed)
        if pressed and bytes(byte & 0x7F for byte in self._heard) == pressed:
            silent.append(Tell(fact=local_echo("silent machine")))
        if self._keys.unanswered:
            self._console.doubt_prompts(self._way.listen_us)
        if {landmark, SILENT} & {*self._enough} and self._session.state == "idle":
            return [*silent, *self._arrived(landmark if landmark in self._enough else SILENT)]
        if self._left_open.question_possible and not self._keys.typed:
            why = "the machine is silent, and a question may be open unseen, so nothing was typed"
            return self._ask(why)
        if self._session.state == "idle" and self._way.from_place(landmark) is not None:
            return [*silent, *self._follow_way(landmark, at_us)]
        return [*silent, *self._ask("the machine is silent: is it off, or is a cable unplugged?")]

    def _ask_about_half(self, words: Callable[[str], str]) -> list[Command]:
        """Asks a person to remove what is half typed on the console."""
        now = self._left_open.now
        what = half_typed.part(
            now.half_typed or now.unanswered,
            secret=bool(now.half_typed) and not now.half_typed.strip("*"),
            returned=bool(now.unanswered) and not now.half_typed,
        )
        self._told_half = True
        return self._ask(words(what))

    def _recognised(self, place: Place, at_us: int) -> list[Command]:
        recognised = Tell(fact=kinds.PlaceRecognised(place=place.landmark, line=place.line.strip()))
        left_open = self._left_open.now
        script = self._scripts.get(left_open.script)
        answered = self._answers_to_cancel(script) if script is not None else {}
        if self._session.state == "line lost":
            self._state = "under way"
            self._session.also_seen(answered)
            return [recognised, *self._session.note(kinds.LineOpened(line=""), at_us)]
        left_open = msgspec.structs.replace(left_open, numbers={**answered, **left_open.numbers})
        known = left_open.script, sorted(left_open.numbers)
        if script is not None and script.tidy_up and self._tidied != known:
            self._tidied, self._state = known, "under way"
            return [recognised, *self._session.tidy_up_after(script, BY, left_open, at_us)]
        if place.landmark in self._enough or place.landmark in self._way.home:
            return [recognised, *self._arrived(place.landmark)]
        return [recognised, *self._follow_way(place.landmark, at_us)]

    def _follow_way(self, landmark: str, at_us: int) -> list[Command]:
        """Follows the way home from this landmark, or asks a person if there is none."""
        way = self._way.from_place(landmark)
        if way is None:
            why = f"it is at {landmark}, and its folder has no way home from there: ask an engineer"
            return self._ask(f"{why}, or switch it off as the closing does")
        if self._ways == MOST_WAYS:
            return self._ask(f"{MOST_WAYS} ways were tried, and none of them led home")
        self._ways += 1
        self._state = "under way"
        return self._session.start(way, BY, 0, at_us)

    def _answers_to_cancel(self, script: Script) -> dict[str, dict[str, str]]:
        """By step of the tidy-up that presses the cancel key: the fields of what our own cancel key brought.

        They can include the number of a job that the key detached, which still has to be stopped.
        """
        if not self._keys.cancelled:
            return {}
        printed = [line for line in self._watched.last_lines() if line not in self._lines_before]
        known = {line.name: line.pattern for line in self._machine.lines if not line.below}
        return {
            step.name: fields
            for step in script.tidy_up
            if self._keys.cancels(step)
            for name in until_of(step)
            for line in printed
            if name in known and (fields := known[name].match(line)) is not None
        }

    def _arrived(self, landmark: str) -> list[Command]:
        self._state, self.place = "there", landmark
        return [Drop(name=DEADLINE)]

    def _ask(self, why: str) -> list[Command]:
        self._state = "away"
        rows = self._watched.rows()
        while rows and not rows[-1].strip():
            rows = rows[:-1]
        asked = Tell(fact=kinds.PersonAsked(why=why, rows=rows))
        over = (
            self._session.give_up_line if self._session.state == "line lost" else self._session.fail_at_rest
        )
        return [Drop(name=DEADLINE), asked, *over(why)]


def _is_shown(byte: int) -> bool:
    return 0x20 < byte & 0x7F < 0x7F
