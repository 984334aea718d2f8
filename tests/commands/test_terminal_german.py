"""A folder whose first language is German: its terminal speaks German, and takes German answers."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge.request_door import Answer
from exhibit.commands.open_question import numbers
from exhibit.commands.saying import Say
from exhibit.decisions.machine.description import Site
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.web.places import scripts_folder
from tests.commands.test_terminal import SECRETS, Bench, _asked, _late

GERMAN = Say("de")
ASKED = msgspec.structs.replace(
    _asked(),
    words={"en": "Turn the key.", "de": "Drehen Sie den Schlüssel."},
    caution={"en": "Mains inside.", "de": "Netzspannung im Inneren."},
)


@pytest.fixture
def bench(tmp_path: Path):
    bench = Bench(
        tmp_path, Answer(accepted=True), say=GERMAN, number=lambda script, step: "Handgriff 4 von 9"
    )
    yield bench
    bench.door.close()


def test_a_hands_on_step_is_asked_in_german_and_answered_in_german_or_english(bench: Bench):
    bench.shown(kinds.DeadlineArmed(name="step", due_us=600_000_000))
    assert bench.shown(ASKED).splitlines() == [
        "  VORSICHT: Netzspannung im Inneren.",
        "  BITTE: Drehen Sie den Schlüssel.",
        "  Erledigt, oder schon so?",
        "  War es zu früh, tippen Sie „zu früh“; ist nichts geschehen, tippen Sie „es ging nicht“.",
        "  > Handgriff 4 von 9, noch 10 min. Antwort: ja, noch nicht, oder geht nicht (und warum).",
    ]
    assert "weniger als eine Sekunde nach der Frage" in bench.typed("ja")
    bench.now_s += 2
    assert "Noch zu tun: Drehen Sie den Schlüssel." in bench.looked()
    bench.typed("ja")
    bench.typed("yes")
    bench.typed("geht nicht, die Lampe bleibt dunkel")
    assert [(one.request, one.why) for one in bench.heard] == [
        ("confirm", ""),
        ("confirm", ""),
        ("refuse", "die Lampe bleibt dunkel"),
    ]


def test_a_late_step_and_a_failure_are_told_in_german(bench: Bench):
    said = bench.shown(msgspec.structs.replace(_late("ask"), at_prompt=True))
    assert "Der Schritt load hat zu lange gedauert: Er hat bis zu 90 s auf loaded gewartet." in said
    assert "| (nichts)" in said
    assert said.endswith("Antwort: warten, auslassen, oder stopp.\n")
    bench.typed("das ist der Prompt")
    bench.shown(kinds.SessionFailed(why="loaded did not come in time", last_lines=[]))
    bench.typed("weiter")
    assert [one.request for one in bench.heard] == ["it is the prompt", "clear"]


def test_what_the_record_says_stays_as_it_was_recorded(bench: Bench):
    said = bench.shown(kinds.LineLost(why="the adapter was pulled out"))
    assert said.startswith("  Die Maschine ist nicht verbunden: the adapter was pulled out.\n")


def test_a_request_that_reaches_nobody_is_told_in_german(tmp_path: Path, bench: Bench):
    bench.door.close()
    assert bench.typed("stopp") == (
        "  Das wurde nicht ausgeführt: Das Programm, das mit der Maschine spricht, läuft nicht.\n"
    )


def test_the_site_is_named_in_german(tmp_path: Path):
    bench = Bench(tmp_path, Answer(accepted=True), say=GERMAN)
    bench.terminal._site = Site(
        mains_stop={"en": "By the door.", "de": "Neben der Tür."}, keyholder={"en": "4411"}, rules={}
    )
    bench.terminal.show_cautions()
    bench.door.close()
    assert bench.out.getvalue().splitlines()[:2] == [
        "Wenn jemand in Gefahr ist: Neben der Tür.",
        "Verantwortlich für die Maschine: 4411",
    ]


@pytest.mark.parametrize(("order", "german"), [('["de", "en"]', True), ('["en", "de"]', False)])
def test_the_first_language_of_day_toml_is_the_terminals(tmp_path: Path, order: str, german: bool):
    folder = tmp_path / "whimbrel"
    shutil.copytree(scripts_folder() / "whimbrel", folder)
    day = folder / "day.toml"
    day.write_text(day.read_text().replace('order = ["en", "de"]', f"order = {order}"))
    described = read_folder(folder)
    assert numbers(described, GERMAN)("opening", "turn-the-key") == "Handgriff 1 von 8"
    run = ["run", f"{folder}", "--line", f"{tmp_path / 'none'}", "--port", "0", "--recordings", f"{tmp_path}"]
    done = subprocess.run(
        [sys.executable, "-m", "exhibit", *run],
        input="",
        env={**os.environ, "PYTHONIOENCODING": "utf-8", **SECRETS},
        capture_output=True,
        text=True,
        check=False,
    )
    site = described.machine.site
    assert ("Wenn jemand in Gefahr ist: " + site.mains_stop["de"] in done.stdout) is german
    assert ("If anybody is in danger: " + site.mains_stop["en"] in done.stdout) is not german
