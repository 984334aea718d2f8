"""Whatever is typed and done, the machine goes on as a machine: it never falls out of its own rules."""

import random
import re
import string

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from tests.simulator.workbench import at_desk, at_lasting_store, at_one_operator, at_starter

COMMANDS = re.split(
    r"\||\n",
    """HELP|DRIVES|LOG|TIME|JOBS|LEAVE|BOARD|TAKE TIDES|GREBE519|TAKE KEEPER|TWITE804
OPEN THE OFFICE|CLOSE THE OFFICE|STOP TIDEBOOK|YES|NO||LOAD TIDEBOOK|UPPER|LOWER|329 1970
25.11.1998|09.12|CHECK SMALL|CHECK LOWER|HALT|BEGIN SHUTTLE LOWER
BEGIN SHUTTLE LOWER 1 PASSES|RUN SHUTTLE LOWER 1 MINUTES|BEGIN SUMS|RUN SUMS 1 PASSES
BEGIN TIDES|RUN TIDES|CALL 1|CALL 2|CALL 3|STOP 1|STOP 2|STOP 3|NOTICE FOG|EMPTY LOG
WIPE LOWER|WIPE UPPER|6|8|9""",
)
ACTS = re.split(
    r"\||\n",
    """key on|key off|start small|stop small|start upper|stop upper|start lower|stop lower
switches 14000200|switches 00000000|press start|press start|press halt|unload lower
load SALLOW 2 lower writable|lamps|load SALLOW 1 upper protected|fault disc 0.3
fault disc 1|fault hang 1|fault hang 2|fault garble in 0.05|fault garble out 0.05
fault lose in 0.05|fault lookalike|fault notice FOG|fault power|fault power back
fault xoff|fault xoff off|fault echo word|fault slow 300|fault none|fault none""",
)
STARTS = (Bench, at_lasting_store, at_starter, at_one_operator, at_desk)


def stir(bench: Bench, dice: random.Random) -> None:
    """Type and do one thing or another, and let some time pass."""
    what = dice.random()
    if what < 0.6:
        bench.send(dice.choice(COMMANDS).encode() + b"\r")
    elif what < 0.7:
        bench.send(bytes(dice.randrange(256) for _ in range(dice.randrange(90))))
    elif what < 0.75:
        bench.send(dice.choice([b"\x18", b"\x13", b"\x11", b"\x7f\x7f", b"\x00"]))
    elif what < 0.85:
        bench.act(dice.choice(ACTS))
    bench.run(dice.choice([0.01, 0.1, 1, 3, 20]))


@pytest.mark.parametrize("number", range(60))
def test_after_anything_at_all_the_machine_still_starts_from_cold_and_runs(number):
    dice = random.Random(number)
    start = dice.choice(STARTS)
    options = Options(
        chance=number, one_char_buffer=dice.random() < 0.3, notices_every_s=dice.choice([0, 40])
    )
    bench = start(options=options)
    for _ in range(120):
        stir(bench, dice)
        processor = bench.machine.processor
        if processor.front is not None:
            assert not processor.front.over
    for act in ("fault none", "fault power", "fault power back", "key off", "unload upper", "unload lower"):
        bench.act(act)
        bench.run(25)
    bench.heard = b""
    bench.act("key on")
    bench.until("PRESS START\r\n", 5)
    bench.act("start small")
    bench.until("SMALL READY", 30)
    bench.act("switches 14000200")
    bench.act("press start")
    bench.until("YEAR? ", 30)
    bench.command("329 1970", "STARTER: ")


@pytest.mark.parametrize("start", [at_starter, at_one_operator, at_desk])
def test_any_printable_line_is_answered_and_the_prompt_comes_again(start):
    dice = random.Random(4)
    bench = start()
    prompt = bench.heard.decode().rsplit("\n", 1)[-1]
    for _ in range(300):
        letters = "".join(
            dice.choice(string.ascii_letters + string.digits + " .,?") for _ in range(dice.randrange(60))
        )
        assert bench.command(letters, prompt, 60).endswith(prompt)
