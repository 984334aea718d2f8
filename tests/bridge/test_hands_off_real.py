"""After "hands off" nothing more reaches a machine, with every process real: whenever in a round it is said.

At 300 baud, by the machine's own log of the bytes that reached it, while the bridge's disc is busy for half a
second again and again, and its page has as many followers as there is room for.
"""

from __future__ import annotations

import random
import statistics
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.facts import kinds
from tests.bridge.hands_off_judge import CANCEL, RETURN, Byte, Said, standing, wrong
from tests.bridge.hands_off_stage import stage
from tests.sampling import number_of, sample

SEED = 20261125
MOMENTS = 100
ROUND_S = 18.0
"""So long a round types at this machine, with its tidy-up."""
STAGES = number_of(whole=4, daily=2)
"""So many machines at once, each with its own bridge, page and followers: a round takes long at 300 baud."""
FOLLOWERS = number_of(whole=200, daily=20)


def _moments() -> list[float]:
    dice = random.Random(SEED)
    return [dice.uniform(0.0, ROUND_S) for _ in range(MOMENTS)]


class Tried(msgspec.Struct):
    """What came of the moments at one stage."""

    said: list[tuple[float, Said]] = []
    followers: list[dict[str, Any]] = []
    syncs: list[tuple[float, float]] = []
    """When the disc was busy."""


def _tried(place: Path, moments: list[float]) -> Tried:
    tried = Tried()
    with stage(place, FOLLOWERS) as staged:
        for moment_s in moments:
            staged.until_in_round(moment_s)
            tried.said.append((moment_s, staged.hands_off()))
        tried.syncs = [(one["begun_s"], one["at_s"]) for one in staged.log() if one["what"] == "synced"]
        tried.followers = staged.stop_following()
    return tried


@pytest.mark.trial(name="hands-off-real", seed=SEED)
@pytest.mark.waits
@pytest.mark.timeout(300)
def test_hands_off_is_kept_by_real_processes_whenever_in_a_round_it_is_said(tmp_path: Path):
    moments = sample(_moments(), 2)
    with ThreadPoolExecutor(STAGES) as pool:
        shares = [moments[number::STAGES] for number in range(STAGES)]
        places = [tmp_path / f"{number}" for number in range(STAGES)]
        tried = list(pool.map(_tried, places, shares))
    _print_figures(tried)
    found = [(moment_s, wrong(said)) for one in tried for moment_s, said in one.said]
    assert len(found) == len(moments)
    assert [(moment_s, wrongs) for moment_s, wrongs in found if wrongs] == []
    for one in tried:
        assert len(one.followers) == FOLLOWERS
        assert [seen for seen in one.followers if seen["gone"] or not seen["told"]] == []


def _print_figures(tried: list[Tried]) -> None:
    said = [said for one in tried for _, said in one.said]
    stood = [standing([one.byte for one in each.arrived]) for each in said]
    busy = [any(a <= each.asked_s <= b for a, b in one.syncs) for one in tried for _, each in one.said]
    held = [any(isinstance(fact, kinds.TypingFailed) for fact in each.facts) for each in said]
    after = [[one.at_s - each.asked_s for one in each.arrived if one.at_s > each.asked_s] for each in said]
    put = [sum(one.at_s > each.asked_s for one in each.put) for each in said]
    answered = [each.answered_s - each.asked_s for each in said]
    told = [seen["told"] for one in tried for seen in one.followers]
    print(f"{len(said)} times: {sum(map(bool, stood))} left something standing, {stood.count('****')} a word")
    print(f"{sum(busy)} times the disc was busy; {sum(held)} bytes were held back whose fact was written")
    print(f"bytes that were put into the port afterwards, at most: {max(put)}")
    print(f"bytes that reached the machine afterwards, at most: {max(map(len, after))}")
    print(f"the last after {max((s for each in after for s in each), default=0.0):.3f} s")
    print(f"answered within {statistics.median(answered):.3f} s in the middle, {max(answered):.3f} s at most")
    print(f"{len(told)} followers, told {min(told)} to {max(told)} times")


# -- and it would be seen

PUT = [Byte(1.0 + n / 10, byte) for n, byte in enumerate(b"take t")]
OFF = [kinds.HandsOff(by="a docent", standing="take t"), kinds.SessionFailed(why="x", last_lines=[])]
KEPT = Said(asked_s=1.55, answered_s=1.6, accepted=True, put=PUT, arrived=PUT, facts=OFF)
MORE = [Byte(1.7 + n / 10, byte) for n, byte in enumerate(b"ides\r")]


def test_nothing_is_wrong_where_it_was_kept():
    assert wrong(KEPT) == []
    put = [*PUT, Byte(1.56, ord("i"))]
    named = [kinds.HandsOff(by="a docent", standing="take ti"), OFF[1]]
    assert wrong(msgspec.structs.replace(KEPT, put=put, arrived=put, facts=named)) == []
    put = [*PUT, Byte(1.54, CANCEL)]
    assert wrong(msgspec.structs.replace(KEPT, put=put, arrived=put)) == []


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"accepted": False}, "wasn't accepted"),
        ({"arrived": [*PUT, *MORE]}, "isn't what was put"),
        (
            {"put": [*PUT, *MORE], "arrived": [*PUT, *MORE]},
            "5 bytes were put into the port after the request",
        ),
        (
            {"put": [*PUT, MORE[0]], "arrived": [*PUT, MORE[0]]},
            "1 bytes were put into the port after the answer",
        ),
        ({"answered_s": 0.9, "put": PUT + MORE, "arrived": PUT + MORE}, "11 bytes reached the machine"),
        ({"facts": []}, "0 times"),
        ({"facts": [*OFF, kinds.BytesTyped(bytes="i", count=1, by="x")]}, "recorded as typed"),
        ({"facts": OFF[:1]}, "nobody is told"),
        ({"facts": [kinds.HandsOff(by="a docent"), OFF[1]]}, 'but it is "TAKE T"'),
    ],
)
def test_what_must_not_happen_is_seen(changed: dict[str, Any], told: str):
    assert [words for words in wrong(msgspec.structs.replace(KEPT, **changed)) if told in words]


@pytest.mark.parametrize(
    ("arrived", "stands"),
    [
        (b"take t", "TAKE T"),
        (b"take tides\r", ""),
        (b"take tides\x0e", "TAKE TIDES"),
        (b"take tides\rgre", "****"),
        (b"take tides\rgre\r", ""),
        (b"take tides\rgre\rlea", "LEA"),
        (bytes([*b"take t", CANCEL]), ""),
        (bytes([*b"take tides", RETURN, *b"g", CANCEL, *b"l"]), "L"),
    ],
)
def test_what_stands_at_the_machine_follows_from_the_bytes_that_reached_it(arrived: bytes, stands: str):
    assert standing(arrived) == stands
