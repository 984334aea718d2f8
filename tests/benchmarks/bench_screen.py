"""How fast wire and screen are beside plain pyte, and how long a single sequence or byte can take.

    python tests/benchmarks/bench_screen.py

Ratios are of one run on one computer; absolute figures are not to be compared between runs.
Nothing here passes or fails.
"""

import json
import statistics
import time
import zlib
from collections.abc import Callable

import pyte

from exhibit.decisions.display import controls as screen_controls
from exhibit.decisions.display import screen as screen_module
from exhibit.decisions.display.paper import Paper
from exhibit.decisions.display.screen import Glass, Screen
from exhibit.decisions.display.wire import Csi, Wire

ROUNDS = 5
PIECE_BYTES = 4096
Work = Callable[[list[bytes]], None]


def plain_text() -> bytes:
    line = "TIDE {:05} HIGH WATER 06:12 4.31 M  LOW WATER 12:25 0.87 M\r\n"
    return "".join(line.format(number) for number in range(12_000)).encode()


def status_display() -> bytes:
    rows = "".join(
        f"\x1b[{row};1H\x1b[7m JOB {row:2} \x1b[m {{}} \x1b[{row};40HDISC {{}} ERR {row}\x1b[K"
        for row in range(2, 22)
    )
    frame = "\x1b[H\x1b[1mSTATUS {}\x1b[m\x1b[K" + rows
    return "".join(frame.replace("{}", f"{number:06}") for number in range(400)).encode()


def pieces_of(data: bytes, length: int) -> list[bytes]:
    return [data[at : at + length] for at in range(0, len(data), length)]


def through_pyte(pieces: list[bytes]) -> None:
    stream = pyte.ByteStream(pyte.Screen(80, 24))
    stream.use_utf8 = False
    for piece in pieces:
        stream.feed(piece)


def through_screen(pieces: list[bytes]) -> None:
    wire, screen = Wire("parity"), Screen(24, 80)
    for piece in pieces:
        screen.apply(wire.feed(piece))


def through_screen_with_rows(pieces: list[bytes]) -> None:
    wire, screen = Wire("parity"), Screen(24, 80)
    for piece in pieces:
        screen.apply(wire.feed(piece))
        screen.rows()


def through_pyte_with_rows(pieces: list[bytes]) -> None:
    shown = pyte.Screen(80, 24)
    stream = pyte.ByteStream(shown)
    stream.use_utf8 = False
    for piece in pieces:
        stream.feed(piece)
        _ = shown.display


def through_wire(pieces: list[bytes]) -> None:
    wire = Wire("parity")
    for piece in pieces:
        wire.feed(piece)


def through_paper(pieces: list[bytes]) -> None:
    wire, paper = Wire("parity"), Paper(80)
    for piece in pieces:
        paper.apply(wire.feed(piece))


def through_screen_with_pytes_rows(pieces: list[bytes]) -> None:
    wire, screen = Wire("parity"), Screen(24, 80)
    for piece in pieces:
        screen.apply(wire.feed(piece))
        _ = screen._glass.display


def with_pytes(operation: str, through: Work) -> Work:
    """The same work on our screen, but for one operation, which is pyte's own."""

    def work(pieces: list[bytes]) -> None:
        pytes = {operation: getattr(pyte.Screen, operation)}
        try:
            screen_module.Glass = type("GlassWithPytes", (Glass,), pytes)
            through(pieces)
        finally:
            screen_module.Glass = Glass

    return work


def cleared_display() -> bytes:
    """A status display that is cleared before each frame."""
    rows = "".join(f" JOB {row:2} {{}}  DISC {{}} ERR {row}\r\n" for row in range(2, 22))
    frame = "\x1b[2J\x1b[H\x1b[1mSTATUS {}\x1b[m\r\n" + rows
    return "".join(frame.replace("{}", f"{number:06}") for number in range(400)).encode()


def times_slower(pytes: Work, ours: Work, data: bytes, length: int) -> float:
    pieces = pieces_of(data[:200_000], length)
    return speed_mb_s(ours, pieces) / speed_mb_s(pytes, pieces)


TOO_SLOW: dict[str, tuple[str, Callable[[], float]]] = {
    "draw": (
        "plain text",
        lambda: times_slower(with_pytes("draw", through_screen), through_screen, plain_text(), PIECE_BYTES),
    ),
    "index": (
        "plain text",
        lambda: times_slower(with_pytes("index", through_screen), through_screen, plain_text(), PIECE_BYTES),
    ),
    "erase_in_display": (
        "a display cleared before each frame, rows asked for every 48 bytes",
        lambda: times_slower(
            with_pytes("erase_in_display", through_screen_with_rows),
            through_screen_with_rows,
            cleared_display(),
            48,
        ),
    ),
    "buffer": (
        "plain text, rows asked for every 48 bytes",
        lambda: times_slower(through_screen_with_pytes_rows, through_screen_with_rows, plain_text(), 48),
    ),
}
"""What is overridden for its slowness: on which text, and how many times slower pyte's own would be."""


