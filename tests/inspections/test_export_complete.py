"""Nothing on record is missing from the export but what is named here, with the reason; and what no
file may bring in is written out and stays as it is."""

import datetime as dt
import io
import uuid

import pytest
from django.apps import apps
from django.db import models, transaction

from fleet.models import Spare
from fleet.spreadsheets import exporting
from fleet.spreadsheets.workbooks import NamedFile
from fleet.undoing import last_import
from inspections import recording
from inspections.aftermath.second_look import Second, judge_again
from inspections.corrections import snapshot
from inspections.followups import (
    ConsumableOrder,
    Failure,
    Recommendation,
    Rejudgement,
    Report,
    Stepping,
    YardMove,
)
from inspections.importing import EVERY_SHEET, WRITTEN_ONLY, import_workbook, undo_import
from inspections.models import Booking, Demand, Finding, HandIn, Hold, Inspection, InspectionVersion
from tests import builders
from tests.inspections.docks import day, held, inspect, part, rigged_boat, saw
from tests.workbooks import small, xlsx

pytestmark = pytest.mark.django_db
FOLLOWS = "follows from the record"
HERE = "an account or a moment of this database"
SETTINGS = "the fleet's rules and members are set on its own page"
LOG = "what was done here, kept in the copy of the whole database"
# Models, or single fields, that are not in the workbook; why.
NOT_WRITTEN = {
    "fleet.Fleet": SETTINGS,
    "fleet.Membership": SETTINGS,
    "fleet.Change": LOG,
    "fleet.ImportRecord": LOG,
    "fleet.SheetMatch": "how the fleet's own files are read, made anew from the file",
    "fleet.WorkRow": LOG,
    "fleet.Spare.by": HERE,
    "fleet.Installation.condemned_on": FOLLOWS,
    "inspections.PartVerdict": FOLLOWS,
    "inspections.Hold": FOLLOWS,
    "inspections.InspectBy": "follows from the forecast",
    "inspections.Booking.source": "brought in by a workbook it is from a sheet, as that says",
    "inspections.CalendarEntry": "follows from what is due",
    "inspections.CalendarFeed": "a secret address of this computer",
    "inspections.CalendarRound": LOG,
    "inspections.DemandChange": LOG,
    "inspections.ReminderRules": SETTINGS,
    "inspections.Addressee": SETTINGS,
    "inspections.Wording": SETTINGS,
    "inspections.SetAside": LOG,
    "inspections.RoundRun": LOG,
    "inspections.Heartbeat": LOG,
    "inspections.Notice": LOG,
    "inspections.Reminder": LOG,
    "inspections.DockUpload": LOG,
    "inspections.Inspection.criteria": FOLLOWS,
    "inspections.Inspection.criteria_fingerprint": FOLLOWS,
    "inspections.Inspection.recorded_by": HERE,
    "inspections.Inspection.recorded_at": HERE,
    "inspections.CriteriaVersion.data": "written as what each decision changed, sign by sign",
    "inspections.InspectionVersion.inspection": "its number is written",
    "inspections.InspectionVersion.by": "the name is written",
    "inspections.HandIn.at": HERE,
    "inspections.Photo.upload": LOG,
    "inspections.Photo.version": "the picture says what of",
    "inspections.Photo.received_at": HERE,
    "inspections.Report.key": "where its file lies on this computer",
    **{
        f"inspections.{name}.{field}": HERE
        for name, fields in {
            "HandIn": ["by"], "Photo": ["by"], "Failure": ["by", "at"], "YardMove": ["by", "at"],
            "Stepping": ["by", "at"], "Report": ["by", "at"], "ConsumableOrder": ["by", "at"],
            "Booking": ["by", "at"], "Demand": ["by", "at"],
        }.items()
        for field in fields
    },
}  # fmt: skip
# What a field may be changed to, where not every other value is allowed beside the rest of its row.
ALLOWED = {
    "fleet.Stay.side": {"side": ""},
    "inspections.Booking.last": {"last": builders.TODAY + dt.timedelta(days=3)},
    "inspections.Demand.state": {"state": "sent"},
    "inspections.Recommendation.state": {"state": "declined"},
    "inspections.Rejudgement.value": {"value": "keep", "again_by": None},
}


