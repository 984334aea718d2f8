"""A display taken up from a keyframe goes on exactly as if there had been no break."""

import json
import random

import pytest

from exhibit.decisions.display.choice import AnyDisplay, display_for
from exhibit.decisions.display.wire import Wire
from exhibit.facts.display import Display
from exhibit.facts.errors import RecordingFault
from tests.decisions.display.oracles.streams import KINDS, stream

FIRST_PICK = 1973
DISPLAYS = [
    Display(rows=24, columns=80),
    Display(rows=6, columns=14, wrap=False, tab_columns=4, form_feed="new sheet"),
    Display(kind="paper", rows=12, columns=14, form_feed="new sheet"),
    Display(kind="paper", rows=12, columns=14, wrap=False, form_feed="ignore"),
]


def _state(display: AnyDisplay) -> tuple[object, ...]:
    return (
        display.rows(),
        display.cursor,
        display.snapshot(),
        display.bells,
        display.unknown_sequences,
        display.first_row,
    )


@pytest.mark.parametrize("display", DISPLAYS, ids=lambda display: f"{display.kind}{display.columns}")
@pytest.mark.parametrize("kind", KINDS)
def test_a_keyframe_between_any_two_sequences_loses_nothing(kind: str, display: Display) -> None:
    pick = random.Random(f"{FIRST_PICK} {kind}")
    for _ in range(4):
        ops = stream(pick, kind)
        for cut in range(0, len(ops) + 1, 3):
            straight, resumed = display_for(display), display_for(display)
            wire, resumed_wire = Wire("drop"), Wire("drop")
            straight.apply(wire.feed(b"".join(ops[:cut])))
            resumed.restore(json.loads(json.dumps(straight.snapshot())))
            resumed_wire.restore(json.loads(json.dumps(wire.snapshot())))
            assert _state(resumed) == _state(straight)
            rest = b"".join(ops[cut:])
            straight.apply(wire.feed(rest))
            resumed.apply(resumed_wire.feed(rest))
            assert _state(resumed) == _state(straight), ops


REMEMBERED = {
    "the cursor": ("\x1b[2;3H", "X"),
    "a wrap that waits": ("A" * 14, "X"),
    "whether the cursor shows": ("\x1b[?25l", ""),
    "the style": ("\x1b[1;4m", "X"),
    "the margins": ("\x1b[2;3r", "a\nb\nc\nd"),
    "the first set": ("\x1b(0", "q"),
    "the second set": ("\x1b)0", "\x0eq"),
    "which set is in use": ("\x1b)0\x0e", "q"),
    "inserting": ("abc\r\x1b[4h", "X"),
    "the new line mode": ("\x1b[20h", "a\nb"),
    "no wrapping": ("\x1b[?7l", "A" * 14 + "X"),
    "rows counted from the margin": ("\x1b[2;3r\x1b[?6h", "\x1b[HX"),
    "tab stops": ("\x1b[3g\x1b[1;4H\x1bH\r", "\tX"),
    "the saved place": ("\x1b[2;3H\x1b7\x1b[H", "\x1b8X"),
    "the saved style and sets": ("\x1b[7m\x1b(0\x1b7\x1b[m\x1b(B", "\x1b8q"),
    "what may be repeated": ("ab", "\x1b[2b"),
    "the main screen behind the other": ("main\x1b7\x1b[?47hother", "\x1b[?47l\x1b8X"),
    "bells": ("\a\a", "\a"),
}


@pytest.mark.parametrize("what", REMEMBERED)
def test_a_keyframe_of_a_screen_remembers(what: str) -> None:
    before, after = REMEMBERED[what]
    straight, resumed, fresh = (display_for(Display(rows=4, columns=14)) for _ in range(3))
    straight.apply(Wire("drop").feed(before.encode()))
    resumed.restore(json.loads(json.dumps(straight.snapshot())))
    for display in (straight, resumed, fresh):
        display.apply(Wire("drop").feed(after.encode()))
    assert _state(resumed) == _state(straight)
    assert _state(fresh) != _state(straight), "this shows nothing"


KEPT_BEFORE = """{"size": [4, 14], "rows": {"2": [["other", 0]]}, "cursor": [1, 0, true], "style": 0,
    "margins": [1, 3], "modes": ["inserting", "from margin", "wrapping"], "tab_stops": [4],
    "sets": ["B", "B"], "shifted": 0, "saved": [0, 0, 0, ["B", "B"], 0, false], "repeatable": "",
    "aside": [{"0": [["\u2500\u2500 main", 0]], "2": [["        ", 0], ["X", 5]]},
    [2, 9, 5, ["B", "B"], 0, false]], "bells": 0, "unknown_sequences": 0}"""
"""As the screen kept its state when its rows weren't pyte's buffer yet."""


def test_a_keyframe_made_before_the_rows_were_pytes_goes_on_as_it_did_then() -> None:
    screen = display_for(Display(rows=4, columns=14))
    screen.restore(json.loads(KEPT_BEFORE))
    assert json.loads(json.dumps(screen.snapshot())) == json.loads(KEPT_BEFORE)
    screen.apply(Wire("drop").feed(b"\tT\x1b[2;1Hin\x1b[9;1H\n"))
    assert screen.text_rows() == ["", "inother", "", ""]
    screen.apply(Wire("drop").feed(b"\x1b[?47l\x1b[4l\x1b8Y\x1b(0q"))
    assert screen.text_rows() == ["── main", "", "        XY─", ""]


@pytest.mark.parametrize("display", DISPLAYS, ids=lambda display: f"{display.kind}{display.columns}")
def test_after_a_restore_every_row_is_to_be_drawn_anew(display: Display) -> None:
    first, second = display_for(display), display_for(display)
    first.apply(Wire("drop").feed(b"one\r\ntwo\r\n" * 10))
    second.take_dirty()
    second.restore(first.snapshot())
    assert second.take_dirty() == set(range(second.first_row, second.first_row + len(second.rows())))


@pytest.mark.parametrize("kind", ["screen", "paper"])
def test_a_keyframe_of_another_size_is_refused_in_words(kind: str) -> None:
    small = display_for(Display(kind="paper" if kind == "paper" else "screen", rows=5, columns=7))
    large = display_for(Display(kind="paper" if kind == "paper" else "screen", rows=5, columns=8))
    with pytest.raises(RecordingFault, match="columns|x"):
        large.restore(small.snapshot())


def test_a_keyframe_is_small() -> None:
    """Once a full screen of text, deflated as a cache folder would keep it: under 2 kB."""
    import zlib

    pick = random.Random(FIRST_PICK)
    screen = display_for(Display())
    screen.apply(Wire("drop").feed(b"".join(stream(pick, "all") + stream(pick, "core"))))
    assert len(zlib.compress(json.dumps(screen.snapshot()).encode())) < 2000
