"""Every operation of pyte's that we override has a reason, and each reason is still true of today's pyte.

Where pyte has mended a fault, its test here fails: then what we override is pyte's again.
"""

import ast
import inspect

import pyte
import pytest

from exhibit.decisions.display import editing as screen_editing
from exhibit.decisions.display import screen as screen_module
from exhibit.decisions.display.controls import CONTROLS, ESCAPES, REASONS, SEQUENCES
from exhibit.decisions.display.screen import Glass, Screen
from tests.benchmarks.bench_screen import TOO_SLOW
from tests.decisions.display.oracles.pyte_itself import by_pyte, by_us
from tests.decisions.screen_page import PAGE, with_tables

FAULTS = {reason.shown_by: reason for reason in REASONS if reason.shown_by}
FULL = "A" * 80
AT_EDGE = "[79  ]X"
"""X in the last column, and blanks before it."""

OUTCOMES: dict[str, tuple[list[str], list[str]]] = {
    # what shows it: what pyte makes of it, what is right
    "old\x1b[1;1H\x1b[M": (["old"], []),
    "\x1b[1;8mA": (["<bold>A</>"], ["<bold concealed>A</>"]),
    "\x0eq": (["\u2500"], ["q"]),
    "ab\x11cd": (["ab"], ["abcd"]),
    "\a": ([], ["bell"]),
    "\x1b[1;3r\x1b[5;1H\x1bDX": (["", "", "X"], [""] * 5 + ["X"]),
    f"{FULL}\x1bDX": (["[80 A]", "", "X"], ["[80 A]", AT_EDGE]),
    f"{FULL}\x1bMX": (["", "X[79 A]"], [AT_EDGE, "[80 A]"]),
    "\x1b[4;6r\x1b[2;1H\x1b[AX": (["", "", "", "X"], ["X"]),
    f"{FULL}\x1b[AX": (["[80 A]", "X"], ["[79 A]X"]),
    "\x1b[1;3r\x1b[5;1H\x1b[BX": (["", "", "X"], [""] * 5 + ["X"]),
    f"{FULL}\x1b[BX": (["[80 A]", "", "X"], ["[80 A]", AT_EDGE]),
    "\x1b[2;4r\x1b[?6h\x1b[9;1HX": (["", "X"], ["", "", "", "X"]),
    "\x1b[?6h\x1b[3dX": (["AssertionError"], ["", "", "X"]),
    f"{FULL}\x1b[3dX": (["[80 A]", "", "", "X"], ["[80 A]", "", AT_EDGE]),
    f"{FULL}\tX": (["[79 A]X"], ["[80 A]", "X"]),
    f"\x1b[3g{FULL}\x1bH\r\tX": (["[80 A]", "X"], ["[79 A]X"]),
    f"\x1b[3;5r{FULL}\x1b[LX": (["[80 A]", "X"], ["[79 A]X"]),
    f"\x1b[3;5r{FULL}\x1b[MX": (["[80 A]", "X"], ["[79 A]X"]),
    "\x1b[1;80HZ\r\x1b[@\x1b[P": (["[79  ]Z"], []),
    f"{FULL}\x1b[@X": (["[80 A]", "X"], ["[79 A]X"]),
    f"{FULL}\x1b[PX": (["[80 A]", "X"], ["[79 A]X"]),
    f"{FULL}\x1b[XX": (["[80 A]", "X"], ["[79 A]X"]),
    "abc\x1b[3J": ([], ["abc"]),
    "\x1b[9;9H\x1b#8X": (
        ["[80 E]"] * 8 + ["EEEEEEEEX[71 E]"] + ["[80 E]"] * 15,
        ["X[79 E]"] + ["[80 E]"] * 23,
    ),
    "\x1b[7mA\x1b[m\x1b#8": (["<reverse>E</>[79 E]"] + ["[80 E]"] * 23, ["[80 E]"] * 24),
    "\x1b[5;5H\x1b[rX": (["", "", "", "", "    X"], ["X"]),
    "\x1b[1;2r\x1b[1ra\r\nb\r\nc": (["b", "c"], ["a", "b", "c"]),
    "\x1b[?3h\x1b[1;100HX": (["[99  ]X"], [AT_EDGE]),
    "\x1b[3;5r\x1b[192h\x1b[1;1HX": (["", "", "X"], ["X"]),
    "main\x1b[?1049h\x1b[Hother\x1b[?1049lX": (["otherX"], ["mainX"]),
    "\x1b[3;5r\x1b[?6h\x1b[192l\x1b[1;1HX": (["X"], ["", "", "X"]),
    "main\x1b[?1049h\x1b[2J\x1b[?1049lX": (["    X"], ["mainX"]),
    "\x1b7ab\x1b7cd\x1b8\x1b8X": (["Xbcd"], ["abXd"]),
    "ab\x1b7cd\x1b8X\x1b8Y": (["YbXd"], ["abYd"]),
    "\x1b7\x1b[3;5r\x1b8X": (["", "", "X"], ["X"]),
    "\x1b(0+,-.0": (["\u2192\u2190\u2191\u2193\u2588"], ["+,-.0"]),
    "\x1b[8mA": (["A"], ["<concealed>A</>"]),
    "\x1b[58;5;4mA": (["<underline blink>A</>"], ["A"]),
    "\x1b[6;21mA": (["A"], ["<underline blink>A</>"]),
    "ab\fc": (["ab", "  c"], ["c"]),
    "abc\x1bEX": (["abc", "   X"], ["abc", "X"]),
    "\x1b[1;3r\x1b[5eX": (["", "", "X"], [""] * 5 + ["X"]),
    "\x1b[5`X": (["X"], ["    X"]),
    "\x1b[c": (["answers '\\x1b[?6c'"], []),
    "\x1b[6n": (["answers '\\x1b[1;1R'"], []),
    "\x1bPtext\x1b\\ab": (["textab"], ["ab"]),
    "\x1b[1\x1b[Bab": (["[Bab"], ["", "ab"]),
    "\x1b[!p\x1b[<1Mab": (["p1Mab"], ["ab"]),
    "\x1b[3;4Aab": (["TypeError"], ["ab"]),
    "\x1b]0;title\x1aab": ([], ["ab"]),
}


