"""kill -9 of a bridge that types: the recording has all that was shown, and the machine got nothing wrong."""

from __future__ import annotations

import io
import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from exhibit.commands.terminal import Terminal
from exhibit.decisions.machine.description import Site
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.simulator import truth
from exhibit.streams.recording import read, read_all
from tests.bridge.stage import FOLDER, Bridge, stage, whole_commands
from tests.sampling import sample

SEED = 20261125
MOMENTS = 50
SPEED = 20.0
"""A busy computer may stall for 0.3 s before an echo is late."""


def _nth_typed(n: int) -> Callable[[Bridge], None]:
    """Just when the n-th character goes out: its echo is still to come."""

    def wait(bridge: Bridge) -> None:
        typed = 0

        def enough(entry: kinds.Entry) -> bool:
            nonlocal typed
            typed += isinstance(entry.fact, kinds.BytesTyped)
            return typed == n

        bridge.until(enough)

    return wait


def _before_return(n: int) -> Callable[[Bridge], None]:
    """When the n-th RETURN has just been recorded: it may have been sent, or not."""

    def wait(bridge: Bridge) -> None:
        returns = 0

        def enough(entry: kinds.Entry) -> bool:
            nonlocal returns
            returns += isinstance(entry.fact, kinds.BytesTyped) and entry.fact.bytes == "\r"
            return returns == n

        bridge.until(enough)

    return wait


def _after_first_bytes(real_s: float) -> Callable[[Bridge], None]:
    """Anywhere: in the middle of a write, of a sync, of a piece that is being received."""

    def wait(bridge: Bridge) -> None:
        bridge.until(lambda entry: isinstance(entry.fact, kinds.BytesReceived))
        until_s = time.monotonic() + real_s
        while time.monotonic() < until_s:
            bridge.follow()
            time.sleep(0.001)

    return wait


Moment = tuple[str, str, Callable[[Bridge], None]]
"""What kind of moment it is, which one, and what waits for it."""


def _moments() -> list[Moment]:
    dice = random.Random(SEED)
    typed = [("typed", f"at typed character {n}", _nth_typed(n)) for n in dice.sample(range(1, 70), 20)]
    returns = [("return", f"at RETURN {n}", _before_return(n)) for n in range(1, 9)]
    delays_s = [dice.uniform(0.0, 3.0) for _ in range(MOMENTS - len(typed) - len(returns))]
    anywhere = [("anywhere", f"{s:.3f} s after the first bytes", _after_first_bytes(s)) for s in delays_s]
    return typed + returns + anywhere


def _shown(view: View) -> object:
    return view.batch(0)


@pytest.mark.trial(name="bridge-killed", seed=SEED)
@pytest.mark.waits
@pytest.mark.timeout(300)
def test_every_recording_of_a_killed_bridge_replays_to_what_was_shown(tmp_path: Path):
    whole = whole_commands(read_folder(FOLDER))
    moments = _moments()
    assert len(moments) == MOMENTS
    for number, (_, name, wait) in enumerate(sample(moments, 6, lambda moment: [moment[0]])):
        with stage(tmp_path / f"{number}", SPEED) as staged:
            bridge = staged.bridge("--rounds", "1")
            wait(bridge)
            bridge.kill()
            recording = read_all(bridge.recording)
            assert all(damage.torn for damage in recording.damages), (name, recording.damages)
            assert len(recording.damages) <= 1, (name, recording.damages)
            assert recording.entries == bridge.entries, name
            followed, replayed = View(), View()
            for entry in bridge.entries:
                followed.apply(entry)
            for entry in read(bridge.recording):
                if isinstance(entry, kinds.Entry):
                    replayed.apply(entry)
            assert _shown(followed) == _shown(replayed), name
            taken = [r.text for r in staged.happened() if isinstance(r, truth.CommandTaken)]
            assert [text for text in taken if not whole.fullmatch(text)] == [], name


def _at_return_of(step: str) -> Callable[[Bridge], None]:
    """When the RETURN of this step has just been recorded: it may have been sent, or not."""

    def wait(bridge: Bridge) -> None:
        at = ""

        def enough(entry: kinds.Entry) -> bool:
            nonlocal at
            at = entry.fact.step if isinstance(entry.fact, kinds.StepStarted) else at
            return at == step and isinstance(entry.fact, kinds.BytesTyped) and entry.fact.bytes == "\r"

        bridge.until(enough)

    return wait


@pytest.mark.waits
@pytest.mark.timeout(300)
@pytest.mark.parametrize(
    ("step", "doubted", "numbered"),
    [
        ("begin-shuttle", "BEGIN SHUTTLE LOWER 4 MINUTES", []),
        ("begin-sums", "BEGIN SUMS 4 MINUTES", ["begin-shuttle"]),
    ],
)
def test_the_next_bridge_names_the_job_that_was_being_begun_at_the_kill(
    step: str, doubted: str, numbered: list[str], tmp_path: Path
):
    with stage(tmp_path, SPEED) as staged:
        bridge = staged.bridge("--rounds", "1")
        _at_return_of(step)(bridge)
        bridge.kill()
        assert not any(isinstance(entry.fact, kinds.JobInDoubt) for entry in bridge.entries)
        following = staged.bridge("--script", "round")
        following.until(lambda entry: isinstance(entry.fact, kinds.ScriptEnded))
        said, view = io.StringIO(), View()
        terminal = Terminal(tmp_path / "no door", Site(mains_stop={}, keyholder={}, rules={}), said)
        for entry in following.entries:
            if isinstance(entry.fact, kinds.PlaceSought):
                break
            terminal.report(entry)
            view.apply(entry)
        (last,) = [e.fact for e in following.entries if isinstance(e.fact, kinds.LastRecordingRead)]
        assert ([job.command for job in last.in_doubt], [*last.numbers]) == ([doubted], numbered)
        assert f"A job whose number isn't known, started by {doubted}, may be running" in said.getvalue()
        assert said.getvalue().count("may be running") == 1
        assert [(f"{name} (job" in said.getvalue()) for name in numbered] == [True] * len(numbered)
        (told,) = [one for one in view.recorded_state().may_run if one.doubt]
        assert (told.command, told.doubt, told.job) == (doubted, "in doubt", "")
        following.end()
        ended = [e.fact for e in following.entries if isinstance(e.fact, kinds.ScriptEnded)]
        over = [e.fact for e in following.entries if isinstance(e.fact, kinds.JobDoubtOver)]
        assert over or not any(script.tidy for script in ended if script.script == "round")
