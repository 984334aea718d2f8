"""Each caption can be backed up: by a line on the console, a person's word, or a written source.

The console is built here a second time, by the display alone, and each ground is looked for on it.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

import pytest

from exhibit.decisions.console.printed import PrintedLine
from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.wire import Wire
from exhibit.decisions.page.console_view import single_spaced
from exhibit.decisions.page.views import View
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.kinds import to_bytes
from exhibit.folder.whole import read_folder
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.streams.recording import read_all
from exhibit.web.places import recordings_folder, scripts_folder

WALL = datetime.datetime(2026, 11, 25, 9, tzinfo=datetime.UTC)
SAMPLES = sorted(recordings_folder().glob("*.exhibit"))


@lru_cache(maxsize=1)
def a_whole_day() -> list[kinds.Entry]:
    """The Whimbrel's opening, a round and its closing, in virtual time."""
    entries: list[kinds.Entry] = []
    wanted = Wanted(before=("opening",), rounds=1, after=("closing",))
    SimulatedRun(read_folder(scripts_folder() / "whimbrel"), wanted, WALL, entries.append).run()
    return entries


class Console:
    """What was on the console: the lines printed so far, and the rows of its display."""

    def __init__(self, opened: kinds.RecordingOpened) -> None:
        self._wire = Wire(opened.eighth_bit, parity=opened.parity)
        self._display = display_for(opened.display)
        self._line = PrintedLine(opened.display.tab_columns)
        self.printed: list[str] = []

    def receive(self, text: str) -> None:
        items = self._wire.feed(to_bytes(text))
        self._display.apply(items)
        for item in items:
            line = self._line.take(item)
            if line is not None and line.strip():
                self.printed.append(single_spaced(line))

    def has(self, ground: dict[str, Any]) -> bool:
        """Whether the line is where the ground says that it is."""
        if ground["number"]:
            lines = [*self.printed, single_spaced(self._line.text)]
            return bool(lines[ground["number"] - 1] == ground["line"])
        rows = self._display.text_rows()
        return bool(single_spaced(rows[ground["row"] - 1]) == ground["line"])


def captions_with_grounds(
    entries: Iterable[kinds.Entry],
) -> list[tuple[kinds.CaptionShown, list[dict], list]]:
    """Each caption, the grounds that the page has for it, and those that were found on the console."""
    view, console = View(), None
    found: dict[int, dict[str, Any]] = {}
    captions = []
    for entry in entries:
        view.apply(entry)
        if isinstance(entry.fact, kinds.RecordingOpened):
            console = Console(entry.fact)
        elif isinstance(entry.fact, kinds.BytesReceived):
            console.receive(entry.fact.bytes)
        elif isinstance(entry.fact, kinds.CaptionShown):
            grounds = view.batch(0)["items"]["caption"]["because"]
            captions.append((entry.fact, grounds, [found.get(one["seq"]) for one in grounds]))
            continue
        place = view._grounds.of([entry.seq], view.wall)[0]
        if place.line:
            as_shown = {"number": place.number, "row": place.row, "line": place.line}
            assert console.has(as_shown), (entry, place)
            found[entry.seq] = as_shown
    return captions


def is_shown(caption: kinds.CaptionShown, grounds: list[dict], found: list) -> bool:
    if caption.kind == "background":
        return bool(caption.source)
    by_hand = [one for one in grounds if one["how"] in ("confirmed", "pack")]
    if caption.kind == "look or listen for" and not by_hand:
        return False
    return bool(by_hand) or any(found)


@pytest.mark.parametrize(
    "entries", [a_whole_day, *SAMPLES], ids=lambda one: getattr(one, "stem", "a day now")
)
def test_every_caption_opens_to_a_line_a_person_s_word_or_a_source(entries):
    captions = captions_with_grounds(entries() if callable(entries) else read_all(entries).entries)
    assert len(captions) > 30
    unshown = [
        (caption.caption, grounds)
        for caption, grounds, found in captions
        if not is_shown(caption, grounds, found)
    ]
    assert unshown == []
    lines = [one for _, _, found in captions for one in found if one is not None]
    assert len(lines) > 25
    assert [one for one in lines if one["row"]] != []
    assert [one for one in lines if one["number"]] != []


def test_the_grounds_that_the_page_has_are_those_that_the_record_names():
    for caption, grounds, found in captions_with_grounds(a_whole_day()):
        assert [one["seq"] for one in grounds] == caption.because
        assert not [one for one in grounds if one["how"] == "fact"], caption.caption
        for ground, place in zip(grounds, found, strict=True):
            if place is not None:
                assert {name: ground[name] for name in place} == place


def test_the_bytes_on_the_page_are_those_of_the_line():
    captions = captions_with_grounds(a_whole_day())
    shown = [
        (ground["bytes"], after["line"])
        for _, grounds, _ in captions
        for ground, after in zip(grounds, grounds[1:], strict=False)
        if ground["how"] == "received" and after["number"]
    ]
    assert len(shown) > 15
    for text, line in shown:
        assert single_spaced("".join(c if " " <= c <= "~" else " " for c in text)) == line
