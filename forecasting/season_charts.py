"""What the off seasons of a plan cost, base by base, as a chart; and the ages of the wires."""

from fleet.chart_spec import base
from fleet.models import Fleet
from fleet.templatetags.wording import WHOLE_UNITS, about

from .season_reads import SeasonAtBase

FILLS = ("deep", "sea", "#efe3c8", "#ffffff")  # Told apart in grey, too.
OTHERS = "other bases"
ROOM_ABOVE = 1.15  # for the words over a limit
READABLE = 0.09  # of the tallest bar: below it a name does not fit


def seasons(found: list[dict], fleet: Fleet, title: str) -> dict | None:
    """Return bars of cost by off season, bases stacked and named; limits of money as lines.

    found: as of ``season_reads.by_season``. Nothing to draw gives none.
    """
    names = _named(found)
    tallest = max((season["cost"] for season in found), default=0)
    if not tallest:
        return None
    rows, limits = [], []
    for season in found:
        rows += _stacked(season, names, tallest, fleet)
        if season["limit"] is not None:
            limits.append({"season": season["label"], "limit": _units(season["limit"], fleet)})
    x = {"field": "season", "type": "ordinal", "title": None, "axis": {"labelAngle": 0}}
    most = max([tallest, *(season["limit"] or 0 for season in found)])
    y = {"type": "quantitative", "title": fleet.currency, "axis": {"format": "~s"},
         "scale": {"domain": [0, _units(most, fleet) * ROOM_ABOVE], "nice": False}}  # fmt: skip
    layers = [_bar(name, FILLS[k % len(FILLS)], x, y) for k, name in enumerate(names)]
    layers.append({
        "transform": [{"filter": "datum.readable"}],
        "mark": {"type": "text", "color": "ink", "fontSize": 9},
        "encoding": {"x": x, "y": {**y, "field": "middle"}, "text": {"field": "base"}},
    })  # fmt: skip
    if limits:
        layers += _limit_layers(limits, x, y)
    return base(rows, layers, 210, title)


def _named(found: list[dict]) -> list[str]:
    """Return the bases by cost, the dearest first; those beyond the fills count as one."""
    costs: dict[str, int] = {}
    for at in (at for season in found for at in season["bases"]):
        costs[at.base] = costs.get(at.base, 0) + at.cost
    names = sorted(costs, key=lambda name: (-costs[name], name))
    return names if len(names) <= len(FILLS) else [*names[: len(FILLS) - 1], OTHERS]


def _stacked(season: dict, names: list[str], tallest: int, fleet: Fleet) -> list[dict]:
    costs = dict.fromkeys(names, 0)
    for at in season["bases"]:
        costs[_name(at, names)] += at.cost
    rows, below = [], 0
    for name, cost in costs.items():
        if cost:
            rows.append({
                "season": season["label"], "base": name, "from": _units(below, fleet),
                "to": _units(below + cost, fleet), "middle": _units(below + cost / 2, fleet),
                "readable": cost > READABLE * tallest,
            })  # fmt: skip
        below += cost
    return rows


def _name(at: SeasonAtBase, names: list[str]) -> str:
    return at.base if at.base in names else OTHERS


def _units(minor: float, fleet: Fleet) -> float:
    return minor if fleet.currency in WHOLE_UNITS else minor / 100


def _bar(name: str, fill: str, x: dict, y: dict) -> dict:
    return {
        "transform": [{"filter": {"field": "base", "equal": name}}],
        "mark": {"type": "bar", "color": fill, "stroke": "#16243c", "strokeWidth": 0.6},
        "encoding": {"x": x, "y": {**y, "field": "from"}, "y2": {"field": "to"}},
    }


def _limit_layers(limits: list[dict], x: dict, y: dict) -> list[dict]:
    at = {"x": x, "y": {**y, "field": "limit"}}
    words = {"type": "text", "text": "money there is", "color": "alert", "dy": -8, "fontSize": 9}
    return [
        {"data": {"values": limits}, "encoding": at,
         "mark": {"type": "tick", "color": "alert", "thickness": 2.5, "width": {"band": 0.9}}},
        {"data": {"values": limits[:1]}, "encoding": at, "mark": words},
    ]  # fmt: skip


def seasons_title(found: list[dict], fleet: Fleet) -> str:
    """Return which off season costs most and which least, as the words for amounts round them."""
    if not any(season["cost"] for season in found):
        return "No work is planned in these off seasons"
    most = max(found, key=lambda season: season["cost"])
    least = min(found, key=lambda season: season["cost"])
    dearest = about(most["cost"], fleet.currency)
    alike = sum(about(season["cost"], fleet.currency) == dearest for season in found)
    if alike == len(found) > 1:
        return f"Each off season takes about as much, {dearest}"
    first = f"Most is renewed in {most['label']}, for {dearest}"
    if alike > 1:  # As where money is the limit: one of them is not named for a few units more.
        first = f"{alike} of {len(found)} off seasons take most, {dearest} each"
    cheapest = about(least["cost"], fleet.currency) if least["cost"] else "nothing"
    return f"{first}; least in {least['label']}, for {cheapest}"


def ages(found: list[dict], title: str) -> dict | None:
    """Return bars of how many wires are how old. found: age, wires, renew (of them, to renew)."""
    if not found:
        return None
    x = {"field": "age", "type": "ordinal", "title": "years since fitting",
         "axis": {"labelAngle": 0, "labelOverlap": True}}  # fmt: skip
    y = {"type": "quantitative", "title": "wires", "axis": {"tickMinStep": 1}}
    bars = ((None, "wires", "deep"), (None, "renew", "alert"))
    layers = [
        {"mark": {"type": "bar", "color": colour}, "encoding": {"x": x, "y": {**y, "field": field}}}
        for _, field, colour in bars
    ]
    most = max((row for row in found if row["renew"]), key=lambda row: row["renew"], default=None)
    if most:
        layers.append({
            "transform": [{"filter": {"field": "age", "equal": most["age"]}}],
            "mark": {"type": "text", "color": "alert", "dx": 16, "dy": -4, "align": "left",
                     "text": "on the refit list"},
            "encoding": {"x": x, "y": {**y, "field": "renew"}},
        })  # fmt: skip
    return base(found, layers, 120, title)
