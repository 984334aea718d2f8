"""What a recording can say: more is refused in the first fact, and counts as damage in others."""

import msgspec
import pytest

from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.facts.kinds import BytesReceived, ClockStepped, DeadlineArmed, Entry, Heartbeat, RecordingClosed
from exhibit.facts.parts_and_cards import Opening, PartDrawn, Screen, Switches
from exhibit.facts.visitor_words import Plot, PlotAxis, PlotLines
from exhibit.streams.bounds import LATEST_US, MOST_AT_ONCE, check_opened, is_within
from exhibit.streams.pacing import RecordingClock, checked_speed
from exhibit.streams.recording import RecordingFolder, read_all, read_opened
from tests.recordings.one_of_each import FOLDER, facts
from tests.strangers.mutated_recordings import written
from tests.streams.samples import a_recording, an_opening

EXTREME = [-1, 0, 2**31, -(2**63), 10**18]


def a_part(**changed):
    usual = {"shape": "cabinet", "cabinet": "c", "width_cm": 60, "height_cm": 175, "state": "working"}
    return {"drawn": {"p": PartDrawn(**{**usual, "joins": [], **changed})}}


def a_screen(**changed):
    usual = {"layout": "landscape", "width_cm": 95.0, "height_cm": 53.0, "distance_cm": 250.0}
    return {"screens": {"s": Screen(**{**usual, "lower_edge_cm": 90.0, **changed})}}


def a_plot(from_: float, to: float, every: float):
    axis = PlotAxis(from_=from_, to=to, every=every, words={})
    lines = PlotLines(begins="b", up="b.u")
    plot = Plot(
        title={},
        across=axis,
        up=axis,
        drawn_as="line",
        part="p",
        called="",
        marks={},
        job_words={},
        read=lines,
    )
    return {"plots": {"t": plot}}


def beyond():
    display = an_opening().display
    for rate in (0.0, -1.0, 0.001, 10_001.0, 1e308, 5e-324):
        yield "rate", {"rate": rate}
    for number in EXTREME:
        yield "rows", {"display": msgspec.structs.replace(display, rows=number)}
        yield "columns", {"display": msgspec.structs.replace(display, columns=number)}
        yield "width", a_part(width_cm=number)
    for number in EXTREME[2:]:
        yield "tab stops", {"display": msgspec.structs.replace(display, tab_columns=number)}
        yield "switches", {"switches": Switches(count=number)}
        yield "an opening", a_part(openings=[Opening(kind="lamps", count=number)])
    yield "openings", a_part(openings=[Opening(kind="lamps")] * 7)
    yield "group", {"switches": Switches(group=0)}
    yield "length", a_screen(width_cm=1e300)
    yield "length", a_screen(lower_edge_cm=-1.0)
    yield "time", a_screen(home_after_s=1e-300)
    yield "marks", a_plot(0, 1, 0)
    yield "marks", a_plot(0, 1, 1e-300)
    yield "marks", a_plot(0, -1, 1)
    for wall in ("", "now", "2026-02-30T00:00:00Z", "0001-01-01T00:00:00Z", "9999-12-31T23:59:60Z"):
        yield "date and time", {"wall": wall}
    yield "list of", {"marked": ["p"] * 2001}
    yield "list of", {"digests": {f"{number}": "" for number in range(2001)}}
    yield "text of", {"line": "x" * 100_001}
    yield "text of", {"pictures": {"a.svg": "x" * 400_001}}


@pytest.mark.parametrize(
    ("what", "changed"), list(beyond()), ids=lambda given: given if isinstance(given, str) else ""
)
def test_a_first_fact_beyond_its_bounds_is_refused_in_a_sentence(what, changed):
    with pytest.raises(RecordingFault, match=what) as refused:
        check_opened(msgspec.structs.replace(an_opening(), **changed))
    assert refused.value.what.startswith("The first line of the recording can't be true: ")
    assert len(refused.value.what) < 250


@pytest.mark.parametrize("rate", [0.01, 1.0, 10_000.0])
def test_the_bounds_themselves_are_within(rate):
    check_opened(
        msgspec.structs.replace(an_opening(), rate=rate, **a_part(width_cm=2000), **a_plot(0, 10, 1))
    )


def as_line(fact) -> bytes:
    return msgspec.json.encode(fact)


@pytest.mark.parametrize(
    "fact",
    [
        Heartbeat(wall="never"),
        ClockStepped(by_us=1, wall="2026-13-01T00:00:00Z"),
        Heartbeat(wall="9999-12-31T23:59:59Z"),
        DeadlineArmed(name="x", due_us=10**30),
        DeadlineArmed(name="x" * 100_001, due_us=0),
        BytesReceived(bytes="x" * (MOST_AT_ONCE + 1), first_us=0),
    ],
    ids=lambda fact: type(fact).__name__,
)
def test_any_other_fact_beyond_them_counts_as_damage(tmp_path, fact):
    assert not is_within(as_line(fact), Entry(seq=2, at_us=1, fact=fact))
    path = a_recording(tmp_path, [(fact, 1)])
    recording = read_all(path)
    assert [type(entry.fact) for entry in recording.entries][1:] == [RecordingClosed]
    assert len(recording.damages) == 1


@pytest.mark.parametrize(("at_us", "damages"), [(LATEST_US, 0), (LATEST_US + 1, 1), (10**17, 1)])
def test_a_time_that_no_day_has_counts_as_damage(tmp_path, at_us, damages):
    path = a_recording(tmp_path, [(DeadlineArmed(name="x", due_us=0), at_us)])
    assert len(read_all(path).damages) >= damages
    assert (len(read_all(path).damages) > 0) is (damages > 0)


def test_whatever_this_program_records_is_within():
    opened, *others = facts()
    check_opened(opened)
    assert [fact for fact in others if not is_within(as_line(fact), Entry(seq=2, at_us=1, fact=fact))] == []
    assert [one for one in read_all(FOLDER / "format-1.exhibit").damages if not one.mended] == []


def test_a_second_first_fact_is_held_to_them_too(tmp_path):
    opened = {"fact": "recording_opened", **msgspec.to_builtins(an_opening()), "format": 1}
    path = tmp_path / "a.exhibit"
    path.write_bytes(written([opened, {**opened, "rate": 1e300}]))
    with pytest.raises(RecordingFault, match="rate"):
        read_all(path)


def test_a_recording_beyond_them_is_not_among_those_of_its_folder(tmp_path):
    opened = {"fact": "recording_opened", **msgspec.to_builtins(an_opening()), "format": 1, "rate": 0.0}
    path = tmp_path / "a.exhibit"
    path.write_bytes(written([opened]))
    with pytest.raises(RecordingFault, match="rate"):
        read_opened(path)
    assert RecordingFolder(tmp_path).recordings() == []


@pytest.mark.parametrize("speed", [0.0, -1.0, 0.001, 10_001.0, float("nan"), float("inf")])
def test_no_clock_runs_so_slowly_or_so_fast(speed):
    with pytest.raises(SetUpFault, match="can't be"):
        checked_speed(speed)
    with pytest.raises(SetUpFault, match="can't be"):
        RecordingClock(speed)
