"""Nothing is timed by a clock that can be set: the few places that ask what day it is are listed here."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "exhibit"
ASKS_THE_DATE = {
    "commands/docents_page/people.py": ("time.time",),  # until when a code can be used
    "commands/practice/practising.py": ("time.strftime", "time.time"),  # its folder's name, and a code's time
    "commands/engineer/moments.py": ("datetime.now",),  # when something was written down
    "desk/keeping.py": ("time.strftime",),  # the name of a file
    "desk/people.py": ("time.localtime", "time.strftime", "time.time"),  # how old a code is, and a tablet
    "doctor/clock.py": ("datetime.now",),  # whether the date can be right
    "folder/report/findings.py": ("datetime.datetime.now",),  # which years a calendar must hold
    "records/simulated_rehearsal.py": ("datetime.datetime.now",),  # the date that a rehearsal begins with
    "streams/pacing.py": ("datetime.now",),  # for heartbeats, and to find that the date was set
    "streams/recording_files.py": ("time.time_ns",),  # whether a folder has just been changed
    "web/bounded_log.py": ("time.gmtime", "time.strftime", "time.time"),  # the time of a line in the log
    "web/following.py": ("time.localtime", "time.localtime", "time.time"),  # "not started today"
}
CAN_BE_SET = {
    "time.time", "time.time_ns", "time.localtime", "time.gmtime", "time.ctime", "time.strftime",
    "datetime.now", "datetime.utcnow", "datetime.today", "date.today", "time.CLOCK_REALTIME",
}  # fmt: skip


def asked_in(path: Path) -> tuple[str, ...]:
    """Each use of a clock that can be set."""
    tree = ast.parse(path.read_text("utf-8"))
    named = (ast.unparse(node) for node in ast.walk(tree) if isinstance(node, ast.Attribute))
    return tuple(sorted(name for name in named if ".".join(name.split(".")[-2:]) in CAN_BE_SET))


def test_only_the_listed_places_ask_a_clock_that_can_be_set():
    found = {path.relative_to(PACKAGE).as_posix(): asked_in(path) for path in PACKAGE.rglob("*.py")}
    assert {name: asked for name, asked in found.items() if asked} == ASKS_THE_DATE


def test_no_lock_or_wait_is_imported_by_another_name():
    """`from time import time` would not be found above."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert node.module != "time", path
