"""Makes the recordings in recordings/examples: days of the invented machine with a fault planted in each.

    python -m tests.recordings.make_examples [FOLDER]

Each is made in virtual time by the decisions that a bridge makes, on the simulated machine, whose dice are
seeded: so the same recordings come again. tests/records/reckoning/test_examples.py says what is planted in
each, and holds the engineer's sums to it. All of it is invented.
"""

from __future__ import annotations

import datetime
import shutil
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

import msgspec

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from exhibit.folder.whole import read_folder
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.streams.pieces import PIECE_US
from exhibit.web.places import recordings_folder, scripts_folder
from tests.recordings.make_sample import write

EXAMPLES = recordings_folder() / "examples"
SECOND_US = 1_000_000
SCATTER = 0.01
"""The drives' time to come up to speed varies by a hundredth, as a real one's does a little each morning."""
MORNING = Wanted(before=("opening",), rounds=0)
WHOLE_DAY = Wanted(before=("opening",), rounds=1, after=("closing",))
SOAK = Wanted(before=("opening", "soak"), rounds=0, after=("closing",))
GOOD_MORNINGS, SLOWING_MORNINGS = 6, 10
A_MORNING_S = 0.4
"""How much longer the lower drive takes to come up to speed each morning, from the seventh on."""
WARM_RATE = 0.0006
"""How likely a transfer fails once the drive is warm."""
SOAK_TOML = """\
# An engineer's hour with the disc exerciser, whose count of errors is read every five minutes.

[script]
within = "90 min"
late = "stop"
"""


def of_the_whimbrel(copy: Path) -> Folder:
    """The Whimbrel's folder with a further script, `soak`."""
    shutil.copytree(scripts_folder() / "whimbrel", copy)
    steps = [
        'name = "take-the-desk"\nat = ["no-desk"]\ntype = "TAKE TIDES"\nuntil = ["word-for-tides"]',
        'name = "say-the-word"\nat = ["word-for-tides"]\nsecret = "tides"\nuntil = ["desk-tides"]',
        'name = "begin-shuttle"\nat = ["desk-tides"]\ntype = "BEGIN SHUTTLE LOWER 60 MINUTES"\n'
        'until = ["shuttle-begun"]',
    ]
    for minutes in range(5, 60, 5):
        steps += [
            f'name = "wait-{minutes}"\npause = "5 min"',
            f'name = "board-{minutes}"\nat = ["desk-tides"]\ntype = "BOARD"\nuntil = ["board"]',
            f'name = "frame-{minutes}"\nread = "board"',
            f'name = "away-{minutes}"\nat = ["board"]\npress = "space"\nuntil = ["desk-tides"]',
        ]
    tidy_up = [
        'name = "stop-shuttle"\nat = ["desk-tides"]\ntype = "STOP {begin-shuttle.job}"\n'
        'until = ["desk-tides", "job-gone"]',
        'name = "leave"\nat = ["desk-tides"]\ntype = "LEAVE"\nuntil = ["no-desk"]',
    ]
    tables = [("step", step) for step in steps] + [("tidy_up", step) for step in tidy_up]
    limited = [(kind, step if "pause" in step else step + '\nwithin = "30 s"') for kind, step in tables]
    (copy / "soak.toml").write_text(SOAK_TOML + "".join(f"\n[[{kind}]]\n{step}\n" for kind, step in limited))
    for language, title in (("en", "An hour of the disc exerciser"), ("de", "Eine Stunde Plattenübung")):
        file = copy / "captions" / f"{language}.toml"
        file.write_text(
            file.read_text("utf-8").replace("[scripts]\n", f'[scripts]\nsoak = "{title}"\n'), "utf-8"
        )
    return read_folder(copy)


def a_day(
    folder: Folder,
    wanted: Wanted,
    wall: datetime.datetime,
    to: Path,
    *,
    before: UseBefore | None = None,
    chance: int,
    acts: Iterable[tuple[float, str]] = (),
) -> UseBefore:
    """Records a day into a folder, with acts at seconds from its beginning. Returns the use up to its end."""
    entries: list[kinds.Entry] = []
    run = SimulatedRun(
        folder,
        wanted,
        wall,
        entries.append,
        before,
        chance=chance,
        scatter=SCATTER,
        acts=[(round(at_s * SECOND_US), act) for at_s, act in acts],
    )
    run.run()
    to.mkdir(parents=True, exist_ok=True)
    write(in_pieces(entries), to, run.outcome)
    return run.use_before()


