"""Makes the pictures of the pages: `python -m tests.pages.pictures` those of the README, into
docs/pictures/; with `--all FOLDER` every state at every width, to be looked at.
"""

from __future__ import annotations

import argparse
import datetime
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from exhibit.facts import kinds
from exhibit.facts.display import Display
from exhibit.streams.recording import SUFFIX, RecordingFolder, RecordingWriter, read_all
from tests.pages import made_facts, web_processes
from tests.pages.browser import start, wait_until

ROOT = Path(__file__).resolve().parents[2]
SIZES = ((320, 640), (390, 844), (820, 1180), (1280, 720), (1366, 768), (1920, 1080), (3840, 2160))
HAS_PICTURE = "+document.documentElement.dataset.seq > 0"
LANGUAGES = {"en": "English", "de": "Deutsch", "he": "עברית"}
EARLIER = "2026-11-20T10:00:00.000+00:00"
SIMULATED: dict[str, object] = {"machine_is": "simulated", "rate": 20.0}


@contextmanager
def held(
    folder: Path,
    more: list[kinds.AnyFact],
    until: Callable[[kinds.AnyFact], bool] = lambda _: False,
    **opened: object,
) -> Iterator[Path]:
    """A recording that is still being written: the day up to the fact `until`, and `more`."""
    writer = made_facts.begin(folder, made_facts.opened(**opened))
    last_us = 0
    for at_s, fact in made_facts.a_day():
        last_us = int(at_s * 1e6)
        writer.append(fact, last_us)
        if until(fact):
            break
    for fact in more:
        writer.append(fact, last_us)
    with _going_on(writer, made_facts.WALL, last_us):
        yield folder


@contextmanager
def _going_on(writer: RecordingWriter, wall: str, at_us: int) -> Iterator[None]:
    """A sign of life every second, at always the same moment."""
    over = threading.Event()

    def live() -> None:
        while not over.wait(1.0):
            writer.append(kinds.Heartbeat(wall=wall), at_us)

    heart = threading.Thread(target=live)
    heart.start()
    try:
        yield
    finally:
        over.set()
        heart.join()
        writer.abandon()


EXERCISERS: list[kinds.AnyFact] = [
    kinds.ExerciserBegun(exerciser="shuttle", job="1", part="lower-drive", ends_us=270_000_000),
    kinds.ExerciserBegun(exerciser="sums", job="2", part="processor", ends_us=276_000_000),
]
"""They end by themselves at 09:16:30 and 09:16:36, at the latest."""

STATES: dict[str, Callable[[Path], AbstractContextManager[Path]]] = {
    "live": lambda folder: held(folder, []),
    "simulated": lambda folder: held(folder, [], **SIMULATED),
    "resting": lambda folder: held(folder, [kinds.SessionResting(until_us=0)]),
    "failed": lambda folder: held(
        folder,
        [
            kinds.TroubleRaised(
                trouble="disc-errors",
                line="DISC ERRORS         4",
                words={"en": "The disc makes errors."},
                do={"en": "Stop the lower drive and call the engineer."},
            ),
            kinds.SessionFailed(why="the board was waited for and did not come", last_lines=["DESK TIDES: "]),
        ],
    ),
    "hands-on": lambda folder: held(folder, [], until=lambda fact: isinstance(fact, kinds.HandsOnAsked)),
    "listen": lambda folder: held(folder, [], until=lambda fact: _is_caption(fact, "listen-to-lower")),
    "background": lambda folder: held(folder, [], until=lambda fact: _is_caption(fact, "asks-the-date")),
    "paper": lambda folder: held(
        folder,
        [],
        until=lambda fact: _is_caption(fact, "shuttle-begun"),
        display=Display(kind="paper", rows=60, columns=72),
        languages={"en": "English", "de": "Deutsch"},
    ),
    "link-lost": lambda folder: held(
        folder, [*EXERCISERS, kinds.LineLost(why="the adapter was unplugged")], languages=LANGUAGES
    ),
    "watching": lambda folder: held(folder, [], typing="nothing", languages=LANGUAGES),
}


@contextmanager
def meanwhile(folder: Path) -> Iterator[web_processes.WebProcess]:
    """A web process that shows the good recording of another day, for today the machine rests."""
    made_facts.write(folder, good_day(), made_facts.opened(wall=EARLIER, languages=LANGUAGES))
    with (
        held(folder, [kinds.SessionResting(until_us=0)], languages=LANGUAGES) as where,
        web_processes.live(where, turn_after_s=1) as web,
    ):
        yield web


IN_MEANWHILE = (
    "document.documentElement.dataset.mode === 'meanwhile'"
    " && document.querySelector('#caption').textContent.startsWith('Three')"
)


def good_day() -> list[made_facts.Told]:
    """The made day, told quickly; its last picture is left for a while before its round ends."""
    day = [(at_s / 20, fact) for at_s, fact in made_facts.a_day()]
    ended = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    return [*day, (day[-1][0] + 5, ended)]


def _is_caption(fact: kinds.AnyFact | kinds.UnknownFact, name: str) -> bool:
    return isinstance(fact, kinds.CaptionShown) and fact.caption == name