def speed_mb_s(work: Work, pieces: list[bytes]) -> float:
    """Of the quickest of a few rounds, as the others were held up by something else."""
    took_s = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work(pieces)
        took_s.append(time.perf_counter() - start)
    return sum(map(len, pieces)) / min(took_s) / 1e6


def median_us(work: Callable[[], object], rounds: int = 15) -> float:
    took_s = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        took_s.append(time.perf_counter() - start)
    return statistics.median(took_s) * 1e6


def worst_sequence() -> tuple[float, str]:
    """Microseconds of the slowest sequence on a full screen of styled text, whatever its parameters."""
    worst = (0.0, "")
    for key in screen_controls.SEQUENCES:
        private = "?" if key[0] == "?" else ""
        for params in ((9999,), (1,), (9999, 9999), (9999,) * 32):
            item = Csi(key[-1], params, private, key[len(private) : -1])
            full = Screen(24, 80)
            full.apply(Wire("drop").feed(b"\x1b[7m" + b"x" * 1900 + b"\x1b[4h\x1b[12;40Hy"))
            kept = full.snapshot()
            took = []
            for _ in range(15):
                full.restore(kept)
                took.append(median_us(lambda full=full, item=item: full.apply([item]), 1))
            worst = max(worst, (statistics.median(took), f"CSI {key} {params[:3]}"))
    return worst


def worst_byte() -> tuple[float, str]:
    """Microseconds of the slowest single byte in feed and apply, over a stream of everything."""
    stream = status_display()[:4000] + b"\x1b[9999b\x1b[9999L\x1b#8\x1b[2J\n" * 20 + plain_text()[:4000]
    worst = [0.0] * len(stream)
    for round_number in range(7):
        wire, screen = Wire("parity"), Screen(24, 80)
        for at in range(len(stream)):
            start = time.perf_counter()
            screen.apply(wire.feed(stream[at : at + 1]))
            took = (time.perf_counter() - start) * 1e6
            worst[at] = took if round_number == 0 else min(worst[at], took)
    at = max(range(len(stream)), key=worst.__getitem__)
    return worst[at], repr(stream[max(0, at - 8) : at + 1])


def main() -> None:
    for name, data in (("plain text", plain_text()), ("status display", status_display())):
        pieces, small = pieces_of(data, PIECE_BYTES), pieces_of(data[:200_000], 48)
        pyte_mb_s, ours_mb_s = speed_mb_s(through_pyte, pieces), speed_mb_s(through_screen, pieces)
        print(
            f"{name}: pyte {pyte_mb_s:.2f} MB/s, wire and screen {ours_mb_s:.2f}: "
            f"{ours_mb_s / pyte_mb_s:.1f} times"
        )
        print(
            f"  wire alone {speed_mb_s(through_wire, pieces):.2f}, "
            f"wire and paper {speed_mb_s(through_paper, pieces):.2f}"
        )
        pyte_mb_s = speed_mb_s(through_pyte_with_rows, small)
        ours_mb_s = speed_mb_s(through_screen_with_rows, small)
        print(
            f"  rows asked for every 48 bytes: pyte {pyte_mb_s:.2f} MB/s, "
            f"wire and screen {ours_mb_s:.2f}: {ours_mb_s / pyte_mb_s:.1f} times"
        )
    for operation, (text, measured) in TOO_SLOW.items():
        print(f"with pyte's own {operation}, {text}: {measured():.1f} times slower")
    print("worst single sequence: {:.0f} us, {}".format(*worst_sequence()))
    print("worst single byte: {:.0f} us, the last of {}".format(*worst_byte()))
    screen = Screen(24, 80)
    screen.apply(Wire("parity").feed(plain_text()[:100_000] + status_display()[:9_000]))
    kept = json.dumps(screen.snapshot()).encode()
    print(
        f"keyframe: {median_us(screen.snapshot):.0f} us to take, {len(kept)} bytes, "
        f"{len(zlib.compress(kept))} deflated; "
        f"{median_us(lambda: screen.restore(json.loads(kept))):.0f} us to restore"
    )


if __name__ == "__main__":
    main()
