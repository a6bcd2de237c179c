"""The pages' own chart specs as SVG for a paper, in the colours of the paper theme."""

import re

from .. import charts

# The light theme of the pages, as in stayward.css.
COLOURS = {
    "ink": "#16243c",
    "deep": "#b8d3e0",
    "sea": "#dfeaf1",
    "alert": "#a30f58",
    "muted": "#50607a",
}
RULE = "#cfc5b0"
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


def svg(spec: dict, width: int, height: int) -> str:
    """Return the chart as SVG, its plot ``width`` by ``height`` px.

    Draws nothing from the network. Must not be called in a process that forks afterwards.
    """
    import vl_convert  # Slow to load, and starts threads of its own.

    sized = charts.painted(spec, COLOURS) | {"width": width, "height": height}
    drawn = vl_convert.vegalite_to_svg(sized, config=CONFIG, allowed_base_urls=[])
    return re.sub(r"(<svg[^>]*>)", rf"\1{HATCH}", drawn, count=1)
