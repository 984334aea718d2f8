"""Types of options: a length with its unit, and the size of a picture."""

from __future__ import annotations

import click


class Length(click.ParamType["float"]):
    """A length with its unit, such as 2.5m, converted to millimetres."""

    name = "length"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The length in millimetres. A mistake ends the command with what to write instead."""
        from exhibit.folder.report.type_sizes import length_mm

        try:
            return length_mm(str(value))
        except ValueError as fault:
            self.fail(f"{fault}.", param, ctx)


class Pixels(click.ParamType["tuple[int, int]"]):
    """The size of a picture in pixels, such as 1920x1080."""

    name = "pixels"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        """Width and height in pixels. A mistake ends the command with what to write instead."""
        width, _, height = str(value).lower().partition("x")
        if not (
            width.isdigit() and height.isdigit() and 0 < int(width) < 100_000 and 0 < int(height) < 100_000
        ):
            self.fail(f'"{value}" is not the size of a picture: write it as 1920x1080.', param, ctx)
        return int(width), int(height)
