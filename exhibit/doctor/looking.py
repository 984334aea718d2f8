"""Looks at everything, one thing after the other, and says each finding in the folder's language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from exhibit.decisions.machine.script import Folder
from exhibit.doctor.clock import looks_at_clock
from exhibit.doctor.computer import Computer, Finding
from exhibit.doctor.disc import looks_at_disc
from exhibit.doctor.folder import SERVICE_FOLDER, LookedAtFolder, looks_at_secrets
from exhibit.doctor.installed import looks_at_installed
from exhibit.doctor.old_processes import looks_at_processes
from exhibit.doctor.port import looks_at_port
from exhibit.doctor.services import looks_at_page, looks_at_services
from exhibit.doctor.words import IN_LANGUAGE, MARKS
from exhibit.output.printable import printable

SERVICE_RECORDINGS = "/var/lib/exhibit/recordings"


class Examination:
    """All that is found; `wrong` is how many findings somebody should act on, once all lines are read."""

    def __init__(self, computer: Computer, folder: Path | None, line: str, recordings: Path) -> None:
        """`recordings` is a person's own folder; that of the service comes first, where there is one."""
        self._computer = computer
        self._line = line
        kept = computer.at(SERVICE_RECORDINGS)
        self._recordings = kept if kept.is_dir() else recordings
        of_service = computer.at(SERVICE_FOLDER)
        path = folder or (of_service if (of_service / "machine.toml").exists() else None)
        self._looked = LookedAtFolder(path) if path is not None else None
        described: Folder | None = self._looked.folder if self._looked else None
        self._described = described
        tag = next(iter(described.machine.languages), "en") if described else "en"
        self.language = tag.split("-")[0] if tag.split("-")[0] in IN_LANGUAGE else "en"
        self.wrong = 0

    def lines(self) -> Iterator[str]:
        """A line for each finding; two more for one that is wrong; and the sum."""
        for finding in self._findings():
            self.wrong += is_wrong(finding)
            yield from said(finding, self.language)
        last = Finding("to do", {"count": self.wrong}) if self.wrong else Finding("all well")
        yield ""
        yield in_words(last, self.language)[0]

    def _findings(self) -> Iterator[Finding]:
        computer = self._computer
        yield from looks_at_installed(computer)
        yield self._looked.finding if self._looked else Finding("folder not named")
        if self._described is not None:
            yield from looks_at_secrets(computer, self._described)
        yield from looks_at_port(computer, self._line)
        yield from looks_at_disc(computer, self._recordings)
        yield from looks_at_clock(computer, self._recordings)
        yield from looks_at_page()
        yield from looks_at_services(computer)
        yield from looks_at_processes(computer)


def is_wrong(finding: Finding) -> bool:
    """Whether somebody should act on it."""
    return len(IN_LANGUAGE["en"][finding.key]) > 1


def in_words(finding: Finding, language: str) -> list[str]:
    """What was found, what it means and what mends it; or only the first."""
    places: Mapping[str, str] = {name: printable(f"{value}") for name, value in finding.places.items()}
    return [sentence.format(**places) for sentence in IN_LANGUAGE[language][finding.key]]


def said(finding: Finding, language: str) -> list[str]:
    """The lines for a person."""
    well, to_do, means, run = MARKS[language]
    width = max(len(well), len(to_do))
    first, *rest = in_words(finding, language)
    if not rest:
        return [f"{well:{width}}  {first}"]
    return [
        f"{to_do:{width}}  {first}",
        f"{'':{width}}  {means}: {rest[0]}",
        f"{'':{width}}  {run}: {rest[1]}",
    ]
