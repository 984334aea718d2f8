"""What hands do at the front of the machine, as lines of text, and faults on purpose."""

import re
from typing import TYPE_CHECKING

from exhibit.simulator.faults import Faults
from exhibit.simulator.serial_line import XOFF, XON
from exhibit.simulator.truth import ActDone

if TYPE_CHECKING:
    from exhibit.simulator.core import Whimbrel

ACTS = """\
key on | key off
start small | start upper | start lower     (stop likewise)
load SALLOW 1 upper protected               (or SALLOW 2, lower, writable)
unload upper | unload lower
switches 14000200
press start | press halt
lamps
fault disc 0.02 | fault hang 2 | fault notice TEXT | fault lookalike | fault echo word
fault garble in 0.01 | fault garble out 0.01 | fault lose in 0.01 | fault lose out 0.01
fault slow 400 | fault xoff | fault xoff off | fault power | fault power back | fault none
"""


class Refusal(Exception):
    """The act can't be done as things stand; the text says why."""


class Panel:
    """Key, switches, buttons, drives and packs."""

    def __init__(self, machine: "Whimbrel") -> None:
        self._machine = machine
        self._key_on = False
        self._mains = True

    def do(self, act: str) -> str:
        """Carry out one act and say how it went, in a line; "help" alone is answered by a list."""
        words = act.split()
        if words == ["help"]:
            return ACTS.rstrip()
        try:
            answer = "done: " + self._do(words)
        except Refusal as refusal:
            answer = f"refused: {refusal}"
        if words and words[0].lower() != "lamps":
            self._machine.truth.tell(ActDone(at_us=self._machine.agenda.now_us, act=act, answer=answer))
        return answer

    def _do(self, words: list[str]) -> str:
        machine = self._machine
        low = [word.lower() for word in words]
        match low:
            case ["lamps"]:
                return self._lamps()
            case ["key", "on" | "off" as way]:
                return self._key(way == "on")
            case ["switches", octal]:
                if not re.fullmatch("[0-7]{8}", octal):
                    raise Refusal(f"{octal} is not eight octal digits")
                machine.switches = int(octal, 8)
                return f"the switches stand at {octal}"
            case ["press", "start"]:
                return self._start()
            case ["press", "halt"]:
                if not machine.line.powered:
                    raise Refusal("the processor has no power")
                machine.halt()
                return "the processor is halted"
            case ["start" | "stop" as way, "small" | "upper" | "lower" as name]:
                return self._spin(name.upper(), way)
            case ["load", *label, "upper" | "lower" as name, "protected" | "writable" as may]:
                return self._load(" ".join(label).upper(), name.upper(), may)
            case ["unload", "upper" | "lower" as name]:
                return self._unload(name.upper())
            case ["fault", *_]:
                return self._fault(low[1:], words[1:])
        raise Refusal(f"there is no act {' '.join(words)!r}; help lists them")

    def _key(self, on: bool) -> str:
        if on == self._key_on:
            raise Refusal(f"the key is {'on' if on else 'off'} already")
        self._key_on = on
        if on and self._mains:
            self._machine.power_on()
        elif not on and self._machine.line.powered:
            self._machine.power_off()
        return f"the key is {'on' if on else 'off'}"

    def _start(self) -> str:
        if not self._machine.line.powered:
            raise Refusal("the processor has no power")
        if self._machine.place not in ("fixed store", "stopped"):
            raise Refusal("the processor is running a program; press halt first")
        self._machine.processor.wake(("start", None))
        return "START is pressed"

    def _spin(self, name: str, way: str) -> str:
        drive = self._machine.drives[name]
        if way == "start":
            if not self._mains:
                raise Refusal("the mains has failed")
            if drive.state != "standing":
                raise Refusal(f"the {name.lower()} drive is {drive.state}")
            if drive.pack is None:
                raise Refusal(f"there is no pack in the {name.lower()} drive")
            drive.start()
            return f"the {name.lower()} drive is starting"
        if drive.state not in ("starting", "ready"):
            raise Refusal(f"the {name.lower()} drive is {drive.state}")
        drive.stop()
        return f"the {name.lower()} drive is stopping"

    def _load(self, label: str, name: str, may: str) -> str:
        drive, shelf = self._machine.drives[name], self._machine.shelf
        if drive.state != "standing":
            raise Refusal(f"the {name.lower()} drive is {drive.state}; it must stand still")
        if drive.pack is not None:
            raise Refusal(f"{drive.pack.label} is in the {name.lower()} drive")
        for pack in shelf:
            if pack.label == label:
                shelf.remove(pack)
                drive.pack, drive.protected = pack, may == "protected"
                return f"{label} is in the {name.lower()} drive, {may}"
        raise Refusal(f"there is no pack {label} on the shelf")

    def _unload(self, name: str) -> str:
        drive = self._machine.drives[name]
        if drive.state != "standing":
            raise Refusal(f"the {name.lower()} drive is {drive.state}; it must stand still")
        if drive.pack is None:
            raise Refusal(f"there is no pack in the {name.lower()} drive")
        label = drive.pack.label
        self._machine.shelf.append(drive.pack)
        drive.pack = None
        return f"{label} is on the shelf"

    def _lamps(self) -> str:
        machine = self._machine
        lamps = [f"key {'on' if self._key_on else 'off'}", f"processor {machine.place}"]
        lamps.append(f"switches {machine.switches:08o}")
        for drive in machine.drives.values():
            lamp = f"{drive.name.lower()} {drive.state}"
            if drive.name != "SMALL":
                may = "writable" if drive.may_be_written else "protected"
                lamp += f", {drive.pack.label} {may}" if drive.pack else ", empty"
            lamps.append(lamp)
        return "; ".join(lamps)

    # ---- faults

    def _fault(self, low: list[str], words: list[str]) -> str:
        machine = self._machine
        match low:
            case ["none"]:
                machine.faults.__dict__.update(Faults().__dict__)
            case ["disc", rate]:
                machine.faults.disc_rate = _rate(rate)
            case ["garble" | "lose" as what, "in" | "out" as way, rate]:
                setattr(machine.faults, f"{what}_{way}_rate", _rate(rate))
            case ["hang", number]:
                job = machine.processor.jobs.get(int(number)) if number.isdigit() else None
                if job is None or job.over:
                    raise Refusal(f"no job {number} goes on")
                job.hung = True
            case ["lookalike"]:
                machine.faults.lookalike = True
            case ["echo", "word"]:
                machine.faults.echo_word = True
            case ["slow", ms] if ms.isdigit():
                machine.faults.slow_echo_us = int(ms) * 1000
            case ["xoff", *rest] if rest in ([], ["off"]):
                machine.line.send_flow(XON if rest else XOFF)
            case ["notice", *_] if len(words) > 1:
                if machine.book is None or not machine.book.dated:
                    raise Refusal("TIDEBOOK does not run yet")
                machine.harbour_notice(" ".join(words[1:]).upper())
            case ["power", *rest] if rest in ([], ["back"]):
                self._power(back=bool(rest))
            case _:
                raise Refusal(f"there is no fault {' '.join(words)!r}; help lists them")
        return f"fault {' '.join(low)}"

    def _power(self, *, back: bool) -> None:
        machine = self._machine
        if back == self._mains:
            raise Refusal("the mains is there" if back else "the mains has failed already")
        self._mains = back
        if back:
            if self._key_on:
                machine.power_on()
            return
        if machine.line.powered:
            machine.power_off()
        for drive in machine.drives.values():
            if drive.state in ("starting", "ready"):
                drive.stop()


def _rate(text: str) -> float:
    try:
        rate = float(text)
    except ValueError:
        rate = -1.0
    if not 0.0 <= rate <= 1.0:
        raise Refusal(f"{text} is not a probability from 0 to 1")
    return rate
