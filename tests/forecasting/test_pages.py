"""Pages of the forecast: what they say to an empty fleet, to each role, and of odd parts."""

import datetime as dt
import json
import re

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from fleet.models import Fleet, Membership
from forecasting import refresh
from forecasting.models import ModelRun, PartOutlook
from tests import builders
from tests.crowds import crowd

pytestmark = pytest.mark.django_db
IMPORT = "Import a workbook"
# What a page says while the fleet has no boat, and then boats without parts.
NOTHING_YET = {
    "fleet": "No boats yet",
    "boats": "No boats yet",
    "outlook": "No outlook yet",
    "refit": "No refit list yet",
    "budget": "No budget yet",
    "how": "No forecast has been made for wires yet",
    "trust": "The forecast has not been tested yet",
    "hours": "No outlook yet",
    "inspections": "No inspection is on record yet",
    "reminders": "Nothing is due within two months",
    "fleet_settings": "No base yet. Import a workbook",
    "import": "Start from the template",
}
SAYS_HOW = ("fleet", "boats", "outlook", "refit", "budget", "how", "hours")


@pytest.fixture
def fleet() -> Fleet:
    call_command("new_fleet", "Quiet Haven", "mara@example.org", verbosity=0)
    return Fleet.objects.get()


def signed_in(fleet: Fleet, role: str = "manager") -> Client:
    user = builders.person(f"{role}-{fleet.slug}", fleet, role)
    client = Client()
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client


def read(client: Client, fleet: Fleet, name: str, pk: int | None = None) -> str:
    kwargs = {"fleet": fleet.slug} | ({"pk": pk} if pk else {})
    answer = client.get(reverse(name, kwargs=kwargs))
    assert answer.status_code == 200
    return answer.content.decode()


# -- empty fleets


@pytest.mark.parametrize(("name", "words"), NOTHING_YET.items())
def test_a_new_fleet_is_told_on_every_page_what_to_do(fleet, name, words):
    text = read(signed_in(fleet), fleet, name)
    assert words in text
    if name in SAYS_HOW:
        assert IMPORT in text
        assert reverse("import", kwargs={"fleet": fleet.slug}) in text


@pytest.mark.parametrize("name", ["fleet", "boats", "outlook", "refit", "budget"])
def test_a_refresh_of_nothing_promises_no_cost_and_no_rest(fleet, name):
    refresh.run(fleet, fleet.today())
    text = read(signed_in(fleet), fleet, name)
    assert NOTHING_YET[name] in text
    assert "most likely cost" not in text


@pytest.mark.parametrize("refreshed", [False, True])
@pytest.mark.parametrize("name", NOTHING_YET)
def test_a_boat_without_parts_or_looks_breaks_no_page(fleet, name, refreshed):
    boat = builders.boat(fleet, "Tern")
    if refreshed:
        refresh.run(fleet, fleet.today())
    client = signed_in(fleet)
    text = read(client, fleet, name)
    assert "most likely cost" not in text
    if name == "boats":
        assert "never" in text
        assert "no outlook yet" in text
    assert "No wire is on record for this boat" in read(client, fleet, "boat", boat.pk)


def test_a_fleet_without_history_gets_the_rule_of_thumb_and_is_told_so(fleet):
    boat = builders.boat(fleet, "Tern")
    builders.wire(boat)
    refresh.run(fleet, fleet.today())
    client = signed_in(fleet)
    for name in ("fleet", "boats", "outlook", "refit", "budget"):
        assert "Rule of thumb, your boats so far" in read(client, fleet, name)
    assert "common practice" in read(client, fleet, "how")
    assert "1 in" in read(client, fleet, "boat", boat.pk)


@pytest.mark.parametrize("name", NOTHING_YET)
def test_an_empty_page_shuts_nobody_out(
    fleet, name, live_server, page_at, accessibility_faults, transactional_db
):
    page = page_at(390, user=builders.person("mara", fleet))
    page.goto(reverse(name, kwargs={"fleet": fleet.slug}))
    assert NOTHING_YET[name] in page.locator("main").inner_text()
    assert accessibility_faults(page) == []


# -- roles


