"""`exhibit check FOLDER --distance --screen --height` says whether people can read the page and reach it."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.decisions.machine.script import Folder
from exhibit.folder.report.screen_sizes import Screen, caption_px
from exhibit.folder.report.type_sizes import TypeReport, length_mm, type_report
from exhibit.folder.whole import read_folder

WHIMBREL = Path(__file__).resolve().parents[3] / "scripts/whimbrel"
FOLDER = read_folder(WHIMBREL)
INCH_MM = 25.4


def screen(inches: float, across: int = 1920, down: int = 1080) -> Screen:
    return Screen(inches * INCH_MM, across, down)


def report(inches: float, distance_m: float, middle_m: float = 1.0, folder: Folder = FOLDER) -> TypeReport:
    return type_report(folder, screen(inches), distance_m * 1000, middle_m * 1000)


def line_of(found_in: TypeReport, begins: str) -> str:
    (found,) = [line for line in found_in.lines if line.startswith(begins)]
    return found


@pytest.mark.parametrize(
    ("text", "mm"), [("2.5m", 2500), ("250 cm", 2500), ("24in", 609.6), ("1200mm", 1200), ("8ft", 2438.4)]
)
def test_a_length_is_a_number_with_its_unit(text: str, mm: float) -> None:
    assert length_mm(text) == pytest.approx(mm)


@pytest.mark.parametrize("text", ["2.5", "2,5m", "m", "0m", "-1m", "2.5 miles", "", "1e3m"])
def test_a_text_that_is_not_a_length_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(ValueError, match="is not a length: write a number with mm, cm, m, in or ft"):
        length_mm(text)


def test_the_badge_needs_16_minutes_of_arc() -> None:
    """24 inches, 1920 x 1080: a pixel of 0.27674 mm. 2.441 x 16 x 0.668 of them are 7.220 mm high, which is
    16 minutes (ISO 9241-303:2011, 5.5) from 1.551 m."""
    assert "large enough" in line_of(report(24, 1.54), "the badge")
    beyond = line_of(report(24, 1.57), "the badge")
    assert "too small (16 are required, ISO 9241-303:2011, 5.5)" in beyond
    assert beyond.endswith("readable from up to 1.55 m")


def test_captions_need_22_minutes_of_arc_and_the_smaller_ones_are_counted() -> None:
    near, far = report(24, 1.5), report(24, 4.0)
    assert "large enough" in near.lines[1]
    assert not near.falls_short
    assert "22 are required" in far.lines[1]
    captions = sum(len(caption.words) for caption in FOLDER.captions)
    assert far.lines[1].startswith(f"all {captions} captions, above all ")
    assert near.lines[1].startswith(f"the smallest of {captions} captions, ")
    assert far.falls_short


def test_each_proposal_is_enough() -> None:
    result = report(24, 2.5)
    (place,) = [line for line in result.lines if line.startswith("  Use: a place for people")]
    within_m = float(place.split("within ")[1].split(" m")[0])
    (larger,) = [line for line in result.lines if line.startswith("  Or: a screen of")]
    inches = float(larger.split("screen of ")[1].split()[0])

    def zoom_of(line: str) -> float:
        return float(line.split("zoom at ")[1].rstrip("%.")) / 100 if "zoom" in line else 1.0

    for size, from_m, line in ((24.0, within_m, place), (inches, 2.5, larger)):
        set_so = type_report(FOLDER, screen(size).zoomed(zoom_of(line)), from_m * 1000, 900)
        assert not any("too small" in one for one in set_so.lines)
        short = type_report(FOLDER, screen(size).zoomed(zoom_of(line)), from_m * 1500, 900)
        assert any("too small" in one for one in short.lines)


def test_only_the_zoom_is_proposed_if_it_is_enough() -> None:
    result = report(43, 2.9)
    (line,) = [line for line in result.lines if line.startswith("  Use: the browser's zoom")]
    zoom = float(line.split("at ")[1].rstrip("%.")) / 100
    assert 1 < zoom <= 1920 / 1120
    assert not any(
        "too small" in one for one in type_report(FOLDER, screen(43).zoomed(zoom), 2900, 1000).lines
    )


def test_buttons_need_20_mm() -> None:
    """0.038 of the width is 20 mm if the screen is 526.3 mm wide, with a diagonal of 23.78 inches."""
    assert "large enough" in line_of(report(23.8, 1), "Buttons are")
    small = report(23.5, 1)
    assert "20 mm are required" in line_of(small, "Buttons are")
    assert "  Use: a screen of 23.8 inches or more." in small.lines
    assert small.falls_short


def test_a_screen_out_of_reach_from_a_wheelchair_is_reported_with_a_height_within_reach() -> None:
    """The top button is half of 298.9 mm, less half a button, above the middle: 1220 mm (ADA 308.2.1)."""
    assert "high, within 0.38 to 1.22 m" in line_of(report(24, 1, 1.08), "Its buttons are")
    result = report(24, 1, 1.10)
    assert "not within 0.38 to 1.22 m" in line_of(result, "Its buttons are")
    assert "  Use: a screen with its middle at 1.08 m, tilted back; or people's own phones." in result.lines
    assert result.falls_short


@pytest.mark.parametrize(
    ("middle_m", "said"),
    [(1.21, "not within"), (1.22, "is within"), (1.67, "is within"), (1.69, "not within")],
)
def test_the_middle_must_be_within_the_smithsonian_s_1220_to_1675_mm(middle_m: float, said: str) -> None:
    assert said in line_of(report(24, 1, middle_m), "Its middle")


def test_a_screen_with_too_few_pixels_gets_another_page_and_the_report_says_so() -> None:
    result = type_report(FOLDER, screen(10, 1024, 768), 1000, 1000)
    assert result.falls_short
    assert "page for tablets and phones" in result.lines[1]


def test_the_longer_a_caption_the_smaller_it_is_shown() -> None:
    sizes = [caption_px(screen(24), "word " * words) for words in (5, 25, 60, 150)]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] > sizes[-1]


def test_the_command_prints_it_all_and_exits_with_1_if_something_falls_short() -> None:
    run = CliRunner().invoke(
        main, ["check", f"{WHIMBREL}", "--distance", "2.5m", "--screen", "24in", "--height", "1.2m"]
    )
    assert run.exit_code == 1
    said = " ".join(run.output.split())  # however it was broken into lines
    assert "A screen of 24 inches with 1920 by 1080 pixels, its middle 1.20 m high, read from 2.50 m." in said
    for kind in ("captions", "the badge", "tables and cards", "sources and notes", "the console"):
        assert kind in said
    fits = ["check", f"{WHIMBREL}", "--distance", "150cm", "--screen", "24in", "--height", "1m"]
    assert CliRunner().invoke(main, fits).exit_code == 0


def test_the_three_go_together_and_each_says_what_to_write() -> None:
    alone = CliRunner().invoke(main, ["check", f"{WHIMBREL}", "--distance", "2.5m"])
    assert alone.exit_code == 2
    assert "--distance, --screen and --height go together." in alone.output
    wrong = CliRunner().invoke(main, ["check", f"{WHIMBREL}", "--distance", "2.5"])
    assert "write a number with mm, cm, m, in or ft" in wrong.output
    pixels = CliRunner().invoke(main, ["check", f"{WHIMBREL}", "--pixels", "large"])
    assert "write it as 1920x1080" in pixels.output


def test_a_place_in_a_caption_counts_as_what_the_machine_fills_in() -> None:
    """A place counts as six digits, although its own text is longer, or in "{n}" shorter."""

    def first_line(words: str) -> str:
        caption = msgspec.structs.replace(FOLDER.captions[0], words={"en": words})
        return report(24, 1.5, folder=msgspec.structs.replace(FOLDER, captions=(caption,))).lines[1]

    assert first_line("{transfers-so-far} " * 25) == first_line("{n} " * 25) == first_line("000000 " * 25)
    assert first_line("000000 " * 25) != first_line("0 " * 25)
