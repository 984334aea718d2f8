"""The book that TIDEBOOK keeps on the small disc, where it outlasts the power."""

from exhibit.simulator.truth import DiscFailed

LOG_KEEPS = 200
LOG_SHOWS = 12


class Book:
    """The error log, and whether the book was left open: TIDEBOOK ended without writing it back."""

    def __init__(self) -> None:
        self.error_log: list[str] = []
        self.left_open = False

    def add_failure(self, moment_text: str, failure: DiscFailed) -> None:
        """Add a disc failure to the error log; the oldest is dropped when the log is full."""
        self.error_log.append(
            f"{moment_text} {failure.drive} TRACK {failure.track} SECTOR {failure.sector} "
            f"{'WRITE' if failure.writing else 'READ'} FAILED {failure.failures} TIMES, "
            f"{'MENDED' if failure.recovered else 'LOST'}"
        )
        del self.error_log[:-LOG_KEEPS]

    def log_text(self) -> str:
        """The newest lines of the error log, as LOG prints them."""
        return "".join(f"{line}\r\n" for line in self.error_log[-LOG_SHOWS:]) or "LOG IS EMPTY\r\n"
