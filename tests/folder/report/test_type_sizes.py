"""`exhibit check FOLDER` says whether people can read the page on its screens, and reach the buttons."""

from __future__ import annotations

import shutil
from pathlib import Path

import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.decisions.machine.script import Folder
from exhibit.facts.parts_and_cards import Screen
from exhibit.folder.report.screen_sizes import caption_units, diagonal_inches, wanted_caption_units
from exhibit.folder.report.type_sizes import TypeReport, length_mm, screen_of, type_report, verdict_on
from exhibit.folder.whole import read_folder

WHIMBREL = Path(__file__).resolve().parents[3] / "scripts/whimbrel"
FOLDER = read_folder(WHIMBREL)
INCH_MM = 25.4
LANDSCAPE, PORTRAIT = (1920, 1080), (1080, 1920)


def screen(
    inches: float,
    distance_m: float,
    middle_m: float = 1.0,
    *,
    pixels: tuple[int, int] = LANDSCAPE,
    touch: bool = True,
) -> Screen:
    return screen_of(inches * INCH_MM, pixels, distance_m * 1000, middle_m * 1000, touch=touch)


def report(inches: float, distance_m: float, middle_m: float = 1.0, **more: bool) -> TypeReport:
    return type_report(FOLDER, screen(inches, distance_m, middle_m, **more))


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
    """24 inches, 16 to 9: a unit of 0.27674 mm. 48 x 0.668 of them are 8.873 mm high, which is 16 minutes
    (ISO 9241-303:2011, 5.5) from 1.906 m."""
    assert "large enough" in line_of(report(24, 1.90), "the badge")
    beyond = line_of(report(24, 1.92), "the badge")
    assert "too small (16 are required, ISO 9241-303:2011, 5.5)" in beyond
    assert beyond.endswith("readable from up to 1.91 m")


def test_a_short_caption_has_22_minutes_of_arc_wherever_the_layout_has_room_for_it() -> None:
    """22 minutes at 3 m are 19.2 mm (references: ISO 9241-303), or 19.2 / 0.668 / 0.27674 = 103.9 units."""
    assert wanted_caption_units(screen(24, 3.0)) == pytest.approx(103.9, abs=0.2)
    assert wanted_caption_units(screen(24, 1.0)) == 88
    assert wanted_caption_units(screen(24, 9.0)) == 132
    assert wanted_caption_units(screen(24, 1.0, pixels=PORTRAIT)) == 98


def test_captions_need_22_minutes_of_arc_and_the_smaller_ones_are_counted() -> None:
    near, far = report(24, 1.5), report(24, 5.0)
    assert "large enough" in near.lines[1]
    assert not near.falls_short
    assert "22 are required" in far.lines[1]
    captions = sum(len(caption.words) for caption in FOLDER.captions)
    assert far.lines[1].startswith(f"all {captions} captions, above all ")
    assert near.lines[1].startswith(f"the smallest of {captions} captions, ")
    assert far.falls_short


def test_each_proposal_is_enough_for_the_type() -> None:
    result = report(24, 2.9)
    (place,) = [line for line in result.lines if line.startswith("  Use: a place for people")]
    within_m = float(place.split("within ")[1].split(" m")[0])
    (larger,) = [line for line in result.lines if line.startswith("  Or: a screen of")]
    inches = float(larger.split("screen of ")[1].split()[0].rstrip("."))
    for size, from_m in ((24.0, within_m), (inches, 2.9)):
        assert not any("too small" in one for one in report(size, from_m).lines)
        assert any("too small" in one for one in report(size, from_m * 1.5).lines)
        assert diagonal_inches(screen(size, 1)) == pytest.approx(size, abs=0.1)


def test_buttons_are_20_mm_on_every_screen_a_very_wide_one_too() -> None:
    for inches in (10, 24, 43, 86):
        assert "large enough" in line_of(report(inches, 1, 1.0), "Buttons are")
    wide = type_report(FOLDER, screen(34, 1, pixels=(3440, 1440)))
    assert "large enough" in line_of(wide, "Buttons are")


