"""The risk of a command under noise, compared with trying every path, and with simulation."""

import random
from collections import Counter

import msgspec
import pytest
from scipy import stats

from exhibit.sums.console_model import Console
from exhibit.sums.line_noise import Noise, way_with
from exhibit.sums.noise_risk import Risk, console_of, noise_risk
from tests.decisions.heron import machine
from tests.sampling import number_of, sample
from tests.sums.noisy_line import BEFORE_AGAIN, SHOW_AGAIN, Typing, by_dice, every_way

CONSOLE = Console(upper=True, ends_line=frozenset({13}), flow_control=True)
LOOKING = Console(
    upper=True, ends_line=frozenset({13}), flow_control=True, show_again=SHOW_AGAIN, again_shows=BEFORE_AGAIN
)
NONE = Noise()
OUTCOMES = ("right", "nothing", "wrong", "bare", "unseen")


def as_dict(risk: Risk) -> dict[str, float]:
    """Return the chances by the names that `Typing` gives to outcomes, without those that are 0."""
    chances = {name: getattr(risk, name) for name in OUTCOMES} | risk.beginnings
    return {name: chance for name, chance in chances.items() if chance > 1e-13}


def enumerated(command, options_in, options_out, **settings):
    """Return the chances of all outcomes, by trying every path; the options are those of one character."""

    def run(choose):
        return Typing(
            command,
            lambda character: choose(options_in(character)),
            lambda character: choose(options_out(character)),
            **settings,
        ).outcome

    return {name: chance for name, chance in every_way(run).items() if chance > 1e-13}


def some(chance, *damages):
    """Return one of some equally likely damages, with `chance` altogether, or the unchanged character."""

    def options(character):
        damaged = [(damage(character), chance / len(damages)) for damage in damages]
        return [([character], 1 - chance), *damaged]

    return options


def lose(character):
    return []


def double(character):
    return [character, character]


def flip(bit):
    return lambda character: [character ^ (1 << bit)]


def become(other):
    return lambda character: [other]


# -- compared with trying every path -----------------------------------------------------------------

M_OR_RETURN = 6
"""The bit between M and RETURN (ISO/IEC 646: 4D and 0D)."""


@pytest.mark.parametrize("command", ["A", "AB", "AA", "ABB"])
@pytest.mark.parametrize("attempts", [1, 2])
def test_loss_agrees_with_trying_every_path(command, attempts):
    ways = enumerated(command, some(0.1, lose), some(0.2, lose), attempts=attempts)
    risk = noise_risk(command, CONSOLE, Noise(lost=0.1), Noise(lost=0.2), attempts=attempts)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.wrong == risk.beginning == risk.bare == risk.unseen == 0


