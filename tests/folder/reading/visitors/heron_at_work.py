"""The Heron's folder, in which a job plots something, a program is loaded and the round has chapters."""

from __future__ import annotations

from exhibit.folder.files import read_files
from tests.folder.folder_writing import ROOT

HERON = read_files(ROOT / "scripts/heron")

MACHINE = """
[lines.begun]
line = "JOB {job: number} BEGUN"

[lines.over]
line = "JOB {job: number} OVER"

[lines.broken]
line = "JOB {job: number} BROKEN OFF"

[lines.far]
line = "{hours: number} HOURS WORKED"

[lines.hour-row]
line = "HOUR {hours: text}"

[lines.metre-row]
line = "METRES {metres: text}"

[lines.top]
line = "TOP {time: one word} {metres: number}"

[lines.plain]
line = "PLAIN"

[plots.tide]
begins = "begun"
job = "job"
called = "TIDE"
ended = ["over"]
stopped = ["broken"]
worked = "far.hours"
points_across = "hour-row.hours"
points_up = "metre-row.metres"
across_is = "hours.minutes"
marks = ["top"]
marks_across = "time"
marks_up = "metres"
across = "0 to 24"
across_every = 6
up = "0 to 6"
up_every = 1
drawn_as = "water"

[loads.program]
begins = "LOADING"
mark = "."
ends = "LOADED"
from = "processor"
"""
ROUND = """
[[chapter]]
name = "adding"
from = "first"
picture = "plot:tide"

[[chapter]]
name = "again"
from = "second"
picture = "part:processor"

[[step]]
name = "first"
at = "ready"
type = "ADD 2 3"
until = "sum"

[[step]]
name = "second"
at = "ready"
type = "ADD 3 4"
until = "sum"
"""
WORDS = """
[plots.tide]
title = "The tide"
across = "hour"
up = "metres"
job = "works out the tide"
top = "High"

[loads]
program = "The program"

[rounds]
does = "It adds up."

[told.round]
adding = "It added up."
again = "It added up again."
"""
FILES = {
    **HERON,
    "machine.toml": HERON["machine.toml"] + MACHINE.encode(),
    "round.toml": ROUND.encode(),
    "captions/en.toml": HERON["captions/en.toml"] + WORDS.encode(),
}


def with_edit(file: str, old: str, new: str) -> tuple[dict[str, bytes], int]:
    """The files with one text replaced once, and the line on which the new text begins."""
    text = FILES[file].decode()
    assert text.count(old) == 1, f"{file} has {old!r} {text.count(old)} times"
    return {**FILES, file: text.replace(old, new).encode()}, text[: text.index(old)].count("\n") + 1