def test_a_caption_is_as_large_on_a_very_wide_screen_as_its_distance_wants() -> None:
    """34 inches, 3440 by 1440: the height decides, 333.5 mm / 1080 = 0.3088 mm a unit. 22 minutes at 3 m are
    19.2 mm, or 19.2 / 0.668 / 0.3088 = 93.1 units."""
    assert wanted_caption_units(screen(34, 3, pixels=(3440, 1440))) == pytest.approx(93.1, abs=0.2)


def test_a_large_caption_has_one_line_more() -> None:
    """22 minutes at 3.2 m want 110.8 units on 24 inches: above 96, so three lines have room; at 2.7 m two."""
    words = "We sign on. You don’t open an account here: you take a desk, and it’s TIDES."
    far, near = screen(24, 3.2), screen(24, 2.7)
    assert caption_units(far, words) == wanted_caption_units(far) == pytest.approx(110.8, abs=0.2)
    assert caption_units(near, words) <= wanted_caption_units(near) == pytest.approx(93.5, abs=0.2)


def test_buttons_are_at_the_top_if_that_is_in_reach_from_a_wheelchair_and_else_at_the_foot() -> None:
    """A screen of 24 inches is 29.9 cm high. Its upper edge is 1.22 m high (2010 ADA Standards, 308.2.1) if
    its middle is at 1.07 m. Buttons at its foot reach up to 1.22 m if its middle is at 1.349 m."""
    assert "from 1.20 to 1.22 m high, within 0.38 to 1.22 m" in line_of(
        report(24, 1, 1.07), "Its buttons are"
    )
    assert "from 0.93 to 0.95 m high, within" in line_of(report(24, 1, 1.08), "Its buttons are")
    assert "m high, within" in line_of(report(24, 1, 1.34), "Its buttons are")
    result = report(24, 1, 1.36)
    assert "m high, not within 0.38 to 1.22 m" in line_of(result, "Its buttons are")
    assert any("Use: a lower edge from 0.38 to 1.19 m above the floor" in line for line in result.lines)
    assert result.short == ["its buttons are out of reach from a wheelchair"]


def test_the_proposed_lower_edges_are_in_reach_and_the_next_are_not() -> None:
    for pixels in (LANDSCAPE, PORTRAIT):
        kiosk = screen(43, 0.6, 2.0, pixels=pixels)
        (proposal,) = [one for one in type_report(FOLDER, kiosk).lines if "Use: a lower edge" in one]
        least_m, most_m = (float(word) for word in proposal.split() if word[0].isdigit())
        for edge_m, is_in_reach in (
            (least_m, True),
            (most_m, True),
            # Lower still, the buttons of a landscape screen are at its top.
            (least_m - 0.02, pixels == LANDSCAPE),
            (most_m + 0.02, False),
        ):
            moved = msgspec.structs.replace(kiosk, lower_edge_cm=edge_m * 100)
            assert bool(type_report(FOLDER, moved).short) != is_in_reach


@pytest.mark.parametrize(
    ("middle_m", "said"),
    [
        (1.21, "A lower edge at 1.22 m would be better."),
        (1.22, "best"),
        (1.67, "best"),
        (1.69, "A lower edge at"),
    ],
)
def test_a_screen_that_nobody_touches_has_a_recommended_height_and_needs_no_reach(
    middle_m: float, said: str
) -> None:
    """1220 to 1675 mm, with 1370 the best: Smithsonian Guidelines for Accessible Exhibition Design."""
    result = report(24, 1, middle_m, touch=False)
    assert said in line_of(result, "Nobody touches it.")
    assert ("would be better" in line_of(result, "Nobody touches it.")) == ("A lower edge" in said)
    assert not any("wheelchair" in line for line in result.lines)
    assert not result.falls_short


def test_no_two_sentences_about_height_contradict_each_other() -> None:
    """Reach asks for a low screen and wall texts for a high one, so only one of them is said of a screen."""
    for middle_m in (0.5, 0.9, 1.1, 1.3, 1.5):
        for touch in (True, False):
            text = " ".join(report(24, 2.5, middle_m, touch=touch).lines)
            assert ("wheelchair" in text) == touch
            assert ("Smithsonian" in text) != touch


def test_the_longer_a_caption_the_smaller_it_is_shown() -> None:
    sizes = [caption_units(screen(24, 1), "word " * words) for words in (5, 20, 60, 150)]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] > sizes[-1]