@pytest.mark.parametrize("role", Membership.Role.values)
def test_every_role_reads_every_page_and_only_a_writer_is_offered_to_record(role):
    rows = builders.one_of_each("harbour")
    client = signed_in(rows.fleet, role)
    for name in NOTHING_YET:
        assert read(client, rows.fleet, name)
    offered = "Record an inspection" in read(client, rows.fleet, "boat", rows.boat.pk)
    assert offered == (role != "accountant")


# -- one boat


def test_a_part_newer_than_the_forecast_says_when_it_was_fitted():
    rows = builders.one_of_each("harbour")
    builders.wire(rows.boat, stay="backstay", side="", fitted_on=dt.date(2026, 10, 1))
    text = row_of(read(signed_in(rows.fleet), rows.fleet, "boat", rows.boat.pk), "Backstay")
    assert "fitted 1 Oct 2026" in text
    assert "no outlook yet" in text
    assert "inspect and keep" not in text


def test_a_condemned_part_is_never_said_to_be_kept():
    rows = builders.one_of_each("harbour")
    rows.part.condemned_on = dt.date(2026, 10, 10)
    rows.part.save()
    text = row_of(read(signed_in(rows.fleet), rows.fleet, "boat", rows.boat.pk), "Cap shroud")
    assert "since 10 Oct 2026" in text
    assert "inspect and keep" not in text


def test_an_age_nobody_knows_is_said_to_be_unknown():
    rows = builders.one_of_each("harbour")
    PartOutlook.objects.update(age=None)
    text = row_of(read(signed_in(rows.fleet), rows.fleet, "boat", rows.boat.pk), "Cap shroud")
    assert "not known" in text


def row_of(page: str, part: str) -> str:
    """Return the words of the row of that part."""
    (row,) = [row for row in re.findall(r"<tr id=\"part.*?</tr>", page, re.S) if part in row]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", row))


def test_a_boat_that_left_is_kept_for_its_record_and_not_inspected():
    rows = builders.one_of_each("harbour")
    rows.boat.left = dt.date(2026, 9, 1)
    rows.boat.save()
    client = signed_in(rows.fleet)
    text = read(client, rows.fleet, "boat", rows.boat.pk)
    assert "Left the fleet on 1 Sep 2026" in text
    assert "Record an inspection" not in text
    assert rows.boat.name not in read(client, rows.fleet, "boats")


# -- how the forecast was made


def test_a_refused_attempt_is_told_beside_the_model_that_stays():
    rows = builders.one_of_each("harbour")
    ModelRun.objects.create(
        fleet=rows.fleet, kind="wire", as_of=builders.TODAY, state="refused", lives=3,
        sentence="All condemned on one boat.", fingerprint="0" * 64, code_version="v",
    )  # fmt: skip
    text = read(signed_in(rows.fleet), rows.fleet, "how")
    assert "was refused: All condemned on one boat." in text
    assert "The model of 14 Oct 2026 stays in force." in text


def test_what_was_left_out_is_counted_by_reason():
    rows = builders.one_of_each("harbour")
    text = re.sub(r"<[^>]+>", " ", read(signed_in(rows.fleet), rows.fleet, "how"))
    assert re.search(r"[Nn]ever seen.*\s2\s", text)


# -- names are names


MARKUP = "<b>Tern</b>&\"'</script>"


@pytest.mark.parametrize(
    "name", ["fleet", "boats", "outlook", "refit", "budget", "inspections", "reminders"]
)
def test_markup_in_a_name_is_shown_and_not_obeyed(name):
    fleet = crowd("harbour", 1)
    fleet.boats.update(name=MARKUP)
    text = read(signed_in(fleet), fleet, name)
    assert MARKUP not in text
    assert "<b>Tern" not in text
    assert "&lt;b&gt;Tern&lt;/b&gt;" in text


@pytest.mark.parametrize("name", ["outlook", "how", "budget"])
def test_the_chart_of_a_page_is_data_the_script_can_read(name):
    fleet = crowd("harbour", 2)
    text = read(signed_in(fleet), fleet, name)
    (spec,) = re.findall(
        r'<script id="\w+-spec" type="application/json">(.*?)</script>', text, re.S
    )
    assert json.loads(spec)["data"]["values"]
    assert " style=" not in text
    assert " onclick=" not in text
