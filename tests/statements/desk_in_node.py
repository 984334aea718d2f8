"""Runs modules of the docent's page in Node, without a browser."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def ran_in_node(node: str, script: Path, place: Path, given: Any) -> Any:
    """What this script prints as JSON. It is copied to `place`, and the page's folders beside it."""
    for folder in ("desk", "shared", "words"):
        shutil.copytree(ROOT / "web" / folder, place / folder)
    (place / "words/languages.js").write_text('export const LANGUAGES = ["de", "en"];')
    shutil.copy(script, place)
    ran = subprocess.run(
        [node, place / script.name], input=json.dumps(given), capture_output=True, text=True, check=True
    )
    return json.loads(ran.stdout)
