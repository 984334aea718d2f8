"""A megabyte of noise on the line: nothing typed, nothing grows, the page lives, the record is bounded."""

from __future__ import annotations

import itertools
import random
import threading
import time

import pytest

from exhibit.facts import kinds
from exhibit.streams.recording import Tail
from tests.commands.test_disc_full import beside_a_machine
from tests.sampling import number_of, sample
from tests.trials.soak import held_by, of_run
from tests.web.page_line import Line

pytestmark = pytest.mark.waits
WITHIN_S = 900.0
NOISE_BYTES = number_of(whole=1_000_000, daily=200_000)
HARMLESS = b"\r\x03\x15\x7f"
"""Keys that a folder may name as nudge or cancel key; a command has letters."""
KINDS = {
    "any bytes": lambda dice, size: dice.randbytes(size),
    "text": lambda dice, size: bytes(dice.choices(range(32, 127), k=size)),
    "control sequences": lambda dice, size: b"".join(
        b"\x1b[%d;%d%c" % (dice.randrange(99), dice.randrange(99), dice.choice(b"HJKmABCDr"))
        for _ in range(size // 7)
    ),
    "one byte, as from a wrong speed": lambda dice, size: b"\xff" * size,
}
MOST_GROWTH_KB = 5 * 1024
"""What a process may hold more than before. Measured: 2,500 kB, at the first of each kind."""
FIRST_WORDS = b"THE TIDE IS OUT AND THE GULLS ARE IN\r\n" * 100
"""A line that sends only noise from the first is another case: `watch` ends and says what to try."""
MOST_FOR_EACH_BYTE = 8
"""A byte that isn't text takes six in the recording, and each piece has a line of its own."""


@pytest.mark.trial(name="noise-flood")
@pytest.mark.parametrize(
    ("mode", "kind"), sample(list(itertools.product(["run", "watch"], KINDS)), 2, kinds=lambda case: case[:1])
)
def test_noise_types_no_command_and_leaves_nothing_behind(tmp_path, mode, kind):
    noise = KINDS[kind](random.Random(f"noise {kind}"), NOISE_BYTES)
    with beside_a_machine(mode, tmp_path) as (command, machine):
        assert machine is not None
        machine.prints(FIRST_WORDS)
        before = {name: held_by(pid) for name, pid in of_run(command.process.pid).items()}
        (path,) = tmp_path.glob("*.exhibit")
        tail, wanted, recorded = Tail(path), len(FIRST_WORDS) + len(noise), 0
        floods = threading.Thread(target=machine.prints, args=(noise,))
        floods.start()
        with Line(command) as page:  # type: ignore[arg-type]
            had, answers = page.ask(stream="", after=0, news=0), 0
            give_up_s = time.monotonic() + WITHIN_S
            while recorded < wanted:
                picture = had.get("picture") or {}
                had = page.ask(stream=had["stream"], after=picture.get("seq", 0), news=had["news"])
                answers += 1
                facts = [entry.fact for entry in tail.read_new()]
                recorded += sum(len(fact.bytes) for fact in facts if isinstance(fact, kinds.BytesReceived))
                assert time.monotonic() < give_up_s, f"{recorded} of {wanted}"
        tail.close()
        floods.join(WITHIN_S)
        after = {name: held_by(pid) for name, pid in of_run(command.process.pid).items()}
        print(f"{mode}, {kind}: {answers} answers, {path.stat().st_size} bytes; {before}; {after}")
        assert answers > 3
        for name in ("bridge", "page"):
            assert after[name].memory_kB - before[name].memory_kB < MOST_GROWTH_KB, name
            assert after[name].threads <= before[name].threads, name
        assert path.stat().st_size < MOST_FOR_EACH_BYTE * wanted
        assert machine.received.strip(HARMLESS) == b""