def test_the_command_prints_it_all_and_exits_with_1_if_something_falls_short() -> None:
    run = CliRunner().invoke(
        main, ["check", f"{WHIMBREL}", "--distance", "2.5m", "--screen", "24in", "--height", "1.5m"]
    )
    assert run.exit_code == 1
    said = " ".join(run.output.split())  # however it was broken into lines
    assert (
        "A screen: landscape, 53.1 by 29.9 cm (24 inches), its lower edge 1.35 m high, read from 2.50 m."
        in said
    )
    for kind in ("captions", "the badge", "tables and cards", "notes", "the console"):
        assert kind in said
    assert '[screens.hall] width = "53.1 cm" height = "29.9 cm" distance = "250 cm"' in said
    # That the folder is in order isn't the last word if the screen isn't.
    assert said.index("is in order") < said.index("On this screen, though, ")
    assert said.endswith(
        "the badge is too small and its buttons are out of reach from a wheelchair: "
        "what would be enough stands above."
    )
    fits = ["check", f"{WHIMBREL}", "--distance", "150cm", "--screen", "24in", "--height", "1m"]
    assert CliRunner().invoke(main, fits).exit_code == 0


def test_what_it_says_to_write_into_screens_toml_is_the_screen_that_it_judged(tmp_path: Path) -> None:
    run = CliRunner().invoke(
        main,
        ["check", f"{WHIMBREL}", "--distance", "2.5m", "--screen", "43in", "--height", "1.3m", "--no-touch"],
    )
    shutil.copytree(WHIMBREL, tmp_path / "copy")
    written = run.output[run.output.index("    [screens.hall]") :].split("\n\n")[0]
    (tmp_path / "copy/screens.toml").write_text("\n".join(line.strip() for line in written.splitlines()))
    again = CliRunner().invoke(main, ["check", f"{tmp_path / 'copy'}"])
    assert (run.exit_code, again.exit_code) == (0, 0)
    judged, named = (
        [line for line in one.output.splitlines() if "capitals of" in line] for one in (run, again)
    )
    assert judged
    assert judged == named


def test_without_figures_the_folder_s_own_screens_are_judged(tmp_path: Path) -> None:
    said = CliRunner().invoke(main, ["check", f"{WHIMBREL}"])
    assert said.exit_code == 0
    assert "The screen hall: landscape, 95.2 by 53.5 cm" in said.output
    assert "The screen kiosk: portrait, 29.9 by 53.1 cm" in said.output
    shutil.copytree(WHIMBREL, tmp_path / "copy")
    file = tmp_path / "copy/screens.toml"
    file.write_text(file.read_text("utf-8").replace('lower_edge = "65 cm"', 'lower_edge = "130 cm"'), "utf-8")
    high = CliRunner().invoke(main, ["check", f"{tmp_path / 'copy'}"])
    assert high.exit_code == 1
    assert "On the screen kiosk, though, its buttons are out of reach" in " ".join(high.output.split())
    file.unlink()
    without = CliRunner().invoke(main, ["check", f"{tmp_path / 'copy'}"])
    assert without.exit_code == 0
    assert "The screen" not in without.output


def test_what_falls_short_is_one_sentence() -> None:
    short = TypeReport([], ["the badge is too small", "notes are too small", "its buttons are out of reach"])
    assert verdict_on(short, "hall") == (
        "On the screen hall, though, the badge is too small, notes are too small and its buttons are out of "
        "reach: what would be enough stands above."
    )


def test_a_folder_without_captions_has_a_report_too() -> None:
    bare: Folder = msgspec.structs.replace(FOLDER, captions=())
    assert not type_report(bare, screen(24, 1.5)).falls_short


def test_the_three_go_together_and_each_says_what_to_write() -> None:
    alone = CliRunner().invoke(main, ["check", f"{WHIMBREL}", "--distance", "2.5m"])
    assert alone.exit_code == 2
    assert "--distance, --screen and --height go together." in alone.output
    wrong = CliRunner().invoke(main, ["check", f"{WHIMBREL}", "--distance", "2.5"])
    assert "write a number with mm, cm, m, in or ft" in wrong.output
    pixels = CliRunner().invoke(main, ["check", f"{WHIMBREL}", "--pixels", "large"])
    assert "write it as 1920x1080" in pixels.output
