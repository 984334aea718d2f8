"""The size of type by the distance it is read from, against published tables and worked figures."""

from __future__ import annotations

import pytest

from exhibit.sums.type_size import angle_arcmin, farthest_mm, height_mm, screen_mm, sign_letter_mm

DISTANCES_MM = (500, 600, 1000, 1500, 2000, 3000)
# ISO 9241-303:2011, clause 5.5, gives the angles; the millimetres, 2 d tan(a / 2), are computed separately.
BY_ANGLE = {
    16: (2.33, 2.79, 4.65, 6.98, 9.31, 13.96),
    20: (2.91, 3.49, 5.82, 8.73, 11.64, 17.45),
    22: (3.20, 3.84, 6.40, 9.60, 12.80, 19.20),
}


@pytest.mark.parametrize("angle", BY_ANGLE)
def test_the_heights_of_letters_by_iso_9241_303_are_those_of_the_table(angle: int) -> None:
    found = [round(height_mm(angle, distance), 2) for distance in DISTANCES_MM]
    assert found == list(BY_ANGLE[angle])


@pytest.mark.parametrize(
    ("x_height_mm", "distance_mm", "arcmin"), [(9, 1000, 30.94), (19, 2000, 32.66), (28, 3000, 32.09)]
)
def test_the_x_heights_of_the_smithsonian_s_figure_12_take_31_to_33_minutes(
    x_height_mm: float, distance_mm: float, arcmin: float
) -> None:
    """Smithsonian Guidelines for Accessible Exhibition Design, figure 12; the angles recomputed apart."""
    assert angle_arcmin(x_height_mm, distance_mm) == pytest.approx(arcmin, abs=0.005)


@pytest.mark.parametrize(
    ("baseline_in", "distance_in", "least_in"),
    [
        (50, 60, 0.625),
        (50, 84, 0.750),
        (50, 120, 1.125),
        (50, 252, 2.500),  # "@ 21 feet, the minimum character ht should be 2 1/2 inches", found independently
        (100, 252, 2.750),
        (130, 300, 3.500),
    ],
)
def test_the_letters_of_signs_by_the_ada_standards_are_those_of_table_703_5_5(
    baseline_in: float, distance_in: float, least_in: float
) -> None:
    found_mm = sign_letter_mm(baseline_in * 25.4, distance_in * 25.4)
    assert found_mm == pytest.approx(least_in * 25.4, abs=1e-9)


def test_the_farthest_distance_is_the_inverse_of_the_height() -> None:
    for angle in (16, 22):
        for distance in DISTANCES_MM:
            assert farthest_mm(height_mm(angle, distance), angle) == pytest.approx(distance)
            assert angle_arcmin(height_mm(angle, distance), distance) == pytest.approx(angle)


def test_a_screen_of_24_inches_16_to_9_is_531_by_299_mm() -> None:
    """Pythagoras: 609.6 mm across corners, 16 and 9 of 18.358 parts."""
    width_mm, height = screen_mm(24 * 25.4, 1920, 1080)
    assert (round(width_mm, 1), round(height, 1)) == (531.3, 298.9)


@pytest.mark.parametrize(
    "call",
    [
        lambda: angle_arcmin(0, 1),
        lambda: height_mm(16, 0),
        lambda: farthest_mm(-1, 16),
        lambda: screen_mm(0, 16, 9),
    ],
)
def test_sizes_must_be_above_0(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match="must be above 0"):
        call()
