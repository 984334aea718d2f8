"""What is received is taken in once somebody asks: a page gets the same as if it had been at once."""

from __future__ import annotations

import random

import pytest

from exhibit.decisions.page import console_view
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from tests.benchmarks.bench_recording import console_output, opening


def pieces(seed: int) -> list[Entry]:
    """Printing and status displays, cut anywhere."""
    chance = random.Random(seed)
    output, entries, at = console_output(chance)[:30_000], [Entry(1, 0, opening())], 0
    while at < len(output):
        size = chance.choice([1, 2, 38, 38, 38, 250])
        seq = len(entries) + 1
        text = kinds.to_text(output[at : at + size])
        entries.append(Entry(seq, seq * 40_000, kinds.BytesReceived(bytes=text, first_us=0)))
        at += size
    return entries


class Page:
    """What a page knows that asks now and then."""

    def __init__(self) -> None:
        self.seq, self.rows, self.printed, self.cursor = 0, {}, [], None

    def ask(self, view: View) -> None:
        answer = view.batch(self.seq)
        self.seq = answer["seq"]
        console = answer.get("console", {})
        self.rows |= console.get("rows", {})
        self.printed += console.get("printed", [])
        self.cursor = console.get("cursor", self.cursor)


@pytest.mark.parametrize("seed", range(6))
def test_however_seldom_a_page_asks_it_has_each_printed_line_once_and_the_same_rows(seed):
    chance, entries = random.Random(seed), pieces(seed)
    view, often, seldom = View(), Page(), Page()
    at_once = View()
    for entry in entries:
        view.apply(entry)
        at_once.apply(entry)
        at_once.text_rows()  # this takes everything in
        often.ask(at_once)
        if chance.random() < 0.02:
            seldom.ask(view)
            assert (seldom.rows, seldom.cursor) == (often.rows, often.cursor)
            assert seldom.printed == often.printed
    seldom.ask(view)
    assert (seldom.rows, seldom.cursor) == (often.rows, often.cursor)
    assert view.text_rows() == at_once.text_rows()
    assert view.snapshot() == at_once.snapshot()


def test_a_snapshot_in_the_middle_goes_on_to_the_same(monkeypatch):
    entries = pieces(9)
    whole = View()
    for entry in entries:
        whole.apply(entry)
    first = View()
    for entry in entries[:700]:
        first.apply(entry)
    second = View()
    second.apply(entries[0])
    second.apply(entries[1])  # something waits that the snapshot replaces
    second.restore(first.snapshot())
    for entry in entries[700:]:
        second.apply(entry)
    assert second.text_rows() == whole.text_rows()


def test_no_more_waits_than_can_be_taken_in_within_a_few_milliseconds():
    view = View()
    for entry in pieces(3):
        view.apply(entry)
        assert view._console._waiting_bytes <= console_view.MOST_WAITING
