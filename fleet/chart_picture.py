"""The pages' own chart specs as pictures: SVG for a paper, PNG for a mail, in colours of paper.

The same spec gives the same bytes: no font of the machine, nothing from the network.
"""

import re
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from types import ModuleType

from . import chart_spec

# The light theme of the pages, as in stayward.css.
COLOURS = {
    "ink": "#16243c",
    "deep": "#b8d3e0",
    "sea": "#dfeaf1",
    "alert": "#a30f58",
    "muted": "#50607a",
}
RULE, SHEET = "#cfc5b0", "#fdfbf5"
HATCH = (
    '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)">'
    f'<rect width="7" height="7" fill="{COLOURS["sea"]}"/>'
    f'<path d="M0 0 V7" stroke="{COLOURS["muted"]}" stroke-width="1.6"/></pattern></defs>'
)
CONFIG = {
    "background": "transparent",
    "font": "DejaVu Sans",
    "view": {"stroke": None},
    "axis": {
        "labelColor": COLOURS["ink"],
        "titleColor": COLOURS["muted"],
        "gridColor": RULE,
        "domainColor": COLOURS["ink"],
        "tickColor": RULE,
        "labelFontSize": 11,
        "titleFontSize": 11,
        "titleFontWeight": "normal",
    },
    "axisX": {"grid": False},
    "text": {"fontSize": 11},
}
FINE = 2  # Pixels of a PNG for one of the page: sharp on a phone.


def svg(spec: dict, width: int, height: int | None = None, background: str = "transparent") -> str:
    """Return the chart as SVG, its plot ``width`` by ``height`` px (None: the spec's own).

    Must not be called in a process that forks afterwards: the engine's threads would be missing
    in the child, which then waits for them for ever.
    """
    size = {"width": width, "height": height or spec["height"]}
    sized = chart_spec.painted(spec, COLOURS) | size
    config = CONFIG | {"background": background}
    drawn = engine().vegalite_to_svg(sized, config=config, allowed_base_urls=[])
    return re.sub(r"(<svg[^>]*>)", rf"\1{HATCH}", drawn, count=1)


def png(spec: dict, width: int, height: int | None = None) -> bytes:
    """Return the chart as PNG on paper, twice as fine as its size in px; as ``svg`` otherwise."""
    return engine().svg_to_png(svg(spec, width, height, SHEET), scale=FINE)


@cache
def engine() -> ModuleType:
    """Return the drawing library, told of our font once a process."""
    import vl_convert  # Slow to load, and starts threads of its own.

    vl_convert.register_font_directory(str(fonts()))
    return vl_convert


def fonts() -> Path:
    """Return the folder of DejaVu Sans, which comes with matplotlib; matplotlib stays unloaded."""
    return Path(find_spec("matplotlib").origin).parent / "mpl-data" / "fonts" / "ttf"
