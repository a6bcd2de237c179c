"""Charts of cost by the age of renewal, and by how often one looks."""

from collections.abc import Sequence

from fleet.chart_spec import base
from fleet.models import Fleet
from fleet.templatetags.wording import WHOLE_UNITS, about_figure

from . import ages_words
from .models import AgeGroup, LookCurve

HEIGHT = 300
GAP = 16  # pixels two labels need between them
CURVES = ("less", "own", "more")  # by the cost of a failure
PARTS = {
    "all": "all told", "soon": "found in time", "late": "found late", "looks": "looks",
    "failed": "failures",
}  # fmt: skip
PAST_RULE = 1.5  # times the rule, or the band's end, up to which intervals are drawn


def ages(group: AgeGroup, fleet: Fleet) -> dict:
    """Chart of the cost a part and year by the age of renewal, at three costs of a failure.

    The band are the ages within 2 % of the least at the fleet's own cost; hatched beyond the oldest
    age observed, or everywhere where common practice alone says how long a part lasts.
    """
    units = units_of(fleet)
    rows = [_priced(point, units) for point in group.curve]
    ends = [rows[-1][name] for name in CURVES]
    top, last = max(rows[0]["own"], 1.05 * max(ends)), rows[-1]["age"]
    x = _across("age", "renewed at, years", last)
    y = {"type": "quantitative", "title": f"{fleet.currency} a part and year",
         "scale": {"domain": [0, top], "nice": False, "clamp": True}}  # fmt: skip
    layers = _band(group, x, top, y)
    if group.rule_age and group.rule_age < last:
        layers += _mark(group.rule_age, f"the rule, {ages_words.years(group.rule_age)}", x, y, top)
    for name, found, place in zip(CURVES, group.by_cost, _places(ends, top), strict=True):
        words = f"failure {about_figure(found['failure'], fleet.currency)}"
        layers += _line(name, words, place, x | {"datum": last}, y, strong=name == "own")
        if ages_words.to_plan_by(group, found)["age"] is not None:
            layers.append(_point(found["age"], found["least"] / units, x, y))
    return base(rows, layers, HEIGHT, ages_words.curve_title(group, fleet))


def units_of(fleet: Fleet) -> int:
    return 1 if fleet.currency in WHOLE_UNITS else 100


def _priced(point: Sequence[float], units: int) -> dict:
    age, *costs = point
    costs = [round(cost / units, 2) for cost in costs]
    return {"age": age, **dict(zip(CURVES, costs, strict=True))}


def _line(name: str, words: str, place: float, x: dict, y: dict, *, strong: bool) -> list[dict]:
    """A line of the chart's rows, and its words to the right of its end, at a height of the axis.

    x holds the end, as `datum`, beside the field.
    """
    colour, width = ("ink", 2.5) if strong else ("muted", 1.5)
    along = {key: value for key, value in x.items() if key != "datum"}
    end = {key: value for key, value in x.items() if key != "field"}
    return [
        {"mark": {"type": "line", "color": colour, "strokeWidth": width, "clip": True},
         "encoding": {"x": along, "y": {**y, "field": name}}},
        {"data": {"values": [{"height": place}]},
         "mark": {"type": "text", "align": "left", "dx": 5, "text": words, "color": colour},
         "encoding": {"x": end, "y": {**y, "field": "height"}}},
    ]  # fmt: skip


def _across(field: str, title: str, last: float) -> dict:
    return {"field": field, "type": "quantitative", "title": title,
            "axis": {"format": "d", "tickMinStep": 1, "labelOverlap": True, "labelSeparation": 6},
            "scale": {"domain": [0, last], "nice": False}}  # fmt: skip


