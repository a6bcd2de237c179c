"""Ages of renewal and intervals of looks: rows of a refresh, and the pages and files of them."""

import csv
import io
import re
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from python_calamine import CalamineWorkbook

from fleet.models import Price
from forecasting import ages_charts, ages_words, refresh
from forecasting.models import AgeGroup, ConditionRun, LookCurve, LookInterval
from tests import builders
from tests.cost_curves import cost_curves
from tests.forecasting.history import AS_OF
from tests.forecasting.test_charts import SVG, WIDTH, drawn, marks, words
from tests.forecasting.test_pages import read, signed_in
from tests.forecasting.test_watches import watched_fleet

pytestmark = pytest.mark.django_db


@pytest.fixture
def boat():
    return builders.boat(builders.empty_fleet("north", age_rule_years=12))


def test_a_refresh_tells_ages_and_intervals_for_three_costs_of_a_failure():
    fleet = watched_fleet(watches_needed=8).fleet
    Price.objects.create(fleet=fleet, item="failure", price_minor=9_000_00)
    refresh.run(fleet, AS_OF)
    group = AgeGroup.objects.of(fleet).get()
    assert (group.kind, group.construction) == ("wire", "1x19")
    assert [each["failure"] for each in group.by_cost] == [3_000_00, 9_000_00, 27_000_00]
    ages = [each["age"] for each in group.by_cost]
    assert ages == sorted(ages, reverse=True)
    assert all(each["keep"] > each["least"] for each in group.by_cost)
    assert group.curve[0][0] < ages[-1] < group.curve[-1][0]
    looks = {row.level: row for row in LookCurve.objects.of(fleet)}
    for row in LookInterval.objects.of(fleet):
        found = looks[row.level].own
        assert (found["flat_from"], found["flat_until"]) == (row.flat_from, row.flat_until)
        assert found["cost"] == row.cost_minor <= found["rule"]
        bests = [each["best"] for each in looks[row.level].by_cost]
        assert bests == sorted(bests, reverse=True)
    assert refresh.run(fleet, AS_OF).rewritten == 0
    assert "By rule of thumb: renew 1x19 wires" in read(signed_in(fleet), fleet, "ages")
    assert "by cost alone" in read(signed_in(fleet, "accountant"), fleet, "looks")


def test_a_fleet_without_evidence_gets_no_interval_but_the_reason(boat):
    look = builders.Inspection.objects.create(boat=boat, on=AS_OF, level="aloft", person="A Rigger")
    builders.outlooks(boat.fleet, boat, builders.wire(boat), look)
    LookCurve.objects.of(boat.fleet).delete()
    why = "8 of them looked at again; 20 are needed."
    ConditionRun.objects.create(fleet=boat.fleet, as_of=AS_OF, state="refused", sentence=why)
    text = read(signed_in(boat.fleet), boat.fleet, "looks")
    assert "How often to look is not said yet" in text
    assert why in text


def test_the_page_says_age_keeping_and_what_a_failure_was_taken_to_cost(boat):
    look = builders.Inspection.objects.create(
        boat=boat, on=AS_OF, level="aloft", person="A Rigger", competence="rigger"
    )
    builders.outlooks(boat.fleet, boat, builders.wire(boat), look)
    client = signed_in(boat.fleet, "bosun")
    text = read(client, boat.fleet, "ages")
    assert (
        "Renew 1x19 wires on private boats at Hollow Quay at 9 to 12 years, if not condemned "
        "before; keeping until condemned costs 40% more a year" in text
    )
    for said in ("<td>5,000", "<td>15,000", "<td>45,000", "your price", "never clears a part"):
        assert said in text
    assert reverse("fleet_settings", args=["north"]) + "#prices" in text
    assert "lists no price of a failure in service: 15,000 EUR is taken, from memory" in text
    Price.objects.create(fleet=boat.fleet, item="failure", price_minor=15_000_00)
    assert "priced by the fleet's own list" in read(client, boat.fleet, "ages").replace(
        "&#x27;", "'"
    )
    assert "your 12 months cost 10% more and find more in time" in read(client, boat.fleet, "looks")


def test_before_any_forecast_the_pages_say_how_to_get_one(boat):
    client = signed_in(boat.fleet)
    assert "No renewal age yet" in read(client, boat.fleet, "ages")
    assert "No interval yet" in read(client, boat.fleet, "looks")
    book = CalamineWorkbook.from_filelike(io.BytesIO(got(client, boat.fleet, "ages_xlsx")))
    assert book.get_sheet_by_name("Ages").to_python()[1][0].startswith("No group of parts")


