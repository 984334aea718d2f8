"""Changes single values of a TOML text and leaves every other character as it is."""

from __future__ import annotations

from collections.abc import Mapping

from exhibit.folder.reading.toml_lines import Path, spans_of


def with_values(text: str, values: Mapping[Path, str]) -> str:
    """The text with other texts for values at some paths: comments, layout and ends of lines are kept.

    Only text that tomllib has taken may be given. Raises KeyError for a path at which no value stands,
    and ValueError for a value that would need escaping.
    """
    spans = spans_of(text)
    for value in values.values():
        if not value.isprintable() or '"' in value or "\\" in value:
            raise ValueError(f"{value!r} can't be written without escapes")
    # From the end, so that what comes before stays where it was.
    for path in sorted(values, key=lambda path: spans[path], reverse=True):
        start, end = spans[path]
        text = f'{text[:start]}"{values[path]}"{text[end:]}'
    return text