@pytest.mark.parametrize("command", ["A", "AB", "AA", "AAB"])
def test_doubling_agrees_with_trying_every_path(command):
    ways = enumerated(command, some(0.1, double), some(0.2, double), attempts=1)
    risk = noise_risk(command, CONSOLE, Noise(doubled=0.1), Noise(doubled=0.2), attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.wrong == risk.beginning == 0
    assert risk.bare > 0


@pytest.mark.parametrize("command", ["A", "AB", "AA", "BAA"])
def test_doubling_and_loss_together_can_hide_each_other(command):
    damages = some(0.3, double, lose)
    if len(command) > 2:
        damages = some(0.3, double)
    ways = enumerated(command, damages, some(0.3, double, lose), attempts=1)
    inward = Noise(doubled=0.3) if len(command) > 2 else Noise(doubled=0.15, lost=0.15)
    risk = noise_risk(command, CONSOLE, inward, Noise(doubled=0.15, lost=0.15), attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.wrong > 0


@pytest.mark.parametrize("command", ["M", "AM", "MA", "MM"])
@pytest.mark.parametrize("attempts", [1, 3])
def test_a_bit_that_turns_m_into_return_agrees_with_trying_every_path(command, attempts):
    damage = some(0.2, flip(M_OR_RETURN))
    ways = enumerated(command, damage, damage, attempts=attempts)
    noise = Noise(flipped=0.2, bits=(M_OR_RETURN,))
    assert as_dict(noise_risk(command, CONSOLE, noise, noise, attempts=attempts)) == pytest.approx(
        ways, abs=1e-12
    )


@pytest.mark.parametrize(("command", "upper"), [("AB", True), ("AB", False), ("CA", True)])
def test_two_flips_that_hide_each_other_agree_with_trying_every_path(command, upper):
    # Bit 0 turns A into @ and B into C; bit 5 makes small letters, which the machine may fold back.
    damage = some(0.2, flip(0), flip(5))
    ways = enumerated(command, damage, damage, upper=upper, attempts=1)
    noise = Noise(flipped=0.2, bits=(0, 5))
    console = Console(upper=upper, ends_line=frozenset({13}), flow_control=True)
    risk = noise_risk(command, console, noise, noise, attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.wrong > 0


@pytest.mark.parametrize("by", [(13, 65), (13, 24), (19, 66), (0, 66), (1, 13, 67)])
def test_characters_that_become_any_of_a_few_agree_with_trying_every_path(by):
    damage = some(0.3, *(become(other) for other in by))
    ways = enumerated("AB", damage, some(0.3, become(65), become(66)), attempts=1)
    outward = Noise(replaced=0.3, by=(65, 66))
    risk = noise_risk("AB", CONSOLE, Noise(replaced=0.3, by=by), outward, attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)


@pytest.mark.parametrize("by", [(127, 60, 65), (8, 13)])
def test_a_rubout_agrees_with_trying_every_path_except_for_what_it_corrects(by):
    damage = some(0.3, *(become(other) for other in by))
    ways = enumerated("AB", damage, some(0.3, become(65), become(66)), attempts=1)
    outward = Noise(replaced=0.3, by=(65, 66))
    found = as_dict(noise_risk("AB", CONSOLE, Noise(replaced=0.3, by=by), outward, attempts=1))
    for name in ("right", "nothing", "A"):
        assert found[name] == pytest.approx(ways[name], abs=1e-12)
    # A wrong character that is rubbed out again does no harm, but the calculation still counts it as wrong.
    mended = found["wrong"] - ways["wrong"]
    assert 0 < mended < 0.05 * found["wrong"]
    assert found["bare"] == pytest.approx(ways["bare"] - mended, abs=1e-12)


@pytest.mark.parametrize("by", [(10, 66), (19, 65), (27, 65), (0, 127)])
def test_echoes_that_become_any_of_a_few_agree_with_trying_every_path(by):
    inward = some(0.3, become(65), become(13))
    ways = enumerated("AB", inward, some(0.3, *(become(other) for other in by)), attempts=1)
    risk = noise_risk("AB", CONSOLE, Noise(replaced=0.3, by=(65, 13)), Noise(replaced=0.3, by=by), attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)


def test_an_echo_that_becomes_a_filler_can_hide_that_a_character_came_twice():
    ways = enumerated("AB", some(0.2, double), some(0.2, become(0)), attempts=1)
    risk = noise_risk("AB", CONSOLE, Noise(doubled=0.2), Noise(replaced=0.2, by=(0,)), attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.wrong > 0.01


def test_a_machine_that_was_sent_xoff_shows_no_prompt_at_which_to_type_again():
    ways = enumerated("A", some(0.3, become(19), become(66)), some(0.0), attempts=3)
    inward = Noise(replaced=0.3, by=(19, 66))
    assert as_dict(noise_risk("A", CONSOLE, inward, NONE)) == pytest.approx(ways, abs=1e-12)


@pytest.mark.parametrize("damage", [lose, double, flip(M_OR_RETURN), become(66)])
def test_without_an_echo_every_fault_on_the_way_there_counts(damage):
    ways = enumerated("AMB", some(0.2, damage), some(0.2, lose), echo=False)
    by_damage = {lose: Noise(lost=0.2), double: Noise(doubled=0.2)}
    inward = by_damage.get(damage) or (
        Noise(replaced=0.2, by=(66,)) if damage(65) == [66] else Noise(flipped=0.2, bits=(M_OR_RETURN,))
    )
    console = Console(upper=True, ends_line=frozenset({13}), flow_control=True, echo=False)
    risk = noise_risk("AMB", console, inward, Noise(lost=0.2))
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.wrong + risk.beginning > 0.1


def test_a_line_feed_ends_the_line_only_on_some_machines():
    console = Console(upper=True, flow_control=True)
    noise = Noise(flipped=0.2, bits=(6,))  # J and line feed, M and RETURN (ISO/IEC 646)
    damage = some(0.2, flip(6))
    ways = enumerated("AJ", damage, damage, ends_line=frozenset({10, 13}), attempts=1)
    risk = noise_risk("AJ", console, noise, noise, attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)
    assert risk.beginnings["A"] == pytest.approx(ways["A"])
    assert noise_risk("AJ", CONSOLE, noise, noise, attempts=1).beginning == 0


# -- compared with simulation ------------------------------------------------------------------------

COMMAND = "RUN M-3 MM"
MODELS = {
    "loss": {"lost": 0.05},
    "doubling": {"doubled": 0.05},
    "flips": {"flipped": 0.06},
    "any byte": {"replaced": 0.15},
    "printable": {"garbled": 0.10},
    "all at once": {"lost": 0.01, "doubled": 0.02, "flipped": 0.02, "replaced": 0.02, "garbled": 0.02},
}


WINDOWS = {1: False, 4: True}
"""How many characters can be on their way, and whether the line is shown again before RETURN."""
THROWN = sample([(model, window) for model in MODELS for window in WINDOWS], 0, lambda case: case)


@pytest.mark.trial(name="noise-risk")
@pytest.mark.parametrize(("model", "window"), THROWN)
def test_the_calculation_agrees_with_simulation(model, window):
    show_again = WINDOWS[window]
    rates = MODELS[model]
    dice = random.Random(f"noise, {model}")
    throws = number_of(whole=4000, daily=1000)

    def once():
        return Typing(
            COMMAND,
            by_dice(dice, **rates),
            by_dice(dice, **rates),
            prompt_recognised=lambda: dice.random() < 0.9,
            window=window,
            show_again=show_again,
        ).outcome

    counted = Counter(once() for _ in range(throws))
    noise = Noise(**rates)
    console = LOOKING if show_again else CONSOLE
    expected = as_dict(noise_risk(COMMAND, console, noise, noise, prompt_recognised=0.9, window=window))
    assert set(counted) <= set(expected)
    for name, chance in expected.items():
        low, high = stats.binom.interval(0.9999, throws, chance)
        assert low <= counted[name] <= high, name


# -- properties --------------------------------------------------------------------------------------


def test_the_leading_terms_are_those_of_the_docstring():
    # One bit turns M into RETURN. A differs by one bit from six printable characters, of which the machine
    # folds one (a) back: @ C E I Q remain, and 01 is a control code (ISO/IEC 646).
    p = 1e-4
    noise = Noise(flipped=p)
    assert noise_risk("AM", CONSOLE, noise, noise).beginning == pytest.approx(p / 7, rel=0.01)
    assert noise_risk("A", CONSOLE, noise, noise).wrong == pytest.approx(5 * (p / 7) ** 2, rel=0.01)


def test_a_larger_window_hides_more():
    noise = Noise(flipped=0.01)
    by_window = [
        noise_risk("RUN MIRRORS", CONSOLE, noise, noise, window=window).wrong for window in (1, 2, 4)
    ]
    assert by_window == sorted(by_window)
    assert by_window[0] < by_window[2]


def test_with_a_window_as_long_as_the_command_all_of_it_is_sent_before_the_first_echo_is_read():
    # AA: one character is lost, the echo of the other comes twice, and RETURN arrives. With a window of 1,
    # silence ends the attempt if the first is lost; with both on their way, it doesn't matter which is lost.
    inward, outward = Noise(lost=0.1), Noise(doubled=0.1)
    one_of_them = 0.1 * 0.9 * 0.1 * 0.9
    singly = noise_risk("AA", CONSOLE, inward, outward, window=1, attempts=1)
    assert singly.beginnings == {"A": pytest.approx(one_of_them)}
    together = noise_risk("AA", CONSOLE, inward, outward, window=2, attempts=1)
    assert together.beginnings == {"A": pytest.approx(2 * one_of_them)}


@pytest.mark.parametrize("window", [1, 2, 3])
@pytest.mark.parametrize("command", ["AA", "AB", "ABB"])
def test_several_characters_on_their_way_agree_with_trying_every_path(command, window):
    damage = some(0.2, lose, double) if len(command) == 2 else some(0.2, double)
    ways = enumerated(command, damage, some(0.2, double, become(66)), window=window, attempts=1)
    inward = Noise(lost=0.1, doubled=0.1) if len(command) == 2 else Noise(doubled=0.2)
    outward = Noise(doubled=0.1, replaced=0.1, by=(66,))
    risk = noise_risk(command, CONSOLE, inward, outward, window=window, attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)


def test_only_the_first_attempt_has_a_larger_window():
    inward, outward = some(0.2, lose), some(0.2, double)
    ways = enumerated("AA", inward, outward, window=2, attempts=2)
    risk = noise_risk("AA", CONSOLE, Noise(lost=0.2), Noise(doubled=0.2), window=2, attempts=2)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)


# -- showing the line again --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "inward", "outward"),
    [
        ("A", Noise(lost=0.2), Noise(lost=0.2)),
        ("A", Noise(doubled=0.2), Noise(doubled=0.2)),
        ("A", Noise(replaced=0.3, by=(66, 13)), Noise(replaced=0.3, by=(65,))),
        ("AB", Noise(replaced=0.3, by=(66, 13)), Noise(replaced=0.3, by=(65,))),
        ("A", Noise(replaced=0.3, by=(SHOW_AGAIN, 19)), Noise(replaced=0.2, by=(19, 0))),
        ("A", Noise(replaced=0.3, by=(127, 66)), Noise(replaced=0.3, by=(60,))),
        ("A", Noise(replaced=0.3, by=(13, 66)), Noise(replaced=0.3, by=(19,))),
    ],
)
def test_a_line_shown_again_agrees_with_trying_every_path(command, inward, outward):
    def options(noise):
        return lambda character: [
            (list(arrived), chance) for arrived, chance in way_with(noise).arrivals(character).items()
        ]

    ways = enumerated(command, options(inward), options(outward), show_again=True, attempts=1)
    risk = noise_risk(command, LOOKING, inward, outward, attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)


def test_without_an_echo_a_line_shown_again_agrees_with_trying_every_path():
    # An XOFF stops what the machine prints, so nothing is shown again.
    ways = enumerated(
        "AB", some(0.3, become(19), become(13)), some(0.2, lose), echo=False, show_again=True, attempts=1
    )
    console = msgspec.structs.replace(LOOKING, echo=False)
    inward, outward = Noise(replaced=0.3, by=(19, 13)), Noise(lost=0.2)
    risk = noise_risk("AB", console, inward, outward, attempts=1)
    assert as_dict(risk) == pytest.approx(ways, abs=1e-12)


def test_after_the_line_was_shown_again_a_wrong_command_takes_three_faults():
    p = 1e-3
    noise = Noise(garbled=p)
    once, twice = (noise_risk("A", console, noise, noise).wrong for console in (CONSOLE, LOOKING))
    # 95 characters are printable; one of the other 94 is small a, which is folded to A (ISO/IEC 646).
    assert once == pytest.approx(93 * (p / 94) ** 2, rel=0.02)
    assert twice == pytest.approx(93 * (p / 94) ** 3, rel=0.02)


def test_a_line_shown_again_shows_what_doubled_letters_hide():
    noise = Noise(lost=0.01, doubled=0.01)
    once, twice = (noise_risk("FOOT", console, noise, noise).wrong for console in (CONSOLE, LOOKING))
    assert 0 < twice < once / 20


def test_no_noise_no_risk():
    risk = noise_risk("BEGIN SHUTTLE", CONSOLE, NONE, NONE)
    assert risk == Risk(1.0, 0.0, 0.0, {}, 0.0, 0.0)


@pytest.mark.parametrize("window", [1, 3])
def test_the_chances_add_up(window):
    noise = Noise(**MODELS["all at once"])
    risk = noise_risk("BEGIN M-1", CONSOLE, noise, noise, window=window)
    assert sum(as_dict(risk).values()) == pytest.approx(1, abs=1e-9)


def test_arrivals_add_up_and_are_what_the_names_of_the_noise_say():
    noise = Noise(lost=0.1, doubled=0.1, flipped=0.1, replaced=0.128, garbled=0.094)
    arrivals = way_with(noise).arrivals(ord("A"))
    assert sum(arrivals.values()) == pytest.approx(1)
    assert arrivals[()] == pytest.approx(0.1)
    assert arrivals[65, 65] == pytest.approx(0.1)
    assert arrivals[64,] == pytest.approx(0.1 / 7 + 0.001 + 0.001)  # @, by a bit, a byte, a character
    assert arrivals[13,] == pytest.approx(0.001)
    assert arrivals[65,] == pytest.approx(1 - 0.522 + 0.001)
    with pytest.raises(ValueError, match="from 0 to 1"):
        Noise(lost=0.6, doubled=0.6)
    with pytest.raises(ValueError, match="from 0 to 1"):
        Noise(lost=-0.1)


def test_the_console_is_that_of_the_folder():
    typing = machine(typing={"folds_to": "as typed", "echo": "none", "cancel": b"\x15"}).typing
    console = console_of(typing, flow_control=True)
    assert (console.upper, console.echo, console.cancel) == (False, False, 0x15)
    assert console.return_key == 13
    assert console.ends_line == {10, 13}


@pytest.mark.parametrize("wrong", ["", "A\r", "Ä", "A\x7f"])
def test_a_command_that_can_not_be_typed_has_no_risk(wrong):
    with pytest.raises(ValueError, match="printable"):
        noise_risk(wrong, CONSOLE, NONE, NONE)
    with pytest.raises(ValueError, match="at least"):
        noise_risk("A", CONSOLE, NONE, NONE, window=0)
