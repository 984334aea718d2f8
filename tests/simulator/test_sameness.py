"""The same options, bytes and acts at the same times give the same machine, however time is cut up."""

import random

from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options, Whimbrel
from exhibit.simulator.truth import from_line, to_line
from tests.simulator.workbench import at_desk

FAULTS = ("disc 0.05", "garble in 0.02", "garble out 0.02", "lose in 0.01", "lose out 0.01")
DAY = [
    (0, "key on"),
    (1_000_000, "start small"),
    (1_100_000, "load SALLOW 1 upper protected"),
    (1_200_000, "load SALLOW 2 lower writable"),
    (1_300_000, "start upper"),
    (1_400_000, "start lower"),
    (25_000_000, "switches 14000200"),
    (25_100_000, "press start"),
    (70_000_000, "fault disc 0.05"),
    (70_000_001, "fault garble out 0.02"),
    (70_000_002, "fault lose in 0.002"),
    (150_000_000, "fault notice fog"),
]
TYPED = [
    (28_000_000, b"329 1970\r"),
    (30_000_000, b"LOAD TIDEBOOK\r"),
    (32_000_000, b"\r"),
    (45_000_000, b"25.11.1998\r"),
    (47_000_000, b"09.12\r\r\r\r"),
    (53_000_000, b"OPEN THE OFFICE\r"),
    (58_000_000, b"TAKE TIDES\r"),
    (60_000_000, b"GREBE519\r"),
    (63_000_000, b"BEGIN SHUTTLE LOWER 2 MINUTES\rBEGIN SUMS 2 MINUTES\r"),
    (75_000_000, b"RUN TIDES\r"),
    (160_000_000, b"BOARD\r"),
    (180_000_000, b"X"),
    (185_000_000, b"STOP 1\rSTOP 2\rLEAVE\r"),
]
END_US = 200_000_000


def live(options: Options, cuts: list[int]) -> tuple[list[tuple[int, bytes]], list[bytes]]:
    """The day, with time let pass up to each of `cuts` besides; what came, and the truth log."""
    machine, came = Whimbrel(options), []
    doings = [(at_us, "act", act) for at_us, act in DAY] + [(at_us, "type", data) for at_us, data in TYPED]
    doings += [(at_us, "cut", None) for at_us in cuts]
    for at_us, what, subject in sorted(doings, key=lambda doing: (doing[0], doing[1])):
        came += machine.advance(at_us)
        if what == "act":
            machine.panel(subject, at_us)
        elif what == "type":
            machine.receive(subject, at_us)
    came += machine.advance(END_US)
    machine.truth.close_run()
    return came, [to_line(record) for record in machine.truth.records]


def test_two_machines_with_the_same_day_do_the_same():
    assert live(Options(), []) == live(Options(), [])


def test_it_makes_no_difference_into_how_many_pieces_time_is_cut():
    dice = random.Random(11)
    whole = live(Options(notices_every_s=30.0), [])
    for count in (10, 1000, 20_000):
        cuts = [dice.randrange(END_US) for _ in range(count)]
        assert live(Options(notices_every_s=30.0), cuts) == whole


def test_the_day_above_goes_as_far_as_it_should():
    came, truth = live(Options(), [])
    text = b"".join(data for _, data in came)
    for kind in (b"TidesWorked", b"BoardShown", b"DiscFailed", b"NoticeGiven", b"JobOver", b"DeskLeft"):
        assert any(b'"kind":"' + kind in line for line in truth), kind
    assert b"\x1b[24;1H" in text


def test_other_dice_give_other_faults():
    assert live(Options(chance=1), []) != live(Options(chance=2), [])


def test_every_record_of_the_truth_log_can_be_read_back():
    _, lines = live(Options(), [])
    assert [to_line(from_line(line)) for line in lines] == lines


def test_the_truth_log_can_go_to_a_sink_and_needs_no_memory():
    seen = []
    bench = Bench(Options(keep_truth=False), truth_sink=seen.append)
    bench.act("key on")
    bench.run(2)
    bench.machine.truth.close_run()
    assert bench.machine.truth.records == []
    assert [type(record).__name__ for record in seen[:3]] == ["PowerChanged", "PlaceEntered", "ActDone"]


def test_a_quiet_machine_has_nothing_booked_and_costs_nothing():
    bench = at_desk()
    bench.run(10)
    assert bench.machine.next_event_us() is None