def shoot(page: Page, path: Path, size: tuple[int, int], ready: str) -> None:
    """One picture, once the page shows what it should."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    wait_until(page, ready)
    page.evaluate("document.fonts.ready")
    page.wait_for_timeout(400)
    page.screenshot(path=path)


def readme_pictures(browser: Browser, folder: Path, work: Path) -> None:
    """The pictures of the README: the moment at which the tide table is finished, as if it were now."""
    page = browser.new_page()
    ready = f"{HAS_PICTURE} && document.querySelectorAll('#chart .point').length === 24"
    with sample_live(work / "sample", "tides-done") as where, web_processes.live(where) as web:
        page.goto(web.address)
        shoot(page, folder / "visitor.png", (1920, 1080), ready)
        shoot(page, folder / "visitor-phone.png", (390, 844), ready)
    page.close()


@contextmanager
def sample_live(folder: Path, caption: str) -> Iterator[Path]:
    """The sample recording up to this caption, as if it were still being written."""
    entries = read_all(sample_path(folder)).entries
    opened = entries[0].fact
    assert isinstance(opened, kinds.RecordingOpened)
    writer = RecordingWriter(folder, opened, reserve_bytes=4096)
    last_us = 0
    for entry in entries[1:]:
        assert not isinstance(entry.fact, kinds.UnknownFact)
        writer.append(entry.fact, entry.at_us)
        last_us = entry.at_us
        if _is_caption(entry.fact, caption):
            break
    then = datetime.datetime.fromisoformat(opened.wall) + datetime.timedelta(microseconds=last_us)
    with _going_on(writer, then.isoformat(timespec="milliseconds"), last_us):
        yield folder


@contextmanager
def sample(page: Page, work: Path, frames_wanted: int) -> Iterator[str]:
    """The sample recording, paused when its status display has been read so often. Gives when it is shown."""
    path = sample_path(work)
    frames = [
        entry.seq
        for entry in read_all(path).entries
        if isinstance(entry.fact, kinds.LandmarkReached) and entry.fact.landmark == "board"
    ]
    with web_processes.replay(path, work / "cache") as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        seq = frames[min(frames_wanted, len(frames)) - 1]
        page.evaluate(
            """(seq) => {
                document.querySelector("#fact").value = seq;
                document.querySelector("#go-to-fact").requestSubmit();
            }""",
            seq,
        )
        yield f"document.documentElement.dataset.seq === '{seq}'"


def sample_path(work: Path) -> Path:
    """The sample recording, or one that is made now."""
    samples = sorted((ROOT / "recordings").glob(f"*{SUFFIX}"))
    return samples[-1] if samples else recorded_demonstration(work)


def recorded_demonstration(work: Path) -> Path:
    """One round of the demonstration, recorded now."""
    demo = ["-m", "exhibit", "demo", "--rounds", "1", "--speed", "20", "--no-browser", "--port", "0"]
    subprocess.run([sys.executable, *demo, "--recordings", str(work / "demo")], cwd=ROOT, check=True)
    newest = RecordingFolder(work / "demo").newest()
    assert newest is not None
    return newest.path


def pictures_for_the_eye(browser: Browser, folder: Path, work: Path, only: list[str]) -> None:
    """Every state at every width."""
    page = browser.new_page()
    for name, make in STATES.items():
        if name in only or not only:
            with make(work / name) as recordings, web_processes.live(recordings) as web:
                page.goto(web.address)
                wait_until(page, HAS_PICTURE)
                if name == "background":
                    page.click("#grounds")
                if name in ("watching", "link-lost"):
                    pictures_of_languages(page, folder, name)
                for size in SIZES:
                    shoot(page, folder / f"{name}-{size[0]}.png", size, HAS_PICTURE)
    if "not-started" in only or not only:
        with web_processes.live(work / "empty") as web:
            page.goto(web.address)
            for size in SIZES:
                ready = "document.querySelector('#badge').dataset.badge === 'not started today'"
                shoot(page, folder / f"not-started-{size[0]}.png", size, ready)
    if "replay" in only or not only:
        path = made_facts.write(work / "day", made_facts.a_day())
        with web_processes.replay(path, work / "cache", rate=float("inf")) as web:
            page.goto(web.address)
            for size in SIZES:
                ready = "document.querySelector('#where')?.textContent.includes('end')"
                shoot(page, folder / f"replay-{size[0]}.png", size, ready)
    if "sample" in only or not only:
        with sample(page, work, frames_wanted=99) as ready:
            for size in SIZES:
                shoot(page, folder / f"sample-{size[0]}.png", size, ready)
    if "meanwhile" in only or not only:
        with meanwhile(work / "meanwhile") as web:
            page.goto(web.address)
            for size in SIZES:
                shoot(page, folder / f"meanwhile-{size[0]}.png", size, IN_MEANWHILE)
    page.close()


def pictures_of_languages(page: Page, folder: Path, name: str) -> None:
    """The same state in the other languages."""
    for tag in ("de", "he", "en"):
        page.set_viewport_size({"width": 1920, "height": 1080})
        page.click(f"#languages button[lang={tag}]")
        for size in ((390, 844), (1280, 720), (1920, 1080)):
            shoot(page, folder / f"{name}-{tag}-{size[0]}.png", size, HAS_PICTURE)


def main() -> None:
    """Make them."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--all", type=Path, metavar="FOLDER", help="every state and width, for the eye")
    options.add_argument("--only", default="", help="of these states alone, with commas between them")
    options.add_argument("--screens", default="", help="of scenes, on these screens alone, with commas")
    chosen = options.parse_args()
    folder = chosen.all or ROOT / "docs" / "pictures"
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as temporary:
        browser = start(playwright)
        if chosen.all:
            only = [name for name in chosen.only.split(",") if name]
            if only != ["scenes"]:
                pictures_for_the_eye(browser, folder, Path(temporary), only)
            if "scenes" in only or not only:
                from tests.pages.scene_pictures import pictures_of_scenes  # it needs this module's recordings

                screens = [name for name in chosen.screens.split(",") if name]
                pictures_of_scenes(browser, folder, Path(temporary), screens)
        else:
            readme_pictures(browser, folder, Path(temporary))
        browser.close()


if __name__ == "__main__":
    main()
