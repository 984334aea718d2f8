"""Random streams of console output: text and every sequence that a screen knows, and some it doesn't."""

import random
from collections.abc import Callable

Op = bytes
"""One piece of a stream: a run of text, a control code or a sequence. Streams are lists of them."""

LETTERS = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-.,/~_` "


def text(pick: random.Random) -> Op:
    length = pick.choice((1, 1, 2, 3, 5, 8, 13, 40, 90))
    return bytes(pick.choices(LETTERS, k=length))


def _csi(final: str, *, most: int = 1, private: str = "", values: tuple[int, ...] = ()) -> Callable[..., Op]:
    def make(pick: random.Random) -> Op:
        count = pick.randint(0, most)
        numbers = [
            str(pick.choice(values or (0, 1, 1, 2, 3, 5, 9, 14, 24, 80, 200, 9999))) for _ in range(count)
        ]
        return f"\x1b[{private}{';'.join(numbers)}{final}".encode()

    return make


def _one_of(*ops: bytes) -> Callable[..., Op]:
    return lambda pick: pick.choice(ops)


def _place(pick: random.Random) -> Op:
    return b"\x1b[%d;%d%c" % (pick.randint(0, 26), pick.choice((0, 1, 5, 6, 7, 13, 14, 15, 79, 80, 81)), 0x48)


def _margins(pick: random.Random) -> Op:
    return b"\x1b[%d;%dr" % (pick.randint(0, 8), pick.choice((0, 4, 6, 9, 12, 20, 24, 30)))


CORE = [text, text, text, _one_of(b"\r\n"), _one_of(b"\b"), _one_of(b"\r"), _one_of(b"\n"), _place]
CORE += [_csi("J", values=(0, 1, 2)), _csi("K", values=(0, 1, 2))]
CORE += [_csi("m", most=3, values=(0, 1, 4, 5, 7, 8, 21, 22, 24, 25, 27, 28, 31, 42, 97, 39, 49))]
MOVE = [_csi(final) for final in "ABCDEFG`adeI"] + [_csi("f", most=2), _one_of(b"\t", b"\v", b"\f")]
EDIT = [_csi(final) for final in "@PLMXSTb"] + [_csi("Z"), _one_of(b"\x1bE", b"\x1bD", b"\x1bM")]
TABS = [_csi("g", values=(0, 3)), _one_of(b"\x1bH", b"\t", b"\x1b[Z", b"\x1b[2I")]
REGION = [_margins, _csi("r"), _one_of(b"\x1b[?6h", b"\x1b[?6l", b"\n\n\n", b"\x1bM\x1bM")]
MODES = [_one_of(b"\x1b[4h", b"\x1b[4l", b"\x1b[?7h", b"\x1b[?7l", b"\x1b[20h", b"\x1b[20l")]
MODES += [_one_of(b"\x1b7", b"\x1b8", b"\x1b[s", b"\x1b[u", b"\x1b[?1048h", b"\x1b[?1048l")]
MODES += [_one_of(b"\x1b[!p", b"\x1bc", b"\x1b#8")]
SETS = [_one_of(b"\x1b(0", b"\x1b(B", b"\x1b)0", b"\x1b)B", b"\x0e", b"\x0f", b"\x1b(A", b"\x1b)Z")]
OTHER = [_one_of(b"\x1b[?1049h", b"\x1b[?1049l", b"\x1b[?47h", b"\x1b[?47l", b"\x1b[?1047h", b"\x1b[?1047l")]
ODD = [
    _one_of(
        b"\x1b[2\x18",
        b"\x1b[1;\x1a",
        b"\x1b[3\rC",
        b"\x1b[\n5\bC",
        b"\x1b\x1b[C",
        b"\x1b[1\x1b[B",
        b"\x1b[?5W",
        b"\x1b[>1;2c",
        b"\x1b[1<A",
        b"\x1b[ 3A",
        b"\x1b[3!A",
        b"\x1b[5 q",
        b"\x1b]0;a title\x07",
        b"\x1b]2;another\x1b\\",
        b"\x1bP1$qm\x1b\\",
        b"\x1b_words\x1b\\",
        b"\x1b^words\x18",
        b"\x1bXwords\x1b[C",
        b"\x1b]0;cut\x1a",
        b"\x00\x00",
        b"\x7f",
        b"\x07",
        b"\x1b[c",
        b"\x1b[6n",
        b"\x1b[38;5;1m",
        b"\x1b[48;2;1;4;7m",
        b"\x1b[4:3m",
        b"\x1b[1;2;3;4;5;6;7;8;9;10;11;12;13;14;15;16;17;18;19;20;21;22;23;24;25;26;27;28;29;30;31;32;7m",
        b"\x1b[000000000000000000000005C",
        b"\x1b[99999999999B",
        b"\x1b=",
        b"\x1b>",
        b"\x1b%G",
        b"\x1b(%5",
    )
]

KINDS: dict[str, list[Callable[..., Op]]] = {
    "core": CORE,
    "move": CORE + MOVE,
    "edit": CORE + EDIT,
    "tabs": CORE + MOVE + TABS,
    "region": CORE + MOVE + EDIT + REGION,
    "modes": CORE + EDIT + 4 * MODES,
    "sets": CORE + MODES + 8 * SETS,
    "other screen": CORE + EDIT + OTHER,
    "odd": CORE + MOVE + ODD,
    "all": CORE + MOVE + EDIT + TABS + REGION + MODES + OTHER + ODD,
}


def stream(pick: random.Random, kind: str) -> list[Op]:
    """A stream of 10 to 120 pieces of that kind."""
    return [pick.choice(KINDS[kind])(pick) for _ in range(pick.randint(10, 120))]
