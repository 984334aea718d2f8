"""Lengths and the sizes of pictures, as options of `exhibit` take them."""

from __future__ import annotations

import click


class Length(click.ParamType["float"]):
    """A length with its unit, as millimetres."""

    name = "length"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Millimetres; or says what to write."""
        from exhibit.folder.report.type_sizes import length_mm

        try:
            return length_mm(str(value))
        except ValueError as fault:
            self.fail(f"{fault}.", param, ctx)


class Pixels(click.ParamType["tuple[int, int]"]):
    """The size of a picture, as 1920x1080."""

    name = "pixels"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        """Across and down; or says what to write."""
        across, _, down = str(value).lower().partition("x")
        if not (
            across.isdigit() and down.isdigit() and 0 < int(across) < 100_000 and 0 < int(down) < 100_000
        ):
            self.fail(f'"{value}" is no size of a picture: write one as 1920x1080.', param, ctx)
        return int(across), int(down)
