"""What hands do at the front of the machine, and faults on purpose: each act is a line of text."""

import re
from collections.abc import Callable, Mapping
from typing import Protocol

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.disc import Drive, Pack
from exhibit.simulator.faults import Faults
from exhibit.simulator.program import Job
from exhibit.simulator.serial_line import XOFF, XON
from exhibit.simulator.truth import ActDone, TruthLog

ACTS = """\
key on | key off | key lock
start small | start upper | start lower
stop small | stop upper | stop lower
load SALLOW 1 upper protected (packs: SALLOW 1, SALLOW 2; drives: upper, lower; protected or writable)
unload upper | unload lower
switches 14000200 (eight octal digits)
press start | press halt
lamps (says what they show)
fault disc 0.02 (the probability that a transfer fails)
fault warm disc 0.02 (the same, once a drive is warm)
fault slow start lower 1.3 (so many times as long as usual until that drive is up to speed)
fault hang 2 (the number of a job)
fault notice TEXT | fault lookalike | fault echo word
fault garble in 0.01 | fault garble out 0.01 | fault lose in 0.01 | fault lose out 0.01
fault slow 400 (milliseconds) | fault xoff | fault xoff off | fault power | fault power back
fault none (ends disc, warm disc, garble, lose, slow, slow start, lookalike and echo word)
"""


class Refusal(Exception):
    """The act can't be done now; the text says why."""


class Cabinet(Protocol):
    """What key and buttons do to the processor's cabinet, and what its lamps show."""

    @property
    def powered(self) -> bool:
        """The processor has power."""

    @property
    def place(self) -> str:
        """The state that the machine is in, as in `truth.PlaceEntered`."""

    def power_on(self) -> None:
        """Give the processor power."""

    def power_off(self) -> None:
        """Take the processor's power away."""

    def halt(self) -> None:
        """Halt the processor."""

    def start(self) -> None:
        """Start what the switches say."""


class FaultActs:
    """The acts that make something go wrong, except for the mains.

    `jobs`: the jobs that can hang, by number. `give_notice` gives a notice from the harbour office; it
    returns False while TIDEBOOK can't.
    """

    def __init__(
        self,
        faults: Faults,
        jobs: Mapping[int, Job],
        send_flow: Callable[[int], None],
        give_notice: Callable[[str], bool],
    ) -> None:
        self._faults = faults
        self._jobs = jobs
        self._send_flow = send_flow
        self._give_notice = give_notice

    def do(self, words: list[str]) -> None:
        """Carry out the act `fault` with these words after it. Raises Refusal."""
        match [word.lower() for word in words]:
            case ["none"]:
                self._faults.clear()
            case ["disc", rate]:
                self._faults.disc_rate = _rate(rate)
            case ["warm", "disc", rate]:
                self._faults.warm_disc_rate = _rate(rate)
            case ["slow", "start", "small" | "upper" | "lower" as drive, times]:
                self._faults.slow_starts[drive.upper()] = _times(times)
            case ["garble" | "lose" as what, "in" | "out" as way, rate]:
                setattr(self._faults, f"{what}_{way}_rate", _rate(rate))
            case ["hang", number]:
                job = self._jobs.get(int(number)) if number.isdigit() else None
                if job is None or job.over:
                    raise Refusal(f"no job {number} goes on")
                job.hung = True
            case ["lookalike"]:
                self._faults.lookalike = True
            case ["echo", "word"]:
                self._faults.echo_word = True
            case ["slow", ms] if ms.isdigit():
                self._faults.slow_echo_us = int(ms) * 1000
            case ["xoff", *rest] if rest in ([], ["off"]):
                self._send_flow(XON if rest else XOFF)
            case ["notice", *_] if len(words) > 1:
                if not self._give_notice(" ".join(words[1:]).upper()):
                    raise Refusal("TIDEBOOK does not run yet")
            case _:
                raise Refusal(f"there is no fault {' '.join(words)!r}; help lists them")


