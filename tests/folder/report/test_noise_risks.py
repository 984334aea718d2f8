"""What `exhibit check` reports about the risks of noise is what was calculated, and no rosier."""

import os
import re
import subprocess
import sys

import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.facts.line_settings import LineSettings
from exhibit.folder.report.noise_risks import (
    KINDS,
    RATE,
    CommandRisk,
    _once_in,
    _rows,
    risk_report,
    riskiest_first,
    risks,
)
from exhibit.sums.line_noise import Noise
from exhibit.sums.noise_risk import console_of, noise_risk
from tests.decisions import heron
from tests.folder.folder_writing import ROOT

FOLDER = heron.folder(
    heron.script(
        "round",
        heron.command("begin", "BEGIN MILL", "begun"),
        heron.wait("wait", "begun"),
        heron.command("go", "GO", "ready"),
        tidy_up=(heron.command("stop", "STOP {begin.job}", "ready"),),
    ),
    heron.script("opening", heron.command("say-the-date", "{date: tall}", "ready")),
)


def by_step(folder=FOLDER):
    return {f"{risk.script}.{risk.step}": risk for risk in risks(folder)}


def test_each_command_that_a_script_types_has_its_risk():
    assert list(by_step()) == ["round.begin", "round.go", "round.stop", "opening.say-the-date"]


def test_the_risk_is_the_worst_over_all_kinds_of_noise():
    console = console_of(FOLDER.machine.typing, flow_control=FOLDER.machine.line.flow == "xon/xoff")
    assert {kind.lost + kind.doubled + kind.flipped + kind.replaced + kind.garbled for kind in KINDS} == {
        RATE
    }
    by_kind = [noise_risk("BEGIN MILL", console, kind, kind) for kind in KINDS]
    risk = by_step()["round.begin"]
    assert risk.beginning == max(one.beginning for one in by_kind)
    assert risk.wrong == max(one.wrong for one in by_kind)
    assert risk.bare == max(one.bare for one in by_kind)
    flipped = Noise(flipped=RATE)
    assert risk.by_one_bit == noise_risk("BEGIN MILL", console, flipped, flipped).beginnings
    assert risk.by_one_bit["BEGIN "] == pytest.approx(RATE / 7, rel=0.05)  # M, by one bit of seven


def test_flow_control_counts_where_the_line_has_it():
    plain = heron.folder(FOLDER.scripts["round"], machine=heron.machine(line=LineSettings(flow="none")))
    flow = heron.folder(FOLDER.scripts["round"], machine=heron.machine(line=LineSettings(flow="xon/xoff")))
    assert by_step(plain)["round.stop"].beginning != by_step(flow)["round.stop"].beginning


def test_unknown_numbers_and_dates_count_as_digits():
    console = console_of(FOLDER.machine.typing, flow_control=FOLDER.machine.line.flow == "xon/xoff")
    as_typed = [noise_risk("STOP 12", console, kind, kind) for kind in KINDS]
    assert by_step()["round.stop"].beginning == max(risk.beginning for risk in as_typed)
    as_written = re.sub(r"\{[^{}]*\}", "12", FOLDER.machine.calendars["tall"].template)
    as_typed = [noise_risk(as_written, console, kind, kind) for kind in KINDS]
    assert by_step()["opening.say-the-date"].beginning == max(risk.beginning for risk in as_typed)


def test_each_command_has_a_line_and_the_riskiest_comes_first():
    said = risk_report(FOLDER)
    named = [line.split('"')[1] for line in said if "round." in line or "opening." in line]
    assert named == ["BEGIN MILL", "{date: tall}", "STOP {begin.job}", "GO"]
    begin = next(index for index, line in enumerate(said) if '"BEGIN MILL" round.begin' in line)
    assert 'by a single bit, as "BEGIN "' in said[begin + 1]
    assert sum("by a single bit" in line for line in said) == sum(
        sum(risk.by_one_bit.values()) > RATE**2 for risk in risks(FOLDER)
    )


def test_the_figures_are_below_their_headings_and_are_the_calculated_ones():
    said = risk_report(FOLDER)
    head = next(line for line in said if "a beginning" in line)
    (line,) = [line for line in said if '"BEGIN MILL"' in line]
    split = head.index("a beginning") + len("a beginning")
    risk = by_step()["round.begin"]
    assert line[:split].strip() == _once_in(risk.beginning)
    assert line[split : head.index("   of the")].strip() == _once_in(risk.wrong)


def test_a_command_that_several_steps_type_has_one_line():
    twice = heron.folder(
        heron.script("round", heron.command("go", "GO", "ready"), heron.command("again", "GO", "ready"))
    )
    (line,) = [line for line in risk_report(twice) if '"GO"' in line]
    assert line.endswith('"GO" round.go and 1 more')


