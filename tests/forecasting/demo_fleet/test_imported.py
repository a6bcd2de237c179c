"""The charter group's workbook through the import, the verdicts and the life rows to a fit."""

import datetime as dt
import json
from collections.abc import Iterator

import numpy as np
import pytest
from django.conf import settings
from django.db import transaction

from fleet.models import Fleet, Installation
from forecasting import life_data
from forecasting.demo_fleet.generate import FleetRecord
from forecasting.survival.fit import fit
from forecasting.survival.lives import Lives
from forecasting.survival.model import LifeModel
from inspections import importing
from inspections.models import Hold

FOLDER = settings.BASE_DIR / "fixtures" / "demo"
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def imported(django_db_setup: None, django_db_blocker) -> Iterator[Fleet]:
    """The charter group, imported once; rolled back when this file is done."""
    with django_db_blocker.unblock(), transaction.atomic():
        told = json.loads((FOLDER / "fleets.json").read_text("utf-8"))["fleets"][0]
        facts = told["fleet"] | {"as_of": dt.date.fromisoformat(told["fleet"]["as_of"])}
        fleet = Fleet.objects.create(**facts)
        report = importing.import_workbook(fleet, FOLDER / told["workbook"], dry_run=False)
        assert not report.faults, report.faults[:3]
        yield fleet
        transaction.set_rollback(True)


def test_the_verdicts_condemn_what_had_gone_and_nothing_else(imported: Fleet, charter: FleetRecord):
    """The days on which the rules condemn parts are those on which the simulation did."""
    parts = Installation.objects.of(imported).filter(condemned_on__isnull=False)
    fields = ("boat__name", "mast", "name", "side")
    judged = parts.values_list(*(f"stay__{field}" for field in fields), "kind", "condemned_on")
    simulated = [
        (record.boat.name, *part.stay.key, part.kind, dt.date.fromordinal(part.condemned))
        for record in charter.records
        for part in record.parts
        if part.condemned is not None
    ]
    assert sorted(judged) == sorted(simulated)


def test_boats_are_held_for_the_condemned_parts_that_still_stand(
    imported: Fleet, charter: FleetRecord
):
    held = Hold.objects.of(imported).standing().values_list("boat__name", flat=True)
    standing = {
        record.boat.name
        for record in charter.records
        for part in record.parts
        if part.condemned is not None and part.removed is None
    }
    assert standing
    assert standing <= set(held)
    assert len(set(held) - standing) <= 3  # make good, a chainplate to be drawn


@pytest.mark.only_on("sqlite")  # the rows on both, the statistics on one
def test_the_fit_of_the_imported_wires_finds_the_truth(imported: Fleet, charter: FleetRecord):
    """Every coefficient within three standard errors."""
    lives = life_data.lives(imported, "wire", imported.today()).lives
    assert lives.deaths > 150
    _assert_found(lives, charter.truth.coefficients("wire"))


@pytest.mark.only_on("sqlite")  # the rows on both, the statistics on one
def test_the_fit_of_the_imported_turnbuckles_finds_the_truth(imported: Fleet, charter: FleetRecord):
    truth = charter.truth.coefficients("turnbuckle")
    lives = life_data.lives(imported, "turnbuckle", imported.today()).lives
    _assert_found(lives.keep(name for name in lives.names if name in truth), truth)


@pytest.mark.only_on("sqlite")  # the rows on both, the statistics on one
def test_the_fit_of_the_imported_chainplates_finds_the_truth(imported: Fleet, charter: FleetRecord):
    """Too few go to tell slopes: held at the truth, as the fleet model holds them."""
    truth = charter.truth.coefficients("chainplate")
    lives = life_data.lives(imported, "chainplate", imported.today()).lives
    held = {name: truth[name] for name in ("severity", "log2_miles", "unstepped", "charter")}
    _assert_found(lives.keep(held), truth, held)


def _assert_found(
    lives: Lives, truth: dict[str, float], held: dict[str, float] | None = None
) -> None:
    model = fit(lives, fixed=held)
    assert isinstance(model, LifeModel), model
    free = [i for i, name in enumerate(model.names) if name not in (held or {})]
    names = [model.names[i] for i in free]
    miss = (model.estimate[free] - np.array([truth[name] for name in names])) / model.se[free]
    assert np.all(np.abs(miss) < 3), dict(zip(names, miss.round(2), strict=True))
