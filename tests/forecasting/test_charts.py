"""Charts: each mark where its number says, drawn by the engine the page uses."""

import json
import re
import subprocess
import sys
from xml.etree import ElementTree

import pytest
from django.conf import settings

from forecasting import charts, curves
from forecasting.survival import rule_of_thumb

WIDTH = 600
SVG = "{http://www.w3.org/2000/svg}"
# A process of its own: the engine starts threads that a forked server would not survive.
DRAW = (
    "import json, sys, vl_convert; "
    "print(json.dumps([vl_convert.vegalite_to_svg(spec) for spec in json.load(sys.stdin)]))"
)
ROWS = curves.whole_part(rule_of_thumb())
YEARS = [
    {"year": str(2027 + n), "mean": 900.0 + n, "p10": 500.0, "p50": 800.0 + 10 * n, "p90": 1900.0}
    for n in range(10)
]
TITLE = "What the chart says"


def drawn(*specs: dict) -> list[ElementTree.Element]:
    """Return the SVG of each spec, at a fixed width."""
    sized = json.dumps([{**spec, "width": WIDTH} for spec in specs])
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", DRAW],
        input=sized, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [ElementTree.fromstring(svg) for svg in json.loads(done.stdout)]


@pytest.fixture(scope="module")
def pictures() -> dict[str, ElementTree.Element]:
    """Every chart there is, drawn at once: the engine takes a second to start."""
    specs = {
        "fleet's own": charts.survival(ROWS, 14.3, hatched=False, title=TITLE),
        "rule of thumb": charts.survival(ROWS, 0, hatched=True, title=TITLE),
        "no record": charts.survival(ROWS, 0, hatched=False, title=TITLE),
        "budget": charts.budget(YEARS, "EUR", hatched=False, title=TITLE),
        "one year": charts.budget(YEARS[:1], "JPY", hatched=False, title=TITLE),
        "nothing to pay": charts.budget(
            [{**year, "mean": 0.0, "p10": 0.0, "p50": 0.0, "p90": 0.0} for year in YEARS],
            "EUR",
            hatched=False,
            title=TITLE,
        ),
    }
    return dict(zip(specs, drawn(*specs.values()), strict=True))


def marks(picture: ElementTree.Element, kind: str) -> list[list[tuple[float, float]]]:
    """Return the corners of each path of that kind of mark."""
    groups = [g for g in picture.iter(f"{SVG}g") if f"mark-{kind}" in g.get("class", "")]
    paths = [path.get("d") or "" for group in groups for path in group.iter(f"{SVG}path")]
    return [
        [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+),(-?[\d.]+)", path)]
        for path in paths
        if path
    ]


def words(picture: ElementTree.Element) -> list[str]:
    return [text.text or "" for text in picture.iter(f"{SVG}text")]


def test_the_line_goes_through_the_share_not_condemned_at_each_age(pictures):
    (line,) = marks(pictures["fleet's own"], "line")
    assert len(line) == len(ROWS)
    for (x, y), row in zip(line, ROWS, strict=True):
        assert x == pytest.approx(WIDTH * row["age"] / ROWS[-1]["age"], abs=0.01)
        assert y == pytest.approx(300 * (1 - row["middle"] / 100), abs=0.01)


def test_the_band_reaches_from_the_low_to_the_high_bound(pictures):
    (band,) = [area for area in marks(pictures["rule of thumb"], "area") if len(area) > 2]
    depths = {round(x, 2): [] for x, _ in band}
    for x, y in band:
        depths[round(x, 2)].append(y)
    for row in ROWS:
        edge = depths[round(WIDTH * row["age"] / ROWS[-1]["age"], 2)]
        assert min(edge) == pytest.approx(300 * (1 - row["high"] / 100), abs=0.01)
        assert max(edge) == pytest.approx(300 * (1 - row["low"] / 100), abs=0.01)


def test_the_solid_band_ends_where_the_hatched_one_begins(pictures):
    """A record to 14.3 years falls between two ages of the curve: no gap may open there."""
    solid, hatched = marks(pictures["fleet's own"], "area")
    assert max(x for x, _ in solid) == min(x for x, _ in hatched)
    assert max(x for x, _ in solid) == pytest.approx(WIDTH * 14 / 25)


