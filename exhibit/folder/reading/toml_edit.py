"""Changes single values of a TOML text and keeps every other character."""

from __future__ import annotations

from collections.abc import Mapping

from exhibit.folder.reading.toml_lines import Path, spans_of


def with_values(text: str, values: Mapping[Path, str]) -> str:
    """Return the TOML text with new texts as the values at these paths; comments and layout are kept.

    The text must be one that tomllib has accepted. Raises KeyError for a path without a value, and ValueError
    for a value that would need escaping.
    """
    spans = spans_of(text)
    for value in values.values():
        if not value.isprintable() or '"' in value or "\\" in value:
            raise ValueError(f"{value!r} can't be written without escapes")
    # From the end backwards, so that the spans before it stay valid.
    for path in sorted(values, key=lambda path: spans[path], reverse=True):
        start, end = spans[path]
        text = f'{text[:start]}"{values[path]}"{text[end:]}'
    return text
