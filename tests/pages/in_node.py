"""Runs the pages' own modules in Node, where nothing of a browser is needed."""

from __future__ import annotations

import json
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

WEB = Path(__file__).resolve().parents[2] / "web"


def value_of(node: str, folder: str, modules: dict[str, str], expression: str) -> Any:
    """What `expression` is, with the names of each module of web/`folder` at hand."""
    with tempfile.TemporaryDirectory() as made:
        (Path(made) / "package.json").write_text('{"type": "module"}')
        for name in (folder, "shared"):
            shutil.copytree(WEB / name, Path(made) / name)
        imports = [
            f'import {{ {names} }} from "./{folder}/{module}.js";' for module, names in modules.items()
        ]
        (Path(made) / "ask.js").write_text(
            "\n".join([*imports, f"console.log(JSON.stringify({expression}));"]), "utf-8"
        )
        ran = subprocess.run(
            [node, "ask.js"], cwd=made, capture_output=True, text=True, timeout=60, check=False
        )
    assert ran.returncode == 0, ran.stderr
    return json.loads(ran.stdout)
