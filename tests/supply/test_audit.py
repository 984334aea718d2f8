"""An audit that couldn't be asked for is never a pass, and says so."""

import subprocess
import sys
from pathlib import Path

import pytest

from supply import audit
from supply.bill import locked_in

NONE_KNOWN = {"dependencies": [{"name": "segno", "version": "1.6.6", "vulns": []}]}
FAULT = {"id": "PYSEC-0000-1", "fix_versions": ["1.6.7"]}
ONE_KNOWN = {"dependencies": [{"name": "segno", "version": "1.6.6", "vulns": [FAULT]}]}
SKIPPED = {"dependencies": [{"name": "segno", "skip_reason": "Dependency not found on PyPI"}]}
NPM_NONE = {"vulnerabilities": {}}
NPM_ONE = {"vulnerabilities": {"ws": {"severity": "high"}}}
NPM_NO = {"message": "405 Method Not Allowed", "statusCode": 405}


@pytest.fixture
def audited(monkeypatch, capsys):
    """Audits with these answers: to the control, and to what is really asked, by pip-audit and by npm."""

    def run(python_control, python, npm_control, npm):
        def answer(command):
            if "pip_audit" in command:
                return python_control if "--no-deps" in command else python
            return npm if Path(command[-1]) in audit.NPM_LOCKS else npm_control

        monkeypatch.setattr(audit, "json_of", answer)
        return audit.main(), capsys.readouterr().out

    return run


def test_both_answer_and_know_of_none(audited):
    status, said = audited(ONE_KNOWN, NONE_KNOWN, NPM_ONE, NPM_NONE)
    assert status == 0
    assert said.count("0 known faults") == 2
    assert said.count(" UTC: ") == 2


def test_a_known_fault_is_named_with_what_corrects_it(audited):
    status, said = audited(ONE_KNOWN, ONE_KNOWN, NPM_ONE, NPM_ONE)
    assert status == 1
    assert "segno 1.6.6: PYSEC-0000-1, corrected in 1.6.7" in said
    assert "ws: high" in said


@pytest.mark.parametrize(
    "answers",
    [
        (NONE_KNOWN, NONE_KNOWN, NPM_ONE, NPM_NONE),
        (SKIPPED, NONE_KNOWN, NPM_ONE, NPM_NONE),
        (ONE_KNOWN, SKIPPED, NPM_ONE, NPM_NONE),
        (ONE_KNOWN, NONE_KNOWN, NPM_NONE, NPM_NONE),
        (ONE_KNOWN, NONE_KNOWN, NPM_NO, NPM_NONE),
        (ONE_KNOWN, NONE_KNOWN, NPM_ONE, NPM_NO),
    ],
)
def test_a_service_that_cannot_be_believed_is_no_pass(audited, answers):
    status, said = audited(*answers)
    assert status == 2
    assert said.count("this is not a pass") == 1


def test_what_one_knows_counts_though_the_other_was_not_asked(audited):
    assert audited(ONE_KNOWN, ONE_KNOWN, NPM_NO, NPM_NO)[0] == 1
    assert audited(SKIPPED, SKIPPED, NPM_ONE, NPM_ONE)[0] == 1


def test_a_program_that_prints_no_report_is_quoted():
    with pytest.raises(audit.NotAsked, match="no such index"):
        audit.json_of([sys.executable, "-c", "import sys; sys.exit('no such index')"])


def test_pip_audit_reads_the_lock_and_its_digests(tmp_path):
    """Here it reaches no index; but it must have come as far as asking about the first package."""
    first = next(locked_in(audit.LOCK.read_text("utf-8")))
    command = [sys.executable, "-m", "pip_audit", "--disable-pip", "--require-hashes", "-r", audit.LOCK]
    offline = {"PATH": "/nowhere", "HTTPS_PROXY": "http://127.0.0.1:9", "XDG_CACHE_HOME": str(tmp_path)}
    command += ["--timeout", "1", "--progress-spinner", "off"]
    done = subprocess.run(command, env=offline, capture_output=True, text=True, check=False)
    assert f"/pypi/{first.name}/{first.version}/json" in done.stderr
