"""Makes the display that a machine's folder describes."""

from collections.abc import Mapping

from exhibit.decisions.paper import Paper
from exhibit.decisions.screen import Screen
from exhibit.facts.display import Display

AnyDisplay = Screen | Paper


def display_for(display: Display, answers: Mapping[str, bytes] | None = None) -> AnyDisplay:
    """A blank display of that kind and size. answers: see Screen."""
    if display.kind == "paper":
        return Paper(
            display.columns,
            keep_rows=display.rows,
            wrap=display.wrap,
            tab_columns=display.tab_columns,
            form_feed=display.form_feed,
            answers=answers,
        )
    return Screen(
        display.rows,
        display.columns,
        wrap=display.wrap,
        tab_columns=display.tab_columns,
        form_feed=display.form_feed,
        answers=answers,
    )
