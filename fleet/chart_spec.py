"""Vega-Lite specs: plain dicts, one per chart, for page, paper and mail.

Colours are names (ink, deep, sea, alert, muted, hatch) that ``charts.js`` replaces by the theme's
and ``painted`` by those of paper, so that one spec serves page, night, paper and mail.
``description`` is the sentence the chart says: its title wherever it stands.
"""

SCHEMA = "https://vega.github.io/schema/vega-lite/v5.json"


def base(data: list[dict], layers: list[dict], height: int, title: str) -> dict:
    return {
        "$schema": SCHEMA,
        "description": title,
        "width": "container",
        "height": height,
        "data": {"values": data},
        "layer": layers,
    }


def painted(spec: dict | list, colours: dict[str, str]) -> dict | list:
    """Return the spec with colours by value; ``hatch`` becomes the pattern of that name."""
    if isinstance(spec, list):
        return [painted(each, colours) for each in spec]
    if not isinstance(spec, dict):
        return spec
    named = colours | {"hatch": "url(#hatch)"}
    return {
        key: named.get(value, value) if key == "color" and isinstance(value, str)
        else painted(value, colours)
        for key, value in spec.items()
    }  # fmt: skip
