"""A machine that loses its power in the middle of a round: how long the page goes on as if it were there."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from exhibit.decisions.page.badge import Sight, badge
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from tests.sampling import how_sampled, sample
from tests.trials.disturbed_round import ROUND_S, DisturbedRound, Fault, S, whimbrel

MOMENTS_S = [round(1.3 + n * (ROUND_S - 5) / 30, 1) for n in range(30)]
WITHIN_US = whimbrel().machine.typing.answer_within_us
SAID = ("caption", "seen_caption", "tell_tales", "ahead")
"""The items in which the page says what the machine is doing, or will do."""


def said_in(view: View) -> list[str]:
    """What the page says of the machine in the present tense."""
    items = view.batch(0)["items"]
    return [name for name in SAID if items.get(name)]


def claims(view: View) -> list[str]:
    """What the page says in the present tense, and whether its badge says that the machine is there."""
    name = badge(view.recorded_state(), Sight(mode="live", writer="writing")).name
    return [*said_in(view), *([name] if name not in ("silent", "failed") else [])]


def cut_at(moment_s: float) -> tuple[list[kinds.Entry], int]:
    """The recording of a round whose machine lost its power for good, and when that was."""
    entries = DisturbedRound(1, [Fault("power cut", moment_s, 0.0)]).entries
    (begun,) = [e for e in entries if isinstance(e.fact, kinds.ScriptStarted) and e.fact.script == "round"]
    return entries, begun.at_us + round(moment_s * S)


def first_due_us(entries: list[kinds.Entry], cut_us: int) -> int:
    """When the machine first owed something after it had said its last."""
    last_us = max(e.at_us for e in entries if isinstance(e.fact, kinds.BytesReceived))
    assert last_us < cut_us + S
    typed = [e.at_us for e in entries if isinstance(e.fact, kinds.BytesTyped) and not e.fact.secret]
    late = [e.at_us for e in entries if isinstance(e.fact, kinds.StepOverdue)]
    boards = [
        e.at_us for e in entries if isinstance(e.fact, kinds.LandmarkReached) and e.fact.landmark == "board"
    ]
    owed = [at_us for at_us in (*typed, *late) if at_us >= last_us]
    if len(boards) >= 3 and not any(boards[-1] < at_us <= last_us for at_us in typed):
        owed.append(boards[-1] + max(boards[-1] - boards[-2], boards[-2] - boards[-3]))
    return min(owed)


def views_after(entries: list[kinds.Entry], at_us: int) -> Iterator[View]:
    """The page at that moment, and after each later fact."""
    view = View()
    for entry in entries:
        if entry.at_us > at_us:
            yield view
        view.apply(entry)
    yield view


@pytest.mark.trial(name="power-cut")
@pytest.mark.parametrize("moment_s", sample(MOMENTS_S, 3), ids=lambda moment_s: f"{moment_s} s")
def test_a_page_is_untrue_for_at_most_twice_answer_within_after_a_power_cut(moment_s: float):
    entries, cut_us = cut_at(moment_s)
    due_us = first_due_us(entries, cut_us)
    for view in views_after(entries, due_us + 2 * WITHIN_US):
        assert claims(view) == [], (moment_s, view.at_us / S, how_sampled())


def test_the_same_round_without_a_power_cut_is_never_called_silent():
    entries = DisturbedRound(1, []).entries
    assert [e for e in entries if isinstance(e.fact, kinds.MachineSilent)] == []
    shown = [view for view in views_after(entries, 0) if said_in(view)]
    assert len(shown) > 100
