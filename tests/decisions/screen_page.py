"""Makes the tables of docs/screen.md from the code.

python -m tests.decisions.screen_page     writes them into the page
"""

from pathlib import Path

import pyte

from exhibit.decisions.display.controls import CONTROLS, ESCAPES, REASONS, SEQUENCES
from tests.benchmarks.bench_screen import TOO_SLOW

PAGE = Path(__file__).resolve().parents[2] / "docs" / "screen.md"
_SIGNS = {
    "\x1b": "ESC",
    "\x0e": "SO ",
    "\x11": "DC1 ",
    "\x1a": "SUB ",
    "\a": "BEL ",
    "\t": "HT ",
    "\f": "FF ",
}
_SIGNS |= {"\r": "CR ", "\n": "LF ", "A" * 80: "(80 x A) "}


def reasons() -> str:
    """Each overridden operation, why, and what shows it."""
    rows = ["| operation | why we override it | shown by |", "|---|---|---|"]
    before = ""
    for operation, why, shown_by in REASONS:
        shown = f"`` {_readable(shown_by)} ``" if shown_by else f"benchmark: {TOO_SLOW[operation][0]}"
        rows.append(f"| {'' if operation == before else f'`{operation}`'} | {why} | {shown} |")
        before = operation
    return "\n".join(rows)


def _readable(text: str) -> str:
    for control, sign in _SIGNS.items():
        text = text.replace(control, f" {sign}")
    return " ".join(text.split())


def additions() -> str:
    """What sequences call that pyte has no operation for."""
    named = {"FF": CONTROLS[0x0C]}
    named |= {f"ESC {final}": name for final, name in ESCAPES.items()}
    named |= {f"CSI {final}": name for final, (name, _) in SEQUENCES.items()}
    rows = ["| sequence | operation |", "|---|---|"]
    rows += [
        f"| `{sequence}` | `{name}` |" for sequence, name in named.items() if not hasattr(pyte.Screen, name)
    ]
    return "\n".join(rows)


TABLES = {"reasons": reasons, "additions": additions}


def with_tables(text: str) -> str:
    """The page with each table between its two marks made anew."""
    for name, make in TABLES.items():
        begin, end = f"<!-- {name}: made from the code -->", f"<!-- end of {name} -->"
        before, _, rest = text.partition(begin)
        _, _, after = rest.partition(end)
        text = f"{before}{begin}\n{make()}\n{end}{after}"
    return text


if __name__ == "__main__":
    PAGE.write_text(with_tables(PAGE.read_text()))