class Panel:
    """Key, switches, buttons, drives and packs. `switches` is the number set on the 24 switches."""

    def __init__(
        self,
        agenda: Agenda,
        truth: TruthLog,
        cabinet: Cabinet,
        drives: Mapping[str, Drive],
        shelf: list[Pack],
        fault_acts: FaultActs,
    ) -> None:
        self.switches = 0
        self._agenda = agenda
        self._truth = truth
        self._cabinet = cabinet
        self._drives = drives
        self._shelf = shelf
        self._fault_acts = fault_acts
        self._key_on = self._locked = False
        self._mains_on = True

    def do(self, act: str) -> str:
        """Carry out one act and return its result, one line; the act `help` returns a list of acts."""
        words = act.split()
        if words == ["help"]:
            return ACTS.rstrip()
        try:
            answer = "done: " + self._do(words)
        except Refusal as refusal:
            answer = f"refused: {refusal}"
        if words and words[0].lower() != "lamps":
            self._truth.add(ActDone(at_us=self._agenda.now_us, act=act, answer=answer))
        return answer

    def _do(self, words: list[str]) -> str:
        match [word.lower() for word in words]:
            case ["lamps"]:
                return self._lamps()
            case ["key", "on" | "off" as way]:
                return self._turn_key(way == "on")
            case ["key", "lock"]:
                return self._lock()
            case ["press", _] if self._locked:
                raise Refusal("the front is locked")
            case ["switches", octal]:
                if not re.fullmatch("[0-7]{8}", octal):
                    raise Refusal(f"{octal} is not eight octal digits")
                self.switches = int(octal, 8)
                return f"the switches stand at {octal}"
            case ["press", "start"]:
                return self._press_start()
            case ["press", "halt"]:
                if not self._cabinet.powered:
                    raise Refusal("the processor has no power")
                self._cabinet.halt()
                return "the processor is halted"
            case ["start", "small" | "upper" | "lower" as name]:
                return self._start_drive(self._drives[name.upper()])
            case ["stop", "small" | "upper" | "lower" as name]:
                return self._stop_drive(self._drives[name.upper()])
            case ["load", *label, "upper" | "lower" as name, "protected" | "writable" as protection]:
                return self._load(" ".join(label).upper(), self._drives[name.upper()], protection)
            case ["unload", "upper" | "lower" as name]:
                return self._unload(self._drives[name.upper()])
            case ["fault", "power"]:
                self._cut_mains()
                return "fault power"
            case ["fault", "power", "back"]:
                self._restore_mains()
                return "fault power back"
            case ["fault", *low]:
                self._fault_acts.do(words[1:])
                return f"fault {' '.join(low)}"
        raise Refusal(f"there is no act {' '.join(words)!r}; help lists them")

    def _lamps(self) -> str:
        lamps = [
            f"key {'locked' if self._locked else 'on' if self._key_on else 'off'}",
            f"processor {self._cabinet.place}",
        ]
        lamps.append(f"switches {self.switches:08o}")
        for drive in self._drives.values():
            lamp = f"{drive.name.lower()} {drive.state}"
            if drive.name != "SMALL":
                protection = "writable" if drive.may_be_written else "protected"
                lamp += f", {drive.pack.label} {protection}" if drive.pack else ", empty"
            lamps.append(lamp)
        return "; ".join(lamps)

    # ---- the processor's cabinet

    def _turn_key(self, on: bool) -> str:
        was_locked, self._locked = self._locked, False
        if on and was_locked:
            return "the key is on"
        if on == self._key_on:
            raise Refusal(f"the key is {'on' if on else 'off'} already")
        self._key_on = on
        if on and self._mains_on:
            self._cabinet.power_on()
        elif not on and self._cabinet.powered:
            self._cabinet.power_off()
        return f"the key is {'on' if on else 'off'}"

    def _lock(self) -> str:
        if self._locked or not self._key_on:
            raise Refusal(f"the key is {'locked already' if self._locked else 'off'}")
        self._locked = True
        return "the key is locked"

    def _press_start(self) -> str:
        if not self._cabinet.powered:
            raise Refusal("the processor has no power")
        if self._cabinet.place not in ("lasting store", "stopped"):
            raise Refusal("the processor is running a program; press halt first")
        self._cabinet.start()
        return "START is pressed"

    # ---- drives and packs

    def _start_drive(self, drive: Drive) -> str:
        if not self._mains_on:
            raise Refusal("the mains has failed")
        if drive.state != "standing":
            raise Refusal(f"the {drive.name.lower()} drive is {drive.state}")
        if drive.pack is None:
            raise Refusal(f"there is no pack in the {drive.name.lower()} drive")
        drive.start()
        return f"the {drive.name.lower()} drive is starting"

    def _stop_drive(self, drive: Drive) -> str:
        if drive.state not in ("starting", "ready"):
            raise Refusal(f"the {drive.name.lower()} drive is {drive.state}")
        drive.stop()
        return f"the {drive.name.lower()} drive is stopping"

    def _load(self, label: str, drive: Drive, protection: str) -> str:
        _must_stand_still(drive)
        if drive.pack is not None:
            raise Refusal(f"{drive.pack.label} is in the {drive.name.lower()} drive")
        for pack in self._shelf:
            if pack.label == label:
                self._shelf.remove(pack)
                drive.pack, drive.protected = pack, protection == "protected"
                return f"{label} is in the {drive.name.lower()} drive, {protection}"
        raise Refusal(f"there is no pack {label} on the shelf")

    def _unload(self, drive: Drive) -> str:
        _must_stand_still(drive)
        if drive.pack is None:
            raise Refusal(f"there is no pack in the {drive.name.lower()} drive")
        label = drive.pack.label
        self._shelf.append(drive.pack)
        drive.pack = None
        return f"{label} is on the shelf"

    # ---- the mains

    def _cut_mains(self) -> None:
        if not self._mains_on:
            raise Refusal("the mains has failed already")
        self._mains_on = False
        if self._cabinet.powered:
            self._cabinet.power_off()
        for drive in self._drives.values():
            if drive.state in ("starting", "ready"):
                drive.stop()

    def _restore_mains(self) -> None:
        if self._mains_on:
            raise Refusal("the mains is there")
        self._mains_on = True
        if self._key_on:
            self._cabinet.power_on()


def _must_stand_still(drive: Drive) -> None:
    if drive.state != "standing":
        raise Refusal(f"the {drive.name.lower()} drive is {drive.state}; it must stand still")


def _times(text: str) -> float:
    """How many times as long the text means, from 1 to 10. Raises Refusal."""
    try:
        times = float(text)
    except ValueError:
        times = 0.0
    if not 1.0 <= times <= 10.0:
        raise Refusal(f"{text} is not a number from 1 to 10")
    return times


def _rate(text: str) -> float:
    """The probability that the text means. Raises Refusal."""
    try:
        rate = float(text)
    except ValueError:
        rate = -1.0
    if not 0.0 <= rate <= 1.0:
        raise Refusal(f"{text} is not a probability from 0 to 1")
    return rate
