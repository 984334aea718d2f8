"""The Heron: a small invented machine that the tests of the decisions describe, script and play.

It prints READY: and takes commands; SIGN WORD? takes a secret; SURE (NO)? is a question.
"""

from __future__ import annotations

from typing import Any

import msgspec

from exhibit.decisions.machine.description import (
    Calendar,
    Interruption,
    LinePattern,
    Machine,
    Pack,
    Prompt,
    Reading,
    Site,
    StatusDisplay,
    Trouble,
    Typing,
)
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.script import (
    SILENT,
    AnyStep,
    Caption,
    CheckPack,
    Folder,
    GiveCaption,
    HandsOn,
    Pause,
    PressKey,
    ReadDisplay,
    Script,
    Trigger,
    TypeCommand,
    TypeSecret,
    Wait,
    WayHome,
)
from exhibit.facts.display import Display
from exhibit.facts.kinds import CaptionKind, RecordingOpened
from exhibit.facts.line_settings import LineSettings

S = 1_000_000
CANCEL, RETURN = b"\x18", b"\r"
SECRET = "WRENQUAY"
CHAR_US = 1_000
"""Ten bits at 10,000 baud: round figures for a test."""
SETTLE_US = 10 * CHAR_US
ECHO_US = 2 * S


def in_english(words: str) -> dict[str, str]:
    return {"en": words}


TYPING = Typing(
    echo="full",
    folds_to="upper case",
    echo_within_us=ECHO_US,
    settle_characters=10,
    adapter_latency_us=0,
    cancel=CANCEL,
    return_key=RETURN,
    pause_after_us=0,
    window=1,
    show_again=b"",
)


def _prompt(name: str, line: str, kind: Any = "command") -> Prompt:
    return Prompt(name=name, pattern=Pattern(line), kind=kind)


def _line(name: str, line: str) -> LinePattern:
    return LinePattern(name=name, pattern=Pattern(line))


def _reading(name: str, row: int, line: str, kind: Any = "number", last_row: int = 0) -> Reading:
    pattern = Pattern(line, places_alone=True)
    return Reading(name=name, kind=kind, first_row=row, last_row=last_row or row, pattern=pattern)


BOARD = StatusDisplay(
    name="board",
    title_row=1,
    title=Pattern("HERON BOARD {time: word}"),
    ends_at=(24, 1),
    ends_after_quiet_us=None,
    readings=(
        _reading("load", 3, "LOAD {value: number}"),
        _reading("mode", 4, "MODE {value: word}", "text"),
        _reading("jobs", 6, "{job: number} {name: word}", "table", last_row=9),
    ),
)
GAUGE = StatusDisplay(
    name="gauge",
    title_row=1,
    title=Pattern("HERON GAUGE"),
    ends_at=None,
    ends_after_quiet_us=400_000,
    readings=(_reading("level", 2, "LEVEL {value: number}"),),
)
MACHINE = Machine(
    name="heron",
    title=in_english("The Heron"),
    line=LineSettings(baud=10_000, flow="xon/xoff"),
    eighth_bit="drop",
    display=Display(),
    typing=TYPING,
    keys={"space": b" ", "enter": RETURN, "cancel": CANCEL},
    prompts=(
        _prompt("ready", "READY:"),
        _prompt("desk", "DESK {name: word}:"),
        _prompt("word", "SIGN WORD?", "secret"),
        _prompt("sure", "SURE (NO)?", "question"),
    ),
    lines=(
        _line("begun", "JOB {job: number} BEGUN: {what: text}"),
        _line("ended", "JOB {job: number} ENDED"),
        _line("stopped", "JOB {job: number} STOPPED"),
        _line("let-go", "LET GO OF JOB {job: number}"),
    ),
    interruptions=(
        Interruption(name="notice", starts=Pattern("== {text: text} =="), lines=1),
        Interruption(name="storm", starts=Pattern("STORM WARNING {...}"), ends=Pattern("END OF WARNING")),
        Interruption(name="tide", starts=Pattern("TIDE NEWS {...}"), blank_lines=2),
        Interruption(name="pair", starts=Pattern("TWO LINES: {...}"), lines=2),
    ),
    displays=(BOARD, GAUGE),
    troubles=(
        Trouble(
            name="fire",
            pattern=Pattern("DRIVE {drive: word} FAILED"),
            ends_script=True,
            words=in_english("A drive has failed."),
            do=in_english("Call the engineer."),
        ),
        Trouble(
            name="warm",
            pattern=Pattern("DRIVE {drive: word} WARM"),
            ends_script=False,
            words=in_english("A drive is warm."),
            do=in_english("Feel it."),
        ),
        Trouble(
            name="stuck",
            pattern=Pattern("{job: number} STUCK"),
            ends_script=True,
            display="board",
            first_row=6,
            last_row=9,
            words=in_english("A job is stuck."),
            do=in_english("Call the engineer."),
        ),
    ),
    calendars={
        "tall": Calendar(
            name="tall",
            year="stand-in",
            fixed_year=0,
            earliest=1970,
            latest=1999,
            template="{day}.{month}.{year}",
        )
    },
    packs={"reeds": Pack(name="reeds", label="REEDS 1", drive="left", may_be_written=True)},
    parts={"console": in_english("the console"), "left": in_english("the left drive")},
    never=(Pattern("WIPE {...}"), Pattern("HALT")),
    site=Site(mains_stop=in_english("By the door."), keyholder=in_english("The office."), rules={}),
    languages={"en": "English"},
)


