"""Seeks, turning packs and sectors take the time that the published formulas say."""

import random

import pytest

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.disc import BIG, SMALL, Drive, Geometry, Outcome, Pack
from exhibit.simulator.faults import Faults
from exhibit.simulator.truth import DiscFailed, TruthLog

# References, discs: mean rotational latency is 30/rpm seconds, half a turn.
HALF_A_TURN_MS = {1500: 20.0, 1800: 16.667, 2400: 12.5, 3000: 10.0, 3600: 8.333, 5400: 5.556, 7200: 4.167}


class DriveAlone:
    """A drive with nothing around it."""

    def __init__(self, geometry: Geometry = BIG, faults: Faults | None = None) -> None:
        self.agenda, self.truth, self.failed = Agenda(), TruthLog(), []
        self.drive = Drive(
            "LOWER",
            geometry,
            self.agenda,
            faults or Faults(),
            random.Random(7),
            self.truth,
            lambda drive: None,
            self.failed.append,
        )
        self.drive.pack, self.drive.protected = Pack("SALLOW 2"), False
        self.drive.start()
        self.agenda.run_until(60_000_000)

    def transfer(self, track: int, sector: int, word: int | None = None) -> tuple[int, Outcome]:
        """How long it took, and how it went."""
        outcomes: list[Outcome] = []
        began_us = self.agenda.now_us
        self.drive.ask(track, sector, word, outcomes.append)
        while not outcomes:
            self.agenda.run_until(self.agenda.next_us())
        return self.agenda.now_us - began_us, outcomes[0]

    def wait(self, us: int) -> None:
        self.agenda.run_until(self.agenda.now_us + us)


@pytest.mark.parametrize("rpm", HALF_A_TURN_MS)
def test_half_a_turn_is_the_published_mean_latency(rpm):
    assert Geometry(rpm, 10, 10, 0, 0, ((1, 1),)).turn_us / 2000 == pytest.approx(
        HALF_A_TURN_MS[rpm], abs=0.001
    )


@pytest.mark.parametrize("geometry", [SMALL, BIG], ids=["small", "big"])
def test_the_wait_for_a_sector_is_half_a_turn_on_average_and_never_a_whole_one(geometry):
    alone, dice = DriveAlone(geometry), random.Random(3)
    waits_us = []
    for _ in range(4000):
        alone.wait(dice.randrange(100_000))
        sector = dice.randrange(geometry.sectors)
        took_us, _ = alone.transfer(0, sector)
        waits_us.append(took_us - geometry.sector_us)
    assert min(waits_us) >= 0
    assert max(waits_us) < geometry.turn_us
    # Uniform over a turn: the mean of 4000 has a standard error of turn/sqrt(12*4000), 0.46 per cent.
    assert sum(waits_us) / len(waits_us) == pytest.approx(
        HALF_A_TURN_MS[geometry.rpm] * 1000, abs=geometry.turn_us * 0.02
    )


@pytest.mark.parametrize("geometry", [SMALL, BIG], ids=["small", "big"])
def test_a_sector_takes_a_turn_divided_by_the_sectors_of_a_track(geometry):
    # References: sector transfer is 60/rpm divided by the sectors a track.
    assert geometry.sector_us == 60_000_000 / geometry.rpm / geometry.sectors
    alone = DriveAlone(geometry)
    alone.transfer(0, 3)
    took_us, _ = alone.transfer(0, 4)
    assert took_us == geometry.sector_us


def test_a_sector_that_has_just_gone_by_comes_round_after_a_turn():
    alone = DriveAlone()
    alone.transfer(0, 3)
    took_us, _ = alone.transfer(0, 3)
    assert took_us == BIG.turn_us
    alone.wait(1)
    assert alone.transfer(0, 4)[0] == BIG.turn_us + BIG.sector_us - 1


def test_a_transfer_is_seek_and_wait_and_sector():
    alone, dice = DriveAlone(), random.Random(5)
    for _ in range(500):
        alone.wait(dice.randrange(50_000))
        track, sector = dice.randrange(BIG.tracks), dice.randrange(BIG.sectors)
        seek_us = BIG.seek_time_us(abs(track - alone.drive.track))
        arrived_us = alone.agenda.now_us + seek_us - alone.drive.up_since_us
        wait_us = (sector * BIG.sector_us - arrived_us) % BIG.turn_us
        assert alone.transfer(track, sector)[0] == seek_us + wait_us + BIG.sector_us


@pytest.mark.parametrize("geometry", [SMALL, BIG], ids=["small", "big"])
def test_a_longer_way_never_takes_the_arm_less_time(geometry):
    times_us = [geometry.seek_time_us(distance) for distance in range(geometry.tracks)]
    assert times_us[0] == 0
    assert times_us == sorted(times_us)
    assert dict(geometry.seek_us) == {tracks: times_us[tracks] for tracks, _ in geometry.seek_us}
    assert geometry.seek_time_us(geometry.tracks + 50) == times_us[-1]


def test_a_word_that_was_written_is_read_back():
    alone = DriveAlone()
    assert alone.transfer(7, 7, 0o1234)[1] == Outcome(True, 0, 0o1234)
    assert alone.transfer(7, 7)[1].word == 0o1234
    assert alone.transfer(7, 8)[1].word is None


def test_transfers_are_carried_out_one_by_one_in_the_order_of_asking():
    alone, order = DriveAlone(), []
    for track in (200, 1, 100):
        alone.drive.ask(
            track, 0, None, lambda outcome, track=track: order.append((track, alone.agenda.now_us))
        )
    alone.wait(1_000_000)
    assert [track for track, _ in order] == [200, 1, 100]
    assert order[0][1] < order[1][1] < order[2][1]


def test_a_failure_costs_a_turn_and_is_counted_and_told():
    alone = DriveAlone(faults=Faults(disc_rate=0.5))
    for number in range(300):
        seek_us = BIG.seek_time_us(abs(number % 240 - alone.drive.track))
        took_us, outcome = alone.transfer(number % 240, number % 20)
        tries_again = min(outcome.failures, 3)
        assert seek_us + tries_again * BIG.turn_us <= took_us
        assert took_us < seek_us + (tries_again + 1) * BIG.turn_us + BIG.sector_us
        assert outcome.worked is (outcome.failures < 4)
    told = [record for record in alone.truth.records if isinstance(record, DiscFailed)]
    assert alone.drive.errors == sum(record.failures for record in told)
    assert len(told) == len(alone.failed)
    # One in two fails once or more, one in sixteen four times: binomial, 300 transfers, four sigma.
    assert 115 <= len(told) <= 185
    assert 2 <= sum(not record.recovered for record in told) <= 36


def test_a_drive_that_is_stopped_fails_what_was_asked_of_it():
    alone, outcomes = DriveAlone(), []
    alone.drive.ask(200, 0, None, outcomes.append)
    alone.drive.ask(10, 0, None, outcomes.append)
    alone.drive.stop()
    alone.drive.ask(10, 0, None, outcomes.append)
    alone.wait(1_000_000)
    assert [outcome.worked for outcome in outcomes] == [False, False, False]
    assert alone.drive.transfers == 0


def test_a_drive_is_cold_again_once_it_has_stood_still():
    alone = DriveAlone(faults=Faults(warm_disc_rate=1.0))
    alone.wait(45 * 60_000_000)
    assert alone.transfer(5, 5)[1].failures == 4
    alone.drive.stop()
    alone.wait(BIG.down_us)
    alone.drive.start()
    alone.wait(BIG.up_us)
    assert alone.transfer(5, 5)[1].failures == 0