def test_what_the_report_says_about_a_return_alone_is_true_of_every_command():
    (line,) = [line for line in risk_report(FOLDER) if "a RETURN too many" in line]
    once_in = int(re.search(r"once in ([\d ]+) times", line)[1].replace(" ", ""))
    assert all(risk.bare <= 1 / once_in for risk in risks(FOLDER))


def test_without_an_echo_the_report_says_that_a_damaged_command_is_executed():
    dumb = heron.folder(FOLDER.scripts["round"], machine=heron.machine(typing={"echo": "none"}))
    assert any("doesn't echo" in line for line in risk_report(dumb))
    assert not any("doesn't echo" in line for line in risk_report(FOLDER))
    assert by_step(dumb)["round.begin"].wrong > 100 * by_step()["round.begin"].wrong


def test_the_report_says_how_damage_is_noticed():
    looking = heron.folder(FOLDER.scripts["round"], machine=heron.machine(typing={"show_again": b"\x0e"}))
    assert any("shown again" in line for line in risk_report(looking))
    assert any("two faults" in line for line in risk_report(FOLDER))
    # What remains is mostly a cancel key that became RETURN after a command that came back wrong.
    assert 0 < by_step(looking)["round.begin"].wrong < by_step()["round.begin"].wrong / 2


def test_a_larger_window_is_taken_into_account():
    quick = heron.folder(FOLDER.scripts["round"], machine=heron.machine(typing={"window": 4}))
    assert by_step(quick)["round.begin"].wrong > by_step()["round.begin"].wrong


def test_check_prints_the_risks_of_a_folder_in_order():
    ran = CliRunner().invoke(main, ["check", f"{ROOT / 'scripts' / 'posix'}"])
    assert ran.exit_code == 0, ran.output
    assert "is in order" in ran.output.rpartition("\n\n")[2]
    assert '"exhibit" round.exhibit' in ran.output


def test_check_prints_no_risks_while_there_are_mistakes(tmp_path):
    ran = CliRunner().invoke(main, ["check", f"{tmp_path}"])
    assert ran.exit_code == 2
    assert "What noise" not in ran.output


def test_scripts_that_type_no_command_have_no_report():
    assert risk_report(heron.folder(heron.script("round", heron.pause("wait")))) == []


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0, "never"), (1e-15, "never"), (1, "1"), (0.34, "2"), (1 / 99.9, "99"),
        (1 / 6899, "6 800"), (1 / 1234567, "1 200 000"),
    ],
)  # fmt: skip
def test_a_chance_is_never_rounded_to_a_rarer_one(chance, said):
    assert _once_in(chance) == said


def test_a_command_is_judged_by_the_typing_of_the_landmark_at_which_it_is_typed():
    at = {"signed-in": msgspec.structs.replace(heron.TYPING, echo="none")}
    landmarks = {"signed-out": ("ready",), "signed-in": ("desk",)}
    there = heron.machine(landmarks=landmarks, typing_at=at)
    script = heron.script(
        "round", heron.command("begin", "GO", "desk"), heron.command("again", "GO", "ready", at="desk")
    )
    found = by_step(heron.folder(script, machine=there))
    assert found["round.again"].wrong > 10 * found["round.begin"].wrong


@pytest.mark.parametrize("typing", [{"cancel": b""}, {"after_cancel": "nothing"}])
def test_without_a_cancel_key_that_is_sure_a_command_is_typed_once_and_the_risk_is_no_higher(typing):
    folder = heron.folder(FOLDER.scripts["round"], machine=heron.machine(typing=typing))
    usual, here = by_step()["round.begin"], by_step(folder)["round.begin"]
    assert 0 < here.beginning <= usual.beginning
    assert 0 <= here.wrong <= usual.wrong
    assert risk_report(folder)


def test_equally_risky_commands_are_printed_in_the_same_order_in_every_process():
    command = [sys.executable, "-m", "exhibit", "check", f"{ROOT / 'tests/folder/consoles/knot'}"]
    printed = {
        subprocess.run(
            command, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(printed) == 1


def test_commands_of_the_same_risk_are_ordered_by_their_text():
    one, other = (
        CommandRisk(
            script="round", step="a", command=text, beginning=chance, by_one_bit={}, wrong=0.0, bare=0.0
        )
        for text, chance in (("KILL 2", 0.1), ("KILL 1", 0.1 - 1e-12))
    )
    assert sorted([one, other], key=riskiest_first) == [other, one]


def test_without_a_beginning_that_is_likely_enough_to_be_named_a_single_bit_has_no_example():
    """Many beginnings, each about as rare as two faults, are together likelier."""
    rare = {text: RATE**2 * 0.6 for text in ("BEGI", "BEGIN ")}
    risk = msgspec.structs.replace(by_step()["round.begin"], by_one_bit=rare)
    one_bit = list(_rows([risk]))[1]
    assert one_bit.endswith("   by a single bit")
    likely = msgspec.structs.replace(risk, by_one_bit={**rare, "BEG": RATE})
    assert list(_rows([likely]))[1].endswith('   by a single bit, as "BEG"')