SAID = {
    "none": ({"age": None, "flat_from": None, "flat_until": None}, "Inspect and keep 1x19 wires"),
    "no end": ({"flat_until": None}, "from 9 years on"),
    "too far": (
        {"age": 81.0, "flat_from": 69.0, "flat_until": 95.0},
        "beyond 40 years, and none was watched beyond 14 years",
    ),
}


@pytest.mark.parametrize("case", SAID)
def test_where_no_age_is_best_or_the_band_has_no_end_the_words_say_so(boat, case):
    group, _ = cost_curves(boat)
    changes, words = SAID[case]
    group.by_cost = [each | changes for each in group.by_cost]
    assert words in ages_words.sentence(group)
    kept = case != "no end"
    assert ("within 2%" in ages_words.lead_words(group)) != kept
    told = ages_words.told(group), *ages_words.columns(group)
    assert all((each["at"] == "inspect and keep") == kept for each in told)
    spec = ages_charts.ages(group, boat.fleet)
    bands = [layer for layer in spec["layer"] if layer["mark"]["type"] == "rect"]
    assert len(bands) == (0 if kept else 2)


def test_the_band_is_hatched_beyond_what_was_watched_and_where_it_rests_on_the_rule_of_thumb(boat):
    def colours(**facts):
        AgeGroup.objects.of(boat.fleet).delete()
        LookCurve.objects.of(boat.fleet).delete()
        group, _ = cost_curves(boat, **facts)
        layers = ages_charts.ages(group, boat.fleet)["layer"]
        return [each["mark"]["color"] for each in layers if each["mark"]["type"] == "rect"]

    assert colours(oldest=14.0) == ["deep"]
    assert colours(oldest=10.0) == ["deep", "hatch"]
    assert colours(oldest=5.0) == ["hatch"]
    assert colours(by_thumb=True) == ["hatch"]


def test_bands_and_labels_are_drawn_where_their_numbers_say(boat):
    group, look = cost_curves(boat)
    specs = ages_charts.ages(group, boat.fleet), ages_charts.looks(look, boat.fleet)
    ages, looks = drawn(*specs)
    assert band_of(ages) == pytest.approx((WIDTH * 9 / 18, WIDTH * 11.5 / 18), abs=0.5)
    assert band_of(looks) == pytest.approx((WIDTH * 16.2 / 40, WIDTH * 27.6 / 40), abs=0.5)
    assert {"failure 5,000", "failure 15,000", "failure 45,000", "the rule, 12 years"} <= {
        *words(ages)
    }
    assert {"all told", "found in time", "found late", "looks", "failures"} <= {*words(looks)}
    lines = [len(line) for line in marks(ages, "line")]
    assert lines == [len(group.curve)] * 3


def band_of(picture: ElementTree.Element) -> tuple[float, float]:
    """Return where the one band of a chart begins and ends, in pixels from its axis."""
    groups = [g for g in picture.iter(f"{SVG}g") if "mark-rect" in g.get("class", "")]
    (path,) = [path.get("d") for group in groups for path in group.iter(f"{SVG}path")]
    first, wide = re.match(r"M([\d.]+),[\d.]+h([\d.]+)", path).groups()
    return float(first), float(first) + float(wide)


def test_the_files_read_back_are_the_rows_to_the_cent(boat):
    group, look = cost_curves(boat)
    client = signed_in(boat.fleet)
    book = CalamineWorkbook.from_filelike(io.BytesIO(got(client, boat.fleet, "ages_xlsx")))
    ages = book.get_sheet_by_name("Ages").to_python()
    assert [row[7] for row in ages[1:]] == [each["least"] / 100 for each in group.by_cost]
    assert len(book.get_sheet_by_name("Curves").to_python()) == 1 + len(group.curve)
    looks = book.get_sheet_by_name("Looks").to_python()
    assert [row[7] for row in looks[1:]] == [each["cost"] / 100 for each in look.by_cost]
    rows = list(csv.reader(io.StringIO(got(client, boat.fleet, "ages_csv").decode())))
    assert [float(row[10]) for row in rows[1:4]] == [55.0, 58.0, 66.0]
    assert got(client, boat.fleet, "looks_csv").decode().count("Hollow Quay") == 3


def got(client, fleet, name: str) -> bytes:
    return client.get(reverse(name, args=[fleet.slug])).content
