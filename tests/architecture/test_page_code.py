"""The pages' JavaScript names nothing that isn't there, and nothing for nothing (ESLint's own rules)."""

import shutil
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LINT = ROOT / "tests/node/node_modules/eslint/bin/eslint.js"
RULES = ROOT / "tests/node/eslint.config.mjs"


def complaints(node: str, folder: Path) -> str:
    scripts = [script.name for script in sorted(folder.glob("*.js"))]
    assert scripts
    ran = subprocess.run(
        [node, f"{LINT}", "--config", f"{RULES}", *scripts],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=100,
    )
    assert not ran.stderr, ran.stderr
    return ran.stdout


def test_every_name_in_the_pages_code_is_one_that_is_there(needs):
    assert complaints(needs.node(), ROOT / "web") == ""


def test_a_name_that_is_nowhere_and_one_that_nothing_uses_are_found(needs, tmp_path):
    for script in (ROOT / "web").glob("*.js"):
        shutil.copy(script, tmp_path)
    story = tmp_path / "story.js"
    story.write_text(story.read_text("utf-8") + "\nexport const a = nowhere();\nconst forNothing = 1;\n")
    found = complaints(needs.node(), tmp_path)
    assert "'nowhere' is not defined" in found
    assert "'forNothing' is assigned a value but never used" in found