def overridden() -> set[str]:
    """What is not as in pyte.Screen and pyte.Stream, found by looking."""
    ours, pytes = Screen(24, 80)._glass, pyte.Screen(80, 24)
    methods = {
        name
        for name in vars(pyte.Screen)
        if not name.startswith("__") and getattr(Glass, name) is not getattr(pyte.Screen, name)
    }
    attributes = {name for name, value in vars(pytes).items() if type(getattr(ours, name)) is not type(value)}
    stream = pyte.Stream
    sequences = {
        *(f"CSI {final}" for final, name in stream.csi.items() if SEQUENCES.get(final, ("",))[0] != name),
        *(f"ESC {final}" for final, name in stream.escape.items() if ESCAPES.get(final) != name),
        *(f"ESC #{final}" for final, name in stream.sharp.items() if ESCAPES.get(f"#{final}") != name),
        *(NAMES[code] for code, name in stream.basic.items() if CONTROLS.get(ord(code)) != name),
    }
    parser = set() if "Stream" in taken_of_pyte() else {"feed"}
    return methods | attributes | sequences | parser


NAMES = {value: name for name, value in vars(pyte.control).items() if name in ("BEL", "BS", "HT", "LF", "VT")}
NAMES |= {pyte.control.FF: "FF", pyte.control.CR: "CR", pyte.control.SO: "SO", pyte.control.SI: "SI"}


def taken_of_pyte() -> set[str]:
    """What our screen takes of the package pyte."""
    tree = ast.parse(inspect.getsource(screen_module))
    named = {
        node.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "pyte"
    }
    imported = {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "pyte"
        for alias in node.names
    }
    return named | imported


def test_every_overridden_operation_has_a_reason_and_no_other_has() -> None:
    assert {reason.operation for reason in REASONS} == overridden()


def test_a_screen_takes_two_things_of_pyte() -> None:
    assert taken_of_pyte() == {"Screen", "charsets"}


def test_every_fault_is_shown_by_something() -> None:
    assert list(OUTCOMES) == list(FAULTS)


@pytest.mark.parametrize("text", FAULTS, ids=lambda text: f"{FAULTS[text].operation}: {FAULTS[text].why}")
def test_pyte_still_has_the_fault_and_we_have_not(text: str) -> None:
    pytes, right = OUTCOMES[text]
    assert pytes != right
    assert by_us([text.encode()]) == right
    assert by_pyte([text.encode()]) == pytes, "pyte has changed here: is it right now?"


def test_what_is_overridden_for_its_slowness_is_measured() -> None:
    assert {reason.operation for reason in REASONS if not reason.shown_by} == set(TOO_SLOW)


def test_what_pyte_has_no_operation_for_has_none_of_its_names() -> None:
    ours = {name for name in vars(screen_editing.Editing) if not name.startswith("_")}
    assert {name for name in ours if hasattr(pyte.Screen, name)} == set()


def test_the_page_says_what_the_tables_say() -> None:
    text = PAGE.read_text()
    assert with_tables(text) == text, "run: python -m tests.decisions.screen_page"