@pytest.fixture
def made():
    """A row in every table, with all of its cells filled that a later row would need."""
    made = builders.one_of_each("harbour")
    look = made.inspection
    Spare.objects.update(taken_on=builders.TODAY, taken_by="Bo", taken_for="lent")
    Stepping.objects.update(second_person="Cara", second_on=builders.TODAY,
                            retensioned_on=builders.TODAY, retensioned_by="Bo")  # fmt: skip
    Recommendation.objects.update(
        state="done", closed_on=builders.TODAY, closed_by="Bo", how="seen"
    )
    Rejudgement.objects.update(value="watch", again_by=builders.TODAY)
    today = builders.TODAY
    Demand.objects.update(
        reference="P-7", since=today, older_than_years=12.5, wanted="renew", part_kind="wire",
        stay_name="backstay", letter="Dear all,\n\nsee below.", notes="by post", state="accepted",
        sent_on=today, sent_by="Bo", sent_how="by mail", closed_on=today, closed_by="A. Broker",
    )  # fmt: skip
    Finding.objects.create(
        inspection=look, place="spreader", side="port", sign="spreader_root_crack"
    )
    InspectionVersion.objects.create(boat=made.boat, inspection=look, was=look.pk, number=1,
                                     data=snapshot(look), why="slip", by_name="Bo")  # fmt: skip
    return made


# The sheet that tells of a model, where it is not of the same name.
TOLD_BY = {
    "SeasonUse": "use", "CruisingGround": "grounds", "Stay": "parts", "Installation": "parts",
    "CriteriaVersion": "limits", "Rejudgement": "second looks", "ConsumableOrder": "orders",
    "InspectionVersion": "earlier versions", "YardMove": "yard moves", "HandIn": "hand-ins",
}  # fmt: skip


def written(fleet, name: str = "") -> dict[str, list]:
    """Return what the export writes, cell by cell, by sheet; or of that sheet alone."""
    return {
        sheet.name: [sheet.layout.cells(values) for values in sheet.rows(fleet)]
        for sheet in EVERY_SHEET
        if name in ("", sheet.name)
    }


def told_by(model: type[models.Model]) -> str:
    return TOLD_BY.get(model.__name__, f"{model.__name__.lower()}s")


def other(field: models.Field, row: models.Model):
    """Return a value of that field which the row does not have."""
    value = getattr(row, field.attname)
    if field.is_relation:
        if value is not None:
            return None
        return field.related_model.objects.order_by("-pk").values_list("pk", flat=True).first()
    if field.name == "data":
        return value | {"look": value["look"] | {"note": "other words"}}
    if field.choices:
        return next(code for code, _ in field.choices if code not in ("", value))
    simple = {
        models.BooleanField: lambda: not value,
        models.DateField: lambda: (value or builders.TODAY) - dt.timedelta(days=30),
        models.DateTimeField: lambda: dt.datetime(2026, 4, 1, 9, tzinfo=dt.UTC),
        models.JSONField: lambda: ["something else"],
        models.UUIDField: uuid.uuid4,
        models.FloatField: lambda: (value or 7) + 1,
    }
    make = simple.get(type(field))
    if make:
        return make()
    return "otherwise" if isinstance(field, (models.CharField, models.TextField)) else (
        value or 7
    ) + 1  # fmt: skip


def fields_to_write():
    for app in ("fleet", "inspections"):
        for model in apps.get_app_config(app).get_models():
            if model._meta.label in NOT_WRITTEN:
                continue
            for field in model._meta.concrete_fields:
                named = f"{model._meta.label}.{field.name}"
                fixed = field.is_relation and not field.null
                if not field.primary_key and not fixed and named not in NOT_WRITTEN:
                    yield model, field, named


def test_a_change_of_any_field_on_record_shows_in_the_export(made):
    """Every field of every model is changed once, and its sheet is another each time."""
    before, silent = written(made.fleet), []
    for model, field, named in fields_to_write():
        row = model.objects.order_by("pk").last()
        values = ALLOWED.get(named) or {field.attname: other(field, row)}
        with transaction.atomic():
            model.objects.filter(pk=row.pk).update(**values)
            sheet = told_by(model)
            silent += [] if written(made.fleet, sheet)[sheet] != before[sheet] else [named]
            transaction.set_rollback(True)
    assert silent == []


def test_the_list_of_what_is_not_written_names_what_there_is():
    for named in NOT_WRITTEN:
        app, model, *field = named.split(".")
        found = apps.get_model(app, model)
        assert not field or found._meta.get_field(field[0])


# -- brought into another fleet, and back into its own


