"""Charts of the page on trust: counts expected and found, curves beside what was seen."""

from collections.abc import Mapping, Sequence

from .charts import base, tooltips

BAR = 18  # pixels: six of them fit a phone


def counts(rows: Sequence[Mapping], place: str, title: str) -> dict:
    """Chart of what was expected, with its bounds, and what was found, side by side.

    rows: place (a year or a group's name), low, expected, high, observed.
    """
    x = {"field": place, "type": "ordinal", "title": None, "sort": None,
         "axis": {"labelAngle": 0, "labelLimit": 120, "labelOverlap": True}}  # fmt: skip
    top = max(1.0, *(row["high"] for row in rows), *(row["observed"] for row in rows))
    y = {"type": "quantitative", "title": "condemned", "scale": {"domain": [0, 1.05 * top]}}
    last = [{"filter": f"datum.{place} == '{rows[-1][place]}'"}]
    layers = [
        {"mark": {"type": "bar", "width": BAR, "color": "deep"},
         "encoding": {"x": x, "y": {"field": "low", **y}, "y2": {"field": "high"}}},
        {"mark": {"type": "tick", "width": BAR, "thickness": 2, "color": "muted"},
         "encoding": {"x": x, "y": {"field": "expected", **y}}},
        {"mark": {"type": "point", "filled": True, "size": 90, "color": "ink"},
         "encoding": {"x": x, "y": {"field": "observed", **y},
                      "tooltip": tooltips("low", "expected", "high", "observed")}},
        _words(last, x, {"field": "observed", **y}, "found", "ink", 0),
        _words(last, x, {"field": "expected", **y}, "expected", "muted", _apart(rows[-1], rows)),
    ]  # fmt: skip
    room = {"right": 70, "left": 5, "top": 5, "bottom": 5}
    return {**base(list(rows), layers, 260, title), "padding": room}


def _apart(last: Mapping, rows: Sequence[Mapping]) -> int:
    """Pixels to move the second label by where the two would lie on each other."""
    scale = 260 / max(*(row["high"] for row in rows), *(row["observed"] for row in rows), 1)
    gap = (last["expected"] - last["observed"]) * scale
    if abs(gap) >= 16:
        return 0
    return round(-(16 - gap)) if gap >= 0 else round(16 + gap)


def _words(only: list[dict], x: dict, y: dict, words: str, color: str, dy: int) -> dict:
    mark = {"type": "text", "align": "left", "dx": 15, "dy": dy, "text": words, "color": color}
    return {"transform": only, "mark": mark, "encoding": {"x": x, "y": y}}


def beside(group: Mapping, title: str, across: str = "years since fitting") -> dict:
    """Chart of a curve and the steps seen, in percent not condemned.

    group: steps and curve as lists of (age, percent).
    """
    rows = [
        {"of": name, "age": age, "stands": stands}
        for name in ("steps", "curve")
        for age, stands in group[name]
    ]
    lowest = min(row["stands"] for row in rows)
    floor = 0 if lowest < 55 else 10 * (lowest // 10)
    x = {"field": "age", "type": "quantitative", "title": across, "scale": {"nice": False}}
    y = {"field": "stands", "type": "quantitative", "title": "not condemned, %",
         "scale": {"domain": [floor, 100]}}  # fmt: skip
    steps, curve = ([{"filter": f"datum.of == '{name}'"}] for name in ("steps", "curve"))
    layers = [
        {"transform": curve, "mark": {"type": "line", "color": "deep", "strokeWidth": 6},
         "encoding": {"x": x, "y": y}},
        {"transform": steps,
         "mark": {"type": "line", "color": "ink", "strokeWidth": 1.5, "interpolate": "step-after"},
         "encoding": {"x": x, "y": y, "tooltip": tooltips("age", "stands")}},
    ]  # fmt: skip
    return base(rows, layers, 220, title)
