"""A machine that wrongly shows the secret being typed: nothing of it is kept, and the script gives up."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.folder.secret_words import demo_secrets
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.streams.recording import read_all
from tests.bridge.stage import stage

IN_A_ROW = 4


@pytest.mark.timeout(300)
def test_four_characters_of_a_secret_in_a_row_are_nowhere_though_the_machine_echoes_it(tmp_path: Path):
    with stage(tmp_path, speed=20.0) as staged:
        assert staged.act("fault echo word").startswith("done:")
        bridge = staged.bridge("--rounds", "1")
        bridge.until(lambda entry: isinstance(entry.fact, kinds.SessionFailed))
        while bridge.process.poll() is None:
            bridge.follow()
        recording = read_all(bridge.recording)
    facts = [entry.fact for entry in recording.entries]
    # The fault was real: the machine did echo what it should have kept to itself.
    assert kinds.SecretWithheld(was_typed=True) in facts
    assert any("secret" in fact.why for fact in facts if isinstance(fact, kinds.StepFailed))
    # It was noticed at the first character: no other had gone out.
    failed = next(n for n, fact in enumerate(facts) if isinstance(fact, kinds.StepFailed))
    assert sum(isinstance(fact, kinds.SecretTyped) for fact in facts[:failed]) == 1

    received = "".join(fact.bytes for fact in facts if isinstance(fact, kinds.BytesReceived))
    typed = "".join(fact.bytes for fact in facts if isinstance(fact, kinds.BytesTyped))
    # Checksums and digests are hexadecimal, in which four characters of a secret may well turn up.
    raw = re.sub(r"[0-9a-f]{64}|\"crc\":\"[0-9a-f]{8}\"", "", bridge.recording.read_text())
    screens = set()
    view = View()
    for entry in recording.entries:
        view.apply(entry)
        screens.add("\n".join(view.text_rows()))
    places = [place.upper() for place in (received, typed, raw, *screens)]
    for secret in demo_secrets(WORDS).values():
        for start in range(len(secret) - IN_A_ROW + 1):
            part = secret[start : start + IN_A_ROW].upper()
            assert not [place for place in places if part in place], part