def test_what_rests_on_common_practice_is_hatched_throughout():
    _, hatched, _ = charts.survival(ROWS, 14.3, hatched=True, title=TITLE)["layer"]
    assert hatched["mark"]["color"] == "hatch"
    assert hatched["transform"] == [{"filter": "datum.age >= 0"}]


def test_axes_say_what_they_count_and_start_at_nothing(pictures):
    said = words(pictures["fleet's own"])
    assert {"years since fitting", "not condemned, %", "0", "100"} <= set(said)
    said = words(pictures["budget"])
    assert "EUR" in said
    assert any(re.fullmatch(r"0(\.0)?k?", text) for text in said)
    assert {year["year"] for year in YEARS} <= set(said)


def test_money_is_drawn_to_scale_and_labelled_where_it_ends(pictures):
    (line,) = marks(pictures["budget"], "line")
    heights = [320 - y for _, y in line]
    assert heights == pytest.approx([heights[0] * year["p50"] / 800 for year in YEARS])
    labels = {text: place(pictures["budget"], text) for text in ("P10", "P50", "P90")}
    assert labels["P50"][1] == pytest.approx(line[-1][1], abs=6)
    assert labels["P90"][1] < labels["P50"][1] < labels["P10"][1]
    assert all(x > line[-1][0] for x, _ in labels.values())


def place(picture: ElementTree.Element, text: str) -> tuple[float, float]:
    (found,) = [each for each in picture.iter(f"{SVG}text") if each.text == text]
    x, y = re.search(r"translate\((-?[\d.]+),(-?[\d.]+)\)", found.get("transform")).groups()
    return float(x), float(y)


@pytest.mark.parametrize("name", ["one year", "nothing to pay", "no record"])
def test_a_chart_of_next_to_nothing_is_still_drawn(pictures, name):
    assert words(pictures[name])


def test_one_year_has_its_band_as_a_bar_from_p10_to_p90(pictures):
    """An area of one year would have no width: the doubt would not be drawn at all."""
    (bar,) = [path.get("d") for path in pictures["one year"].iter(f"{SVG}path")
              if path.get("aria-roledescription") == "bar"]  # fmt: skip
    top, width, height = map(float, re.search(r"M[\d.]+,([\d.]+)h([\d.]+)v([\d.]+)", bar).groups())
    (line,) = [each.get("transform") for each in pictures["one year"].iter(f"{SVG}path")
               if each.get("aria-roledescription") == "point"]  # fmt: skip
    middle = float(re.search(r",([\d.]+)\)", line)[1])
    assert width == charts.ONE_YEAR
    scale = height / (YEARS[0]["p90"] - YEARS[0]["p10"])
    assert middle - top == pytest.approx(scale * (YEARS[0]["p90"] - YEARS[0]["p50"]), abs=0.1)
    assert 320 - top == pytest.approx(scale * YEARS[0]["p90"], abs=0.1)


def test_where_nothing_is_to_pay_the_axis_does_not_run_below_nothing(pictures):
    assert not [text for text in words(pictures["nothing to pay"]) if text.startswith("\u2212")]


# -- the page's script


def colours(spec: object) -> set[str]:
    """Return every colour a spec names."""
    if isinstance(spec, dict):
        own = {spec["color"]} if isinstance(spec.get("color"), str) else set()
        return own.union(*map(colours, spec.values()))
    return set().union(*map(colours, spec)) if isinstance(spec, list) else set()


def test_every_colour_a_chart_names_is_one_of_the_theme_by_day_and_night():
    script = (settings.BASE_DIR / "fleet/static/charts.js").read_text()
    known = set(re.search(r"const names = \[(.*?)\]", script)[1].replace('"', "").split(", "))
    named = colours(charts.survival(ROWS, 9, hatched=False, title=TITLE)) | colours(
        charts.budget(YEARS, "EUR", hatched=False, title=TITLE)
    )
    assert named - {"hatch"} <= known
    styles = (settings.BASE_DIR / "fleet/static/stayward.css").read_text()
    day, night = re.findall(r":root \{([^}]*--ink:[^}]*)\}", styles)[:2]
    for theme in (day, night):
        assert known <= set(re.findall(r"--(\w+):", theme))
