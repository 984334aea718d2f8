"""How a process of this program is started: with its starter's own code, and nothing from the current folder.

`python -m exhibit` alone would import a msgspec.py that lies in the folder in which somebody types the
command, and in a source checkout the checkout instead of what is installed.
"""

from __future__ import annotations

import os
import site
import sys
from collections.abc import Collection, Mapping
from pathlib import Path

import exhibit

_PACKAGES = Path(exhibit.__file__).resolve().parent.parent
"""The folder from which the starter has its own code."""
PATHS = "PYTHONPATH"


def own_command(module: str, *arguments: str) -> list[str]:
    """The command that runs a module of this program."""
    # -P: neither the current folder nor that of the module comes first where modules are looked for.
    return [sys.executable, "-P", "-m", module, *arguments]


def own_environment(environment: Mapping[str, str], packages: Path = _PACKAGES) -> dict[str, str]:
    """The environment for that command, in which PYTHONPATH names whole places only.

    An empty or relative one would mean another folder each time. A checkout, which a person runs on purpose,
    comes first; where this program is installed, Python looks anyway.
    """
    paths = [path for path in environment.get(PATHS, "").split(os.pathsep) if os.path.isabs(path)]
    if packages not in _installed() and f"{packages}" not in paths:
        paths.insert(0, f"{packages}")
    others = {name: value for name, value in environment.items() if name != PATHS}
    return {**others, PATHS: os.pathsep.join(paths)} if paths else others


def _installed() -> Collection[Path]:
    return {Path(place).resolve() for place in (*site.getsitepackages(), site.getusersitepackages())}