def in_pieces(entries: list[kinds.Entry]) -> list[kinds.Entry]:
    """The entries with what was received in pieces as the bridge writes them, and their numbers anew."""
    kept: list[kinds.Entry] = []
    number: dict[int, int] = {}
    for entry in entries:
        last = kept[-1] if kept else None
        if (
            last is not None
            and isinstance(last.fact, kinds.BytesReceived)
            and isinstance(entry.fact, kinds.BytesReceived)
            and entry.at_us - last.fact.first_us < PIECE_US
        ):
            piece = kinds.BytesReceived(bytes=last.fact.bytes + entry.fact.bytes, first_us=last.fact.first_us)
            kept[-1] = kinds.Entry(last.seq, entry.at_us, piece)
        else:
            kept.append(kinds.Entry(len(kept) + 1, entry.at_us, _renumbered(entry.fact, number)))
        number[entry.seq] = len(kept)
    return kept


def _renumbered(
    fact: kinds.AnyFact | kinds.UnknownFact, number: dict[int, int]
) -> kinds.AnyFact | kinds.UnknownFact:
    """A fact that names others by their new numbers."""
    match fact:
        case kinds.CaptionShown(because=because):
            return msgspec.structs.replace(fact, because=[number[one] for one in because])
        case kinds.TroubleRaised(repeats=repeats) if repeats:
            return msgspec.structs.replace(fact, repeats=number[repeats])
        case (
            kinds.TroubleSeen(raised=raised)
            | kinds.TroubleSetAside(raised=raised)
            | kinds.TroubleOver(raised=raised)
        ):
            return msgspec.structs.replace(fact, raised=number[raised])
        case kinds.RequestMade(about=about) if about:
            return msgspec.structs.replace(fact, about=number[about])
    return fact


def slow_drift(folder: Folder, to: Path) -> None:
    """16 mornings; from the seventh on the lower drive takes longer to come up to speed each time."""
    use: UseBefore | None = None
    first = datetime.datetime(2026, 10, 5, 9, 30, tzinfo=datetime.UTC)
    for morning in range(GOOD_MORNINGS + SLOWING_MORNINGS):
        late_s = A_MORNING_S * max(0, morning - GOOD_MORNINGS + 1)
        acts = [(0.0, f"fault slow start lower {1 + late_s / 20:.4f}")] if late_s else []
        wall = first + datetime.timedelta(days=morning)
        use = a_day(folder, MORNING, wall, to, before=use, chance=100 + morning, acts=acts)


def warm_disc(folder: Folder, to: Path) -> None:
    """Two hours' exercise on two days: the discs err, but only once they are warm."""
    use: UseBefore | None = None
    for day in (26, 27):
        wall = datetime.datetime(2026, 10, day, 10, 0, tzinfo=datetime.UTC)
        acts = [(0.0, f"fault warm disc {WARM_RATE}")]
        use = a_day(folder, SOAK, wall, to, before=use, chance=200 + day, acts=acts)


def garbling_line(folder: Folder, to: Path) -> None:
    """A good day, and one on which 8 in 1000 characters are changed on their way to us, from the round on."""
    use: UseBefore | None = None
    for day, acts in ((2, []), (3, [(90.0, "fault garble out 0.008")])):
        wall = datetime.datetime(2026, 11, day, 10, 0, tzinfo=datetime.UTC)
        use = a_day(folder, WHOLE_DAY, wall, to, before=use, chance=300 + day, acts=acts)


def power_cut(folder: Folder, to: Path) -> None:
    """A day on which the mains fail in the middle of the round, and the day after."""
    use: UseBefore | None = None
    for day, acts in ((9, [(150.0, "fault power")]), (10, [])):
        wall = datetime.datetime(2026, 11, day, 10, 0, tzinfo=datetime.UTC)
        use = a_day(folder, WHOLE_DAY, wall, to, before=use, chance=400 + day, acts=acts)


def good_day(folder: Folder, to: Path) -> None:
    """A day on which all goes well."""
    a_day(folder, WHOLE_DAY, datetime.datetime(2026, 11, 16, 10, 0, tzinfo=datetime.UTC), to, chance=500)


MAKERS = {
    "good-day": good_day,
    "slow-drift": slow_drift,
    "warm-disc": warm_disc,
    "garbling-line": garbling_line,
    "power-cut": power_cut,
}


def make(to: Path, names: Iterable[str] = tuple(MAKERS)) -> None:
    """Makes the examples of these names anew in a folder."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = of_the_whimbrel(Path(scratch) / "whimbrel")
        for name in names:
            shutil.rmtree(to / name, ignore_errors=True)
            MAKERS[name](folder, to / name)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLES)
