"""A fleet of a size asked for: as many boats as asked, as believable as the small ones."""

import datetime as dt
import json
import statistics
from collections import Counter
from itertools import islice
from pathlib import Path
from random import Random

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Boat, Fleet
from fleet.spreadsheets.workbooks import MOST_ROWS
from fleet.spreadsheets.xlsx_contents import MOST_CELLS
from forecasting.demo_fleet.generate import FleetRecord, generate
from forecasting.demo_fleet.growth import FEWEST, GROUNDS, MOST, plan_of
from forecasting.demo_fleet.names import boat_names, people
from forecasting.demo_fleet.plans import AS_OF
from forecasting.demo_fleet.sheets import sheets
from forecasting.demo_fleet.truth import DAYS
from inspections.importing import import_workbook


@pytest.fixture(scope="module")
def thousand() -> FleetRecord:
    return generate(plans=(plan_of(1000),))[0]


def up(fleet: FleetRecord) -> list:
    return [p for r in fleet.records for p in r.parts if p.kind == "wire" and p.removed is None]


def test_a_thousand_boats_stand_on_twelve_thousand_wires(thousand: FleetRecord):
    assert sum(record.boat.left is None for record in thousand.records) == 1000
    assert 12_000 <= len(up(thousand)) <= 13_000
    assert any(record.boat.left for record in thousand.records), "boats come and go"


def test_no_two_of_a_thousand_boats_share_a_name(thousand: FleetRecord):
    names = Counter(record.boat.name.casefold() for record in thousand.records)
    assert names.most_common(1)[0][1] == 1


def test_the_boats_have_years_of_inspections_behind_them(thousand: FleetRecord):
    years = [(r.boat.end - r.boat.record_since) / DAYS for r in thousand.records]
    assert statistics.median(years) > 5
    looks = [len(record.looks) for record in thousand.records]
    assert statistics.median(looks) > 15
    assert looks.count(0) < 0.01 * len(looks)  # of a boat that has just joined


def test_one_to_six_wires_in_a_hundred_are_condemned_a_year_more_in_salt(thousand: FleetRecord):
    """Common practice, no source."""
    years, condemned = Counter(), Counter()
    for record in thousand.records:
        ground = record.boat.base.corrosivity
        for part in record.parts:
            if part.kind == "wire":
                since = max(part.fitted, record.boat.record_since)
                years[ground] += ((part.removed or record.boat.end) - since) / DAYS
                condemned[ground] += part.condemned is not None
    assert 0.01 < sum(condemned.values()) / sum(years.values()) < 0.06
    rates = [condemned[ground] / years[ground] for ground in sorted(years)]
    assert len(rates) == 5
    assert rates == sorted(rates)


def test_its_bases_lie_on_grounds_of_every_severity(thousand: FleetRecord):
    assert {base.corrosivity for base in thousand.plan.bases} == {"C2", "C3", "C4", "C5", "CX"}
    assert len({base.name for base in thousand.plan.bases}) == len(thousand.plan.bases)
    assert len({ground.name for ground in GROUNDS}) == len(GROUNDS)


def test_the_largest_fleet_still_fits_what_a_workbook_may_hold(thousand: FleetRecord):
    tables, times = sheets(thousand), MOST / 1000
    assert times * max(map(len, tables.values())) < MOST_ROWS
    assert times * sum(len(rows) * len(rows[0]) for rows in tables.values()) < MOST_CELLS


@pytest.mark.parametrize("boats", [0, FEWEST - 1, MOST + 1])
def test_a_size_nobody_can_make_is_refused_in_words(boats: int, tmp_path: Path):
    with pytest.raises(CommandError, match="from 10 to 2,000 boats"):
        call_command("make_demo_fleet", "--boats", str(boats), "--to", str(tmp_path))
    assert not list(tmp_path.iterdir())


def test_a_fleet_of_another_size_is_not_put_among_the_demos():
    with pytest.raises(CommandError, match="--to FOLDER"):
        call_command("make_demo_fleet", "--boats", "40")


@pytest.mark.parametrize(
    "make", [people, lambda rng: boat_names(rng, "sky")], ids=["people", "boats"]
)
def test_names_do_not_run_out_and_none_comes_twice(make):
    names = list(islice(make(Random(1)), 3000))
    assert len(set(names)) == 3000


@pytest.mark.django_db
def test_what_the_command_writes_is_imported_without_a_fault(tmp_path: Path, capsys):
    call_command("make_demo_fleet", "--boats", "12", "--to", str(tmp_path))
    assert "thornquay.xlsx: " in capsys.readouterr().out
    told = json.loads((tmp_path / "fleets.json").read_text("utf-8"))["fleets"][0]
    facts = told["fleet"] | {"as_of": dt.date.fromisoformat(told["fleet"]["as_of"])}
    fleet = Fleet.objects.create(**facts)
    report = import_workbook(fleet, tmp_path / told["workbook"], dry_run=False)
    assert report.written, report.faults[:3]
    assert Boat.objects.of(fleet).standing(AS_OF).count() == 12
