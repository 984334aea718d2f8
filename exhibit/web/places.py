"""Where to find the pages, the demonstration's scripts and the sample recordings.

An installed wheel has them inside the package (hatch_build.py puts them there). In a checkout, including one
installed with `pip install -e`, they are beside it.
"""

from pathlib import Path

from exhibit.facts.errors import SetUpFault

_PACKAGE = Path(__file__).resolve().parent.parent
_INSTALL_AGAIN = "Install it again with `pip install .` in its folder, while connected to the internet."


def web_folder() -> Path:
    """The folder of the pages' own files. Raises SetUpFault if the package lacks it."""
    return _shipped("web")


def built_web_folder() -> Path:
    """The folder of the script and typefaces that are built from npm packages (see web/README.md).

    Raises SetUpFault if they were never built, as in a checkout that was never installed.
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
    """The folder that holds a folder of scripts for each machine. Raises SetUpFault if there is none."""
    return _shipped("scripts")


def recordings_folder() -> Path:
    """The folder of the sample recordings. Raises SetUpFault if there is none."""
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