XOFF_LIMITED = msgspec.structs.replace(
    MACHINE,
    troubles=(
        *MACHINE.troubles,
        Trouble(
            name="held-up",
            pattern=Pattern("nothing"),
            ends_script=False,
            blocked_for_us=86_400 * S,
            words=in_english("The machine holds us up."),
            do=in_english("Look at it."),
        ),
    ),
)
"""The Heron in a folder that limits how long XOFF may last; without that it may last for hours."""


# ---- steps: what isn't said is the same everywhere

WITHIN_US = 30 * S


def command(name: str, text: str, until: str, at: str = "ready", **more: Any) -> AnyStep:
    within_us = more.pop("within_us", WITHIN_US)
    return TypeCommand(name=name, at=_list(at), command=text, until=_list(until), within_us=within_us, **more)


def secret(name: str, until: str = "desk", at: str = "word") -> AnyStep:
    return TypeSecret(name=name, at=_list(at), secret="word", until=_list(until), within_us=WITHIN_US)


def press(name: str, key: str, until: str, at: str = "", **more: Any) -> AnyStep:
    return PressKey(name=name, at=_list(at), key=key, until=_list(until), within_us=WITHIN_US, **more)


def wait(name: str, until: str, within_us: int = WITHIN_US) -> AnyStep:
    return Wait(name=name, until=_list(until), within_us=within_us)


def pause(name: str, pause_us: int = 5 * S) -> AnyStep:
    return Pause(name=name, pause_us=pause_us)


def read(name: str, display: str = "board", **more: Any) -> AnyStep:
    return ReadDisplay(name=name, display=display, within_us=WITHIN_US, **more)


def hands_on(name: str) -> AnyStep:
    return HandsOn(name=name, words=in_english("Turn the key."), caution={}, within_us=600 * S)


def pack(name: str) -> AnyStep:
    words = in_english("Put the pack in.")
    return CheckPack(name=name, pack="reeds", words=words, caution={}, within_us=600 * S)


def give(name: str, caption: str) -> AnyStep:
    return GiveCaption(name=name, caption=caption)


def _list(names: str) -> tuple[str, ...]:
    return tuple(names.split())


def script(
    name: str, *steps: AnyStep, tidy_up: tuple[AnyStep, ...] = (), within_us: int = 1200 * S
) -> Script:
    return Script(name=name, title=in_english(name), within_us=within_us, steps=steps, tidy_up=tidy_up)


def caption(name: str, words: str = "Words.", kind: CaptionKind = "seen", **trigger: str) -> Caption:
    return Caption(
        name=name,
        kind=kind,
        trigger=Trigger(**{key: value for key, value in trigger.items() if key != "confirmed_by"}),
        part="console",
        words=in_english(words),
        source=in_english("A book.") if kind == "background" else {},
        confirmed_by=trigger.get("confirmed_by", ""),
    )


def folder(
    *scripts: Script, captions: tuple[Caption, ...] = (), machine: Machine = MACHINE, rest_us: int = 20 * S
) -> Folder:
    named = {script.name: script for script in scripts}
    return Folder(machine=machine, scripts=named, captions=captions, rest_us=rest_us, digests={})


def machine(**changes: Any) -> Machine:
    """The Heron with something else about it; `typing` is a dict of what is different there."""
    typing = msgspec.structs.replace(TYPING, **changes.pop("typing", {}))
    return msgspec.structs.replace(MACHINE, typing=typing, **changes)


def opened(
    machine: Machine = MACHINE, wall: str = "2026-11-25T09:00:00+00:00", **changes: Any
) -> RecordingOpened:
    given: dict[str, Any] = {
        "format": 1,
        "how_to_read": "",
        "software": "exhibit test",
        "machine": machine.name,
        "title": machine.title,
        "parts": machine.parts,
        "marked": [part for part, marks in machine.marks.items() if marks.started or marks.stopped],
        "displays": [display.name for display in machine.displays],
        "languages": machine.languages,
        "machine_is": "simulated",
        "typing": "scripts",
        "rate": 1.0,
        "wall": wall,
        "line": machine.line.description(),
        "eighth_bit": machine.eighth_bit,
        "parity": machine.line.parity,
        "display": machine.display,
        "digests": {},
        "previous_file": "",
        "previous_crc": "",
    }
    return RecordingOpened(**given | changes)


AT_REST = WayHome(
    title={"en": "The way home"},
    listen_us=2 * S,
    answer_us=4 * S,
    within_us=60 * S,
    home=("signed-out",),
    begins={"opening": (SILENT,)},
    ways={},
)
"""The console is at home where nobody is signed in; there is no way from elsewhere."""