def _band(group: AgeGroup, x: dict, top: float, y: dict) -> list[dict]:
    found, last = ages_words.to_plan_by(group, group.own), group.curve[-1][0]
    if found["age"] is None:
        return []
    first, end = found["flat_from"], min(found["flat_until"] or last, last)
    edge = first if group.by_thumb else min(max(group.oldest, first), end)
    spans = [(first, edge, "deep"), (edge, end, "hatch")]
    return [_span(one, two, colour, x, top, y) for one, two, colour in spans if two > one]


def _span(first: float, last: float, colour: str, x: dict, top: float, y: dict) -> dict:
    """A band from the foot of the chart to its top."""
    return {"data": {"values": [{"from": first, "to": last, "top": top, "none": 0}]},
            "mark": {"type": "rect", "color": colour, "opacity": 0.75},
            "encoding": {"x": {**x, "field": "from"}, "x2": {"field": "to"},
                         "y": {**y, "field": "none"}, "y2": {"field": "top"}}}  # fmt: skip


def _mark(at: float, words: str, x: dict, y: dict, top: float) -> list[dict]:
    """A dashed line up from a place on the axis, with its words at the top."""
    data = {"data": {"values": [{"at": at, "top": top}]}}
    place = {"x": {**x, "field": "at"}}
    far = at > 0.7 * x["scale"]["domain"][1]
    side = {"align": "right", "dx": -5} if far else {"align": "left", "dx": 5}
    mark = {"type": "text", **side, "dy": 8, "text": words, "color": "ink"}
    return [
        {**data, "mark": {"type": "rule", "color": "muted", "strokeDash": [4, 4]},
         "encoding": place},
        {**data, "mark": mark, "encoding": {**place, "y": {**y, "field": "top"}}},
    ]  # fmt: skip


def _point(age: float, cost: float, x: dict, y: dict) -> dict:
    return {"data": {"values": [{"age": age, "cost": cost}]},
            "mark": {"type": "point", "filled": True, "size": 70, "color": "ink"},
            "encoding": {"x": x, "y": {**y, "field": "cost"}}}  # fmt: skip


def _places(values: Sequence[float], top: float) -> list[float]:
    """Return where on the axis to write beside lines that end at `values`: at each, but none nearer
    to the next than a line of words."""
    gap = GAP * top / HEIGHT
    order = sorted(range(len(values)), key=lambda k: values[k])
    places, below = dict.fromkeys(order, 0.0), -gap / 2
    for k in order:
        places[k] = below = max(values[k], below + gap)
    return [places[k] for k in range(len(values))]


def looks(row: LookCurve, fleet: Fleet) -> dict:
    """Chart of the cost a boat and year by how many months apart the looks are, and of its parts:
    looks, renewals found in time and found late, failures. The band: within 2 % of the least."""
    found, units = row.own, units_of(fleet)
    last = PAST_RULE * max(row.rule_months, found["flat_until"])
    rows = [_split(point, units) for point in row.curve if point[0] <= last]
    ends = [rows[-1][name] for name in PARTS]
    top, last = 2.2 * found["cost"] / units, rows[-1]["months"]
    x = _across("months", "months between looks", last)
    y = {"type": "quantitative", "title": f"{fleet.currency} a boat and year",
         "scale": {"domain": [0, top], "nice": False}}  # fmt: skip
    layers = [
        _span(found["flat_from"], min(found["flat_until"], last), "deep", x, top, y),
        *_mark(row.rule_months, f"your rule, {row.rule_months} months", x, y, top),
    ]
    places = _places(ends, top)
    for place, (name, words) in zip(places, PARTS.items(), strict=True):
        layers += _line(name, words, place, x | {"datum": last}, y, strong=name == "all")
    return base(rows, layers, HEIGHT, ages_words.look_title(row, fleet))


def _split(point: Sequence[float], units: int) -> dict:
    months, *costs = point
    look, soon, late, fail = (round(cost / units, 2) for cost in costs)
    return {"months": months, "looks": look, "soon": soon, "late": late, "failed": fail,
            "all": look + soon + late + fail}  # fmt: skip
