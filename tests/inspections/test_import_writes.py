"""What an import writes, and what it leaves alone."""

import datetime as dt
import random

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import Boat, Installation, SeasonUse, Stay
from inspections.importing import import_workbook
from inspections.models import Finding, Hold, PartVerdict
from tests import builders
from tests.workbooks import changed, contents, csv, small, xlsx

pytestmark = pytest.mark.django_db
D = dt.date


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


def load(fleet, tables, **options):
    return import_workbook(fleet, xlsx(tables), **{"dry_run": False, **options})


def counts(report, state):
    return {name: getattr(count, state) for name, count in report.counts.items()}


def test_a_check_writes_nothing_at_all(fleet):
    report = import_workbook(fleet, xlsx(small()))
    assert (report.written, report.faults) == (False, ())
    assert counts(report, "new") == {
        "grounds": 2, "bases": 1, "boats": 2, "parts": 5, "use": 1, "inspections": 3,
        "findings": 3, "prices": 2,
    }  # fmt: skip
    assert not any(contents(fleet).values())


def test_a_check_of_changes_leaves_every_table_as_it_was(fleet):
    load(fleet, small())
    before = contents(fleet)
    tables = changed("boats", 2, length_m=12, base="Hollow Quay")
    tables["parts"][3][5] = 9
    report = import_workbook(fleet, xlsx(tables))
    assert report.changed == 2
    assert contents(fleet) == before


def test_what_is_written_is_what_the_rows_say(fleet):
    assert load(fleet, small()).written
    old, new = Installation.objects.filter(
        stay__boat__name="Tern", stay__side="port", kind="wire"
    ).order_by("fitted_on")
    assert (old.removal_reason, old.removal_spot, old.invoice) == ("condemned", "lower", "R-1")
    assert (new.fitted_on, new.fitted_certainty, new.removed_on) == (D(2016, 3, 1), "day", None)
    to_the_year = Installation.objects.get(stay__side="starboard")
    assert (to_the_year.fitted_on, to_the_year.fitted_certainty) == (D(2016, 7, 1), "year")
    use = SeasonUse.objects.get()
    assert (use.ground.name, use.miles, use.mast_down, use.service) == (
        "Lake",
        900,
        True,
        "charter",
    )
    assert fleet.prices.get(item="wire").price_minor == 1450


def test_boats_are_judged_by_what_was_imported(fleet):
    load(fleet, small())
    condemned = PartVerdict.objects.get(value="replace", installation__removed_on__isnull=False)
    assert condemned.inspection.on == D(2015, 3, 2)
    assert condemned.installation.condemned_on == D(2015, 3, 2)
    assert Hold.objects.filter(cause="make_good").get().lifted_on == D(2024, 3, 3)


@pytest.mark.parametrize("write", [xlsx, csv])
def test_the_same_rows_shuffled_and_saved_anew_change_nothing(fleet, write):
    load(fleet, small())
    verdicts = list(PartVerdict.objects.order_by("pk").values())
    tables = small()
    for rows in tables.values():
        body = rows[1:]
        random.Random(5).shuffle(body)
        rows[1:] = body
    tables = dict(reversed(tables.items()))
    report = import_workbook(fleet, write(tables), dry_run=False)
    assert (report.new, report.changed, report.faults) == (0, 0, ())
    assert counts(report, "same")["parts"] == 5
    assert list(PartVerdict.objects.order_by("pk").values()) == verdicts


def test_rows_of_the_fleet_that_are_not_in_the_file_stay(fleet):
    load(fleet, small())
    before = contents(fleet)
    tables = small()
    for rows in tables.values():
        del rows[2:]
    report = load(fleet, tables)
    assert (report.new, report.changed) == (0, 0)
    assert contents(fleet) == before


def test_one_sheet_alone_can_be_handed_in_once_the_fleet_has_boats(fleet):
    load(fleet, small())
    report = load(fleet, {"use": [["boat", "season", "miles"], ["skua", 2025, 1200]]})
    assert report.written
    assert SeasonUse.objects.get(year=2025).ground.name == "Inner Sound"


