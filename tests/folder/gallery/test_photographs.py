"""A museum's photograph is decoded and encoded again: only the colours of its points are left of the file."""

import io
import random
import struct
import zlib

import pytest
from PIL import Image, PngImagePlugin

from exhibit.folder.gallery import photographs
from exhibit.folder.gallery.photographs import LONGEST_SIDE_PX, MOST_BYTES, clean_photograph
from exhibit.folder.reading.mistakes import Mistake

pytestmark = pytest.mark.pure

SECRET = b"51 degrees north, taken by Somebody"
GPS, LATITUDE, ORIENTATION, ARTIST = 0x8825, 0x0002, 0x0112, 0x013B
UPRIGHT_AFTER_A_TURN_TO_THE_RIGHT = 6


def photograph(kind: str = "JPEG", size: tuple[int, int] = (200, 300), **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (200, 30, 40)).save(out, kind, **more)
    return out.getvalue()


def noise(size: tuple[int, int]) -> bytes:
    """A picture that no encoder makes small."""
    out = io.BytesIO()
    Image.frombytes("RGB", size, random.Random(7).randbytes(3 * size[0] * size[1])).save(out, "PNG")
    return out.getvalue()


def refused(name: str, content: bytes) -> Mistake:
    found = clean_photograph(f"pictures/{name}", content)
    assert isinstance(found, Mistake)
    return found


def cleaned(name: str, content: bytes) -> Image.Image:
    found = clean_photograph(f"pictures/{name}", content)
    assert not isinstance(found, Mistake), found.text()
    assert len(found.jpeg) <= MOST_BYTES
    opened = Image.open(io.BytesIO(found.jpeg))
    assert opened.size == (found.width, found.height)
    return opened


def with_secrets() -> bytes:
    exif = Image.Exif()
    exif[ARTIST] = SECRET.decode()
    exif.get_ifd(GPS)[LATITUDE] = (51.0, 28.0, 38.0)
    return photograph(exif=exif, comment=SECRET, xmp=b"<x:xmpmeta>" + SECRET, icc_profile=SECRET)


def test_place_time_author_and_all_else_that_is_no_picture_are_gone():
    content = with_secrets()
    assert content.count(SECRET) == 4
    assert Image.open(io.BytesIO(content)).getexif().get_ifd(GPS)
    found = cleaned("front.jpg", content)
    raw = clean_photograph("pictures/front.jpg", content).jpeg
    assert SECRET not in raw
    assert b"Exif" not in raw
    assert not dict(found.getexif())
    assert set(found.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_what_is_appended_to_the_file_is_gone():
    content = photograph() + b"<script>alert(1)</script>" + SECRET
    raw = clean_photograph("pictures/front.jpg", content).jpeg
    assert SECRET not in raw
    assert b"script" not in raw


def test_texts_in_a_png_are_gone():
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Author", SECRET.decode())
    raw = clean_photograph("pictures/front.png", photograph("PNG", pnginfo=texts)).jpeg
    assert SECRET not in raw


def test_a_camera_that_was_held_sideways_gives_an_upright_picture():
    exif = Image.Exif()
    exif[ORIENTATION] = UPRIGHT_AFTER_A_TURN_TO_THE_RIGHT
    assert cleaned("front.jpg", photograph(size=(300, 200), exif=exif)).size == (200, 300)


@pytest.mark.parametrize(
    ("name", "kind"), [("a.jpg", "JPEG"), ("a.jpeg", "JPEG"), ("a.png", "PNG"), ("a.webp", "WEBP")]
)
def test_each_kind_of_photograph_becomes_the_same_kind(name, kind):
    found = cleaned(name, photograph(kind))
    assert (found.format, found.mode) == ("JPEG", "RGB")
    assert all(abs(a - b) < 8 for a, b in zip(found.getpixel((50, 50)), (200, 30, 40), strict=True))


def test_what_is_transparent_becomes_white():
    out = io.BytesIO()
    Image.new("RGBA", (200, 200), (0, 0, 0, 0)).save(out, "PNG")
    assert min(cleaned("a.png", out.getvalue()).getpixel((5, 5))) > 250


def test_a_large_photograph_becomes_small_and_keeps_its_shape():
    assert cleaned("a.jpg", photograph(size=(3000, 4000))).size == (750, LONGEST_SIDE_PX)


def test_even_a_photograph_full_of_detail_keeps_the_limit_of_bytes():
    found = cleaned("a.png", noise((1200, 1600)))
    assert found.size[0] / found.size[1] == pytest.approx(0.75, abs=0.01)


def png(width: int, height: int, data: bytes) -> bytes:
    """A PNG that claims to have this size, with this (compressed) data."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.jpg", photograph()[:400], "is damaged"),
        ("a.jpg", photograph()[:20], "not a photograph of the kind JPEG"),
        ("a.png", photograph("PNG")[:-40], "is damaged"),
        ("a.webp", photograph("WEBP")[:30], "is damaged"),
        ("a.jpg", b"", "not a photograph of the kind JPEG"),
        ("a.jpg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a photograph of the kind JPEG"),
        ("a.jpg", photograph("PNG"), "not a photograph of the kind JPEG"),
        ("a.png", photograph("GIF"), "not a photograph of the kind PNG"),
        ("a.png", png(9000, 9000, zlib.compress(bytes(1000))), "81 million pixels"),
        ("a.png", png(60_000, 60_000, zlib.compress(bytes(1000))), "more pixels than"),
        ("a.png", png(2_000_000, 2_000_000, b""), "more pixels than"),
        ("a.png", png(0, 10, b""), "not a photograph of the kind PNG"),
        ("a.jpg", photograph(size=(100, 400)), "no part that can be recognised"),
        ("a.jpg", photograph(size=(130, 4000)), "no part that can be recognised"),
        ("a.jpg", bytes(photographs.LARGEST_FILE_BYTES + 1), "more than 20 million bytes"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_file_that_is_damaged_or_hostile_is_refused_in_a_sentence(name, content, said):
    mistake = refused(name, content)
    assert said in mistake.what
    assert mistake.write_instead


def test_a_picture_of_millions_of_points_in_few_bytes_is_refused_before_it_is_decoded(monkeypatch):
    def decode(_: object) -> None:
        raise AssertionError("it was decoded")

    monkeypatch.setattr(photographs, "_upright", decode)
    bomb = png(20_000, 8000, zlib.compress(bytes(20_000 * 8000 * 3), 9))
    assert len(bomb) < 600_000
    assert "million pixels" in refused("a.png", bomb).what
