"""The Vega-Lite specs of the forecast, one per chart: see ``fleet.chart_spec``."""

from fleet.chart_spec import base

ONE_YEAR = 60  # px: the width of the band where there is one year to draw.


def survival(rows: list[dict], oldest: float, hatched: bool, title: str) -> dict:
    """Chart of the share of wires not condemned by age (years), with its 5 to 95 % band.

    ``rows``: age, middle, low, high in percent. ``oldest``: the age up to which the fleet's own
    record reaches; beyond it, or everywhere with ``hatched``, the band is hatched.
    """
    x = {"field": "age", "type": "quantitative", "title": "years since fitting",
         "scale": {"domain": [0, rows[-1]["age"]], "nice": False}}  # fmt: skip
    y = {"field": "middle", "type": "quantitative", "title": "not condemned, %",
         "scale": {"domain": [0, 100]}}  # fmt: skip
    band = {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}}
    # Both bands share a row, so that no gap opens between them.
    edge = 0 if hatched else max(row["age"] for row in rows if row["age"] <= oldest)
    own = {"filter": f"datum.age <= {edge}"}
    beyond = {"filter": f"datum.age >= {edge}"}
    layers = [
        {"transform": [own], "mark": {"type": "area", "color": "deep"}, "encoding": band},
        {"transform": [beyond], "mark": {"type": "area", "color": "hatch"}, "encoding": band},
        {"mark": {"type": "line", "color": "ink", "strokeWidth": 2.5},
         "encoding": {"x": x, "y": y, "tooltip": tooltips("age", "middle", "low", "high")}},
    ]  # fmt: skip
    return base(rows, layers, 300, title)


def budget(rows: list[dict], currency: str, hatched: bool, title: str) -> dict:
    """Chart of cost by fiscal year with P10 to P90. ``rows``: year, mean, p10, p50, p90, units.

    ``hatched``: the band rests on a rule of thumb.
    """
    x = {
        "field": "year",
        "type": "ordinal",
        "title": None,
        "axis": {"labelAngle": 0, "labelOverlap": True, "labelSeparation": 8},
    }
    money = {"type": "quantitative", "title": currency, "axis": {"format": "~s"}}
    if not any(row["p90"] for row in rows):
        money["scale"] = {"domain": [0, 1]}  # Else an axis of nothing runs below nothing.
    end = [{"filter": f"datum.year == '{rows[-1]['year']}'"}] if rows else []
    beside = 10 + (ONE_YEAR // 2 if len(rows) == 1 else 0)
    tip = tooltips("year", "mean", "p10", "p50", "p90")
    layers = [
        {"mark": band(rows, "hatch" if hatched else "deep"),
         "encoding": {"x": x, "y": {"field": "p10", **money}, "y2": {"field": "p90"}}},
        {"mark": {"type": "line", "color": "ink", "strokeWidth": 2.5, "point": {"color": "ink"}},
         "encoding": {"x": x, "y": {"field": "p50", **money}, "tooltip": tip}},
        *[label(end, x, money, field, words, beside) for field, words in
          (("p90", "P90"), ("p50", "P50"), ("p10", "P10"))],
    ]  # fmt: skip
    room = {"right": 36, "left": 5, "top": 5, "bottom": 5}
    return {**base(rows, layers, 320, title), "padding": room}


def band(rows: list[dict], colour: str) -> dict:
    """Return the mark of the band; of one year it is a bar, since an area needs two."""
    if len(rows) > 1:
        return {"type": "area", "color": colour}
    return {"type": "bar", "color": colour, "width": ONE_YEAR}


def label(only: list[dict], x: dict, money: dict, field: str, words: str, beside: int) -> dict:
    mark = {"type": "text", "align": "left", "dx": beside, "text": words, "color": "ink"}
    return {
        "transform": only,
        "mark": mark,
        "encoding": {"x": x, "y": {"field": field, **money}},
    }


def tooltips(*fields: str) -> list[dict]:
    return [{"field": field, "format": ",.0f"} if field != "year" else {"field": field}
            for field in fields]  # fmt: skip


ROOM = 0.58  # of the axis, past which words to the right would leave a phone


def evidence(rows: list[dict], curves: tuple[str, ...], title: str) -> dict:
    """Chart of what is believed of B10: hatched by common practice, solid with the own record.

    ``rows``: age, and for each of ``curves`` (practice; own, or so_far where the own record is too
    little to carry it and common practice still does) how likely, the highest 1.
    """
    x = {"field": "age", "type": "quantitative", "title": "one in ten condemned by, years",
         "scale": {"nice": False}}  # fmt: skip
    looks = {
        "practice": ({"color": "hatch"}, 1.5, "common practice"),
        "so_far": ({"color": "hatch", "fillOpacity": 0.6}, 3, "with your boats so far"),
        "own": ({"color": "deep", "fillOpacity": 0.75}, 1.5, "with your own record"),
    }
    y = {"type": "quantitative", "axis": None, "scale": {"domain": [0, 1.2]}}
    hills, names = [], []
    for name in curves:
        fill, width, words = looks[name]
        at = {"x": x, "y": {**y, "field": name}}
        hills += [
            {"mark": {"type": "area", **fill}, "encoding": at},
            {"mark": {"type": "line", "color": "ink", "strokeWidth": width}, "encoding": at},
        ]
        clear = _clear(rows, name, [other for other in curves if other != name])
        far = clear["age"] - rows[0]["age"] > ROOM * (rows[-1]["age"] - rows[0]["age"])
        place = {"align": "right" if far else "left", "dx": -6 if far else 6, "dy": -8}
        mark = {"type": "text", **place, "text": words, "color": "ink"}
        here = [{"filter": f"datum.age == {clear['age']}"}]
        names.append({"transform": here, "mark": mark, "encoding": at})
    return base(rows, hills + names, 200, title)


def _clear(rows: list[dict], name: str, others: list[str]) -> dict:
    """The point of a hill above which its name, written to the right, crosses no other hill.

    That is past the top of every higher one, where this one has come to stand above it; both only
    fall from there.
    """
    top = {each: max(rows, key=lambda row, of=each: row[of]) for each in (name, *others)}
    higher = [each for each in others if top[each][each] > top[name][name]]
    after = [
        row
        for row in rows
        if all(row["age"] > top[each]["age"] and row[name] >= row[each] for each in higher)
    ]
    return max(after or rows, key=lambda row: row[name])