def test_a_column_left_out_leaves_what_is_stored(fleet):
    load(fleet, small())
    boats = [row[:2] + row[5:] for row in small()["boats"]]
    assert load(fleet, {**small(), "boats": boats}).changed == 0
    assert Boat.objects.get(name="Tern").design == "Sloop 38"


def test_a_cell_emptied_empties_what_is_stored(fleet):
    load(fleet, small())
    assert load(fleet, changed("boats", 2, design=None)).changed == 1
    assert Boat.objects.get(name="Tern").design == ""


def test_a_boat_spelt_anew_is_the_same_boat(fleet):
    load(fleet, small())
    assert load(fleet, changed("boats", 2, boat="TERN")).changed == 1
    assert set(Boat.objects.values_list("name", flat=True)) == {"TERN", "Skua"}


def test_a_currency_without_small_units_is_kept_in_whole_ones(fleet):
    fleet.currency = "JPY"
    fleet.save()
    assert "no such small unit" in load(fleet, small()).faults[0].wrong
    assert load(fleet, changed("prices", 2, price=1450)).written
    assert fleet.prices.get(item="wire").price_minor == 1450
    assert contents(fleet)["prices"][1]["price"] == 1450


def test_a_check_asks_the_database_no_more_for_many_boats(fleet, django_assert_num_queries):
    load(fleet, small())
    with CaptureQueriesContext(connection) as few:
        import_workbook(fleet, xlsx(small()))
    tables = small()
    for number in range(20):
        tables["boats"].append([f"B{number}", *small()["boats"][1][1:]])
        tables["parts"].append([f"B{number}", *small()["parts"][3][1:]])
    load(fleet, tables)
    with django_assert_num_queries(len(few)):
        import_workbook(fleet, xlsx(tables))


# -- parts that are the same part


def test_a_part_taken_off_since_is_the_same_part(fleet):
    load(fleet, small())
    part = Installation.objects.get(stay__boat__name="Skua")
    row = {"removed": D(2026, 2, 1), "removal reason": "age rule"}
    report = load(fleet, changed("parts", 6, **row))
    assert (counts(report, "new")["parts"], counts(report, "changed")["parts"]) == (0, 1)
    part.refresh_from_db()
    assert (part.removed_on, part.removal_reason) == (D(2026, 2, 1), "age_rule")


def test_an_old_file_does_not_put_a_part_back_that_has_come_off(fleet):
    load(fleet, small())
    Installation.objects.filter(stay__boat__name="Skua").update(
        removed_on=D(2026, 2, 1), removal_reason="age_rule"
    )
    fault = load(fleet, small()).faults[0]
    assert (fault.sheet, fault.row, fault.column) == ("parts", 6, "removed")
    assert "came off on 2026-02-01" in fault.wrong


def test_a_renewal_needs_the_row_of_the_part_before(fleet):
    load(fleet, small())
    tables = changed("parts", 6, fitted=D(2026, 2, 1), **{"date certainty": None})
    fault = load(fleet, tables).faults[0]
    assert "the fleet's record has one too, fitted 2009-06-01" in fault.wrong


def test_a_renewal_with_the_row_of_the_part_before_is_one_off_and_one_on(fleet):
    load(fleet, small())
    row = {"removed": D(2026, 2, 1), "removal reason": "age rule"}
    tables = changed("parts", 6, **row)
    new = ["Skua", "forestay", None, "wire", "rod", 7.5, D(2026, 2, 1), None, "R-9"]
    tables["parts"].append(new + [None] * 3)
    report = load(fleet, tables)
    assert report.written, report.faults
    assert (counts(report, "new")["parts"], counts(report, "changed")["parts"]) == (1, 1)
    assert Installation.objects.standing().get(stay__name="forestay").invoice == "R-9"


def test_whether_a_stay_runs_in_a_foil_is_what_its_wire_says(fleet):
    load(fleet, changed("parts", 6, **{"inside foil": "yes"}))
    assert Stay.objects.get(name="forestay").in_foil
    assert load(fleet, small()).changed == 0
    assert Stay.objects.get(name="forestay").in_foil


