"""Where the pages, the demo's scripts and the sample recording lie.

In an installed wheel they travel inside the package (hatch_build.py puts them there); in a
checkout, also one that was installed with `pip install -e`, they stand beside it.
"""

from pathlib import Path

from exhibit.facts.errors import SetUpFault

_PACKAGE = Path(__file__).resolve().parent.parent
_INSTALL_AGAIN = "Install it again with `pip install .` in its folder, while connected to the internet."


def web_folder() -> Path:
    """Give the folder of the pages' own files. Raises SetUpFault when the package came without it."""
    return _shipped("web")


def built_web_folder() -> Path:
    """Give the folder of the script and the typefaces that were built from npm (see web/README.md).

    Raises SetUpFault when they were never built: a checkout that was never installed has none.
    """
    built = web_folder() / "built"
    if (built / "socket.io.min.js").is_file() and (built / "faces.css").is_file():
        return built
    raise SetUpFault(
        "The pages' script and typefaces are missing.",
        "Without them a browser shows an empty page.",
        _INSTALL_AGAIN,
    )


def scripts_folder() -> Path:
    """Give the folder that holds one folder of scripts a machine. Raises SetUpFault when there is none."""
    return _shipped("scripts")


def recordings_folder() -> Path:
    """Give the folder of the sample recordings. Raises SetUpFault when there is none."""
    return _shipped("recordings")


def _shipped(name: str, package: Path = _PACKAGE) -> Path:
    inside = package / "_shipped"
    folder = (inside if inside.is_dir() else package.parent) / name
    if folder.is_dir():
        return folder
    raise SetUpFault(
        f"exhibit's own folder `{name}` is missing.",
        f"It was looked for at {folder}; the program is incomplete without it.",
        _INSTALL_AGAIN,
    )
