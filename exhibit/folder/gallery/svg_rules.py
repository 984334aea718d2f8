"""What a museum's SVG may contain. Everything else is left out or refused."""

from __future__ import annotations

import re
from typing import Final

SVG: Final = "http://www.w3.org/2000/svg"
XLINK: Final = "http://www.w3.org/1999/xlink"
GRADIENTS: Final = frozenset({"linearGradient", "radialGradient"})
DRAWN: Final = frozenset(
    {"g", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "tspan", "defs"}
    | {"stop", "clipPath"}
    | GRADIENTS
)
"""The elements that are kept, inside the outermost svg."""
UNSEEN: Final = frozenset({"title", "desc", "metadata"})
"""Left out with all that is in them: they say something about the picture and draw nothing."""
WITH_TEXT: Final = frozenset({"text", "tspan"})

STYLES: Final = frozenset(
    {"fill", "fill-opacity", "fill-rule", "stroke", "stroke-width", "stroke-opacity", "stroke-linecap"}
    | {"stroke-linejoin", "stroke-miterlimit", "stroke-dasharray", "stroke-dashoffset", "opacity", "color"}
    | {"display", "visibility", "clip-path", "clip-rule", "stop-color", "stop-opacity", "paint-order"}
    | {"font-family", "font-size", "font-weight", "font-style", "text-anchor", "letter-spacing"}
)
"""Properties that are kept, as attributes, whether they are attributes or stand in `style`."""
ATTRIBUTES: Final = STYLES | frozenset(
    {"d", "points", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "dx", "dy", "fx", "fy"}
    | {"width", "height", "offset", "transform", "gradientUnits", "gradientTransform", "spreadMethod"}
    | {"clipPathUnits"}
)

_WITHOUT: Final = "the picture without it"
REFUSED: Final[dict[str, tuple[str, str]]] = {
    "script": ("contains a script, which could do anything on the page", _WITHOUT),
    "foreignObject": ("contains a piece of another document, which could do anything on the page", _WITHOUT),
    "iframe": ("contains a piece of another document, which could do anything on the page", _WITHOUT),
    "image": (
        "contains another picture, which could come from anywhere",
        "a drawing of lines and shapes; or a photograph as a file of its own, .jpg, .png or .webp",
    ),
    "use": ("contains a copy of another element (use)", "the picture with each copy as shapes of its own"),
    "a": ("contains a link, and a picture of a part leads nowhere", "the picture without links"),
    "style": (
        "contains a style sheet, which could load anything",
        "the picture with its colours and lines as attributes of the shapes",
    ),
    "svg": ("contains a second svg inside the first", "the inner picture as a group (g)"),
    **dict.fromkeys(
        ("animate", "animateMotion", "animateTransform", "animateColor", "set", "discard", "mpath"),
        ("contains an animation, and on this page only what the machine does moves", _WITHOUT),
    ),
}
"""Elements that are refused with a reason of their own."""

PLAIN_VALUE: Final = re.compile(r"[A-Za-z0-9\s.,#%()+\-_'\"]*")
"""No backslash, colon, slash or at sign: nothing that could hide an address."""
LOCAL: Final = re.compile(r"\s*url\(\s*(['\"]?)#([A-Za-z_][\w.\-]*)\1\s*\)([\sA-Za-z0-9#]*)")
LOCAL_LINK: Final = re.compile(r"#([A-Za-z_][\w.\-]*)")