# -- a whole rig in one row


HEAD = ["boat", "stay", "part", "construction", "diameter mm", "fitted", "invoice"]


def rig(*rows) -> dict:
    tables = small()
    return {name: tables[name] for name in ("grounds", "bases", "boats")} | {"parts": [HEAD, *rows]}


def test_a_whole_rig_in_one_row_becomes_its_parts(fleet):
    row = ["Tern", "whole rig", None, "1x19", 8, 2016, "123"]
    report = load(fleet, rig(row))
    assert counts(report, "new")["parts"] == 30
    wires = Installation.objects.filter(kind="wire")
    assert wires.count() == 10
    assert {(w.diameter_mm, w.construction, w.fitted_on, w.invoice) for w in wires} == {
        (8, "1x19", D(2016, 7, 1), "123")
    }
    assert load(fleet, rig(row)).same == 35


def test_a_whole_rig_is_copied_to_every_sister_boat(fleet):
    load(fleet, rig(["every sloop 38", "whole rig", "wire", "1x19", 8, 2016, None]))
    assert Installation.objects.filter(stay__boat__name="Skua").count() == 10
    assert Installation.objects.filter(stay__boat__name="Tern").count() == 10


def test_a_row_for_one_stay_goes_before_the_whole_rig(fleet):
    load(fleet, rig(
        ["Tern", "whole rig", "wire", "1x19", 8, 2016, None],
        ["Tern", "forestay", "wire", "rod", 10, 2016, None],
    ))  # fmt: skip
    forestay = Installation.objects.get(stay__name="forestay")
    assert (forestay.construction, forestay.diameter_mm) == ("rod", 10)
    assert Installation.objects.count() == 10


def test_both_sides_in_one_row_are_two_wires(fleet):
    tables = rig()
    tables["parts"] = [["boat", "stay", "side", "fitted"], ["Tern", "cap shroud", "both", 2016]]
    load(fleet, tables)
    assert set(Stay.objects.values_list("side", flat=True)) == {"port", "starboard"}


# -- what was not looked at


def test_stays_not_looked_at_are_put_on_record_as_not_seen(fleet):
    load(fleet, changed("inspections", 3, **{"stays looked at": "cap shroud port"}))
    missed = Finding.objects.filter(note="not looked at")
    assert [(f.installation.stay.label, f.sign, f.place) for f in missed] == [
        ("Cap shroud, starboard", "not_seen", "whole")
    ]
    verdict = PartVerdict.objects.get(
        installation__stay__side="starboard", inspection__on=D(2024, 3, 2)
    )
    assert verdict.value == "not_seen"


def test_none_of_the_stays_may_have_been_looked_at(fleet):
    load(fleet, changed("inspections", 3, **{"stays looked at": "none"}))
    assert Finding.objects.filter(note="not looked at").count() == 3


# -- what goes wrong while writing


def test_a_failure_after_writing_undoes_the_writing(fleet, monkeypatch):
    def fails(draft):
        raise RuntimeError("the judge is out")

    monkeypatch.setattr("inspections.importing.follow", fails)
    with pytest.raises(RuntimeError):
        load(fleet, small())
    assert not any(contents(fleet).values())


def test_rows_written_by_somebody_else_meanwhile_are_told_and_nothing_is_half_written(
    fleet, monkeypatch
):
    def somebody_writes(draft):
        builders.boat(fleet, "Tern")
        draft_write(draft)

    from fleet.spreadsheets.drafts import Draft

    draft_write = Draft.write
    monkeypatch.setattr(Draft, "write", somebody_writes)
    report = load(fleet, small())
    assert not report.written
    assert "Somebody changed the fleet" in report.faults[-1].wrong


def test_a_fleet_sees_nothing_of_another_fleets_rows(fleet):
    other = builders.empty_fleet("estuary")
    load(other, small())
    report = load(fleet, small())
    assert report.written
    assert report.same == 0
    assert contents(fleet) == contents(other)
    fault = load(fleet, {"use": [["boat", "season"], ["Gannet", 2025]]}).faults[0]
    assert "no boat of that name" in fault.wrong
