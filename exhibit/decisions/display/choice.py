"""Makes the display that a machine's folder describes."""

from exhibit.decisions.display.paper import Paper
from exhibit.decisions.display.screen import Screen
from exhibit.facts.display import Display

AnyDisplay = Screen | Paper


def display_for(display: Display) -> AnyDisplay:
    """A blank display of that kind and size."""
    if display.kind == "paper":
        return Paper(
            display.columns,
            keep_rows=display.rows,
            wrap=display.wrap,
            tab_columns=display.tab_columns,
            form_feed=display.form_feed,
        )
    return Screen(
        display.rows,
        display.columns,
        wrap=display.wrap,
        tab_columns=display.tab_columns,
        form_feed=display.form_feed,
    )