def book(fleet, form: str = "xlsx") -> list[NamedFile]:
    if form == "csv":
        files = exporting.csv_files(fleet, EVERY_SHEET)
        return [NamedFile(name, text.encode("utf-8-sig")) for name, text in files.items()]
    target = io.BytesIO()
    exporting.write_workbook(fleet, EVERY_SHEET, target)
    return [NamedFile("fleet.xlsx", target.getvalue())]


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_an_export_brought_back_changes_nothing_and_says_what_stays_as_it_is(made, form):
    report = import_workbook(made.fleet, book(made.fleet, form), dry_run=False)
    assert (report.faults, report.new, report.changed) == ((), 0, 0)
    [note] = report.notes
    assert note.startswith("Kept as it is on record, not imported: second looks (1 row), steppings")
    assert all(sheet.name in note for sheet in WRITTEN_ONLY)


def test_what_may_be_brought_in_comes_into_another_fleet_and_goes_with_the_undo(made):
    Spare.objects.update(fitted_as=made.failure.installation.stay.boat.stays.first()
                         .installations.get(removed_on=None))  # fmt: skip
    Inspection.objects.update(signed_at=dt.datetime(2026, 10, 14, 9, 30, tzinfo=dt.UTC))
    recording.judge([made.boat.pk])
    other = builders.empty_fleet("estuary")
    report = import_workbook(other, book(made.fleet), dry_run=False)
    assert report.written, [str(fault) for fault in report.faults]
    before, after = written(made.fleet), written(other)
    closed = {sheet.name for sheet in WRITTEN_ONLY}
    assert {name: rows for name, rows in after.items() if name not in closed} == {
        name: rows for name, rows in before.items() if name not in closed
    }
    assert not any(after[name] for name in closed)
    models_in = (Failure, YardMove, HandIn, Booking, Demand)
    assert all(model.objects.of(other).count() == 1 for model in models_in)
    assert Spare.objects.of(other).get().fitted_as.stay.boat.fleet == other
    assert Demand.objects.of(other).get().boats.get().fleet == other
    undo_import(last_import(other), None)
    assert not any(model.objects.of(other).exists() for model in (*models_in, Spare))


def test_nothing_signed_decided_or_attached_comes_in_by_a_file_and_each_is_named(made):
    other = builders.empty_fleet("estuary")
    notes = import_workbook(other, book(made.fleet), dry_run=False).notes
    for sheet in WRITTEN_ONLY:
        [note] = [note for note in notes if f"“{sheet.name}”" in note]
        assert "1 row is not on record here and will not be imported." in note
        assert note.endswith(sheet.why)
    for model in (Rejudgement, Stepping, Report, Recommendation, ConsumableOrder):
        assert not model.objects.of(other).exists()


def test_a_second_look_written_into_a_file_releases_nothing():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    look = recording.Look(on=day(1), level="aloft", person="B Surveyor", competence="surveyor")
    judge_again(part(boat), look, Second("keep", "a scratch, no crack", None))
    assert "replace" not in held(boat)
    file = book(boat.fleet)
    other = builders.empty_fleet("estuary")
    report = import_workbook(other, file, dry_run=False)
    assert report.written, report.faults
    assert "replace" in held(other.boats.get()), "held again, which is the safe side"
    again = import_workbook(other, file, dry_run=False)
    assert any("no file releases a boat" in note for note in again.notes)
    assert Hold.objects.standing().filter(boat__fleet=other, cause="replace").exists()


SIGNED = ("2015-03-02T16:00:00+00:00", "", None)


def test_a_signature_comes_with_a_new_inspection_and_changes_none_on_record():
    fleet = builders.empty_fleet("harbour")
    tables = small()
    tables["inspections"][0].append("signed")
    for row, said in zip(tables["inspections"][1:], SIGNED, strict=True):
        row.append(said)
    assert import_workbook(fleet, xlsx(tables), dry_run=False).written
    first, *rest = Inspection.objects.order_by("on")
    assert first.signed_at == dt.datetime(2015, 3, 2, 16, tzinfo=dt.UTC)
    assert [look.signed_at for look in rest] == [None, None]
    tables["inspections"][2][-1] = "2024-03-02T16:00:00+00:00"
    report = import_workbook(fleet, xlsx(tables), dry_run=False)
    assert (report.faults, report.changed) == ((), 0)
    assert report.notes == (
        "Inspections on record stay signed, or not signed, as they are there.",
    )  # fmt: skip
    for wrong in ("yesterday", "2015-03-02T16:00:00", "2015-02-02T16:00:00+00:00",
                  "2027-03-02T16:00:00+00:00"):  # fmt: skip
        tables["inspections"][1][-1] = wrong
        fault = import_workbook(fleet, xlsx(tables)).faults[0]
        assert (fault.sheet, fault.row, fault.column) == ("inspections", 2, "signed")
