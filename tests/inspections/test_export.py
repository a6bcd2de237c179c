"""Export gives back what the import takes, in XLSX and in CSV."""

import datetime as dt
import io
import unicodedata

import pytest
from django.db import models
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from fleet.models import (
    Base,
    Boat,
    CruisingGround,
    Installation,
    Price,
    SeasonUse,
    Stay,
)  # fmt: skip
from fleet.spreadsheets import exporting
from fleet.spreadsheets.template_workbook import write_template
from fleet.spreadsheets.workbooks import NamedFile
from inspections.importing import SHEETS, import_workbook
from inspections.models import Finding, Hold, Inspection, PartVerdict
from tests import builders
from tests.workbooks import contents, small, xlsx

pytestmark = pytest.mark.django_db

TABLES = {
    CruisingGround: "fleet", Base: "fleet", Boat: "fleet", Stay: "boat__fleet",
    Installation: "stay__boat__fleet", SeasonUse: "boat__fleet", Price: "fleet",
    Inspection: "boat__fleet", Finding: "inspection__boat__fleet",
    PartVerdict: "inspection__boat__fleet", Hold: "boat__fleet",
}  # fmt: skip
NOT_COMPARED = {"id", "fleet", "recorded_at", "recorded_by", "criteria"}


def as_xlsx(fleet) -> list[NamedFile]:
    book = io.BytesIO()
    exporting.write_workbook(fleet, SHEETS, book)
    return [NamedFile("fleet.xlsx", book.getvalue())]


def as_csv(fleet) -> list[NamedFile]:
    files = exporting.csv_files(fleet, SHEETS)
    return [NamedFile(name, text.encode("utf-8-sig")) for name, text in files.items()]


def described(row: models.Model) -> tuple:
    """Return every field of a row, what it refers to by what that says of itself."""
    values = []
    for field in row._meta.concrete_fields:
        if field.name not in NOT_COMPARED:
            value = getattr(row, field.name)
            values.append((field.name, described(value) if field.is_relation and value else value))
    return tuple(values)


def every_table(fleet) -> dict[str, list]:
    return {
        model.__name__: sorted(
            (described(row) for row in model.objects.filter(**{path: fleet})), key=repr
        )
        for model, path in TABLES.items()
    }


@pytest.fixture
def full():
    """A fleet with a row in every table, odd ones among them."""
    fleet = builders.empty_fleet("harbour")
    tables = small()
    tables["boats"][0] += ["owner", "owner email", "owned by", "paid by", "left", "planned exit",
                           "history complete since", "fractional", "service"]  # fmt: skip
    tables["boats"][1] += ["=HYPERLINK(A1)", "a@example.org", "owner", "insurer", None,
                           dt.date(2031, 1, 1), dt.date(2012, 1, 1), "yes", "club"]  # fmt: skip
    tables["boats"][2] += ["'t Veer", "", None, None, dt.date(2025, 1, 1), None, None, None, None]
    tables["parts"][0] += ["thread", "thread hand", "mast end fitting", "adjuster setting",
                           "fitter", "renewal needs proof"]  # fmt: skip
    tables["parts"][1] += [None, None, None, None, None, "yes"]
    tables["parts"][2] += ["5/8 UNF", "left-hand", "slotted plate", "=half open", "Yard", None]
    tables["inspections"][0] += ["stays looked at", "turn-round check"]
    tables["inspections"][1] += [None, None]
    tables["inspections"][2] += ["cap shroud port", None]
    tables["inspections"][3] += [None, "yes"]
    tables["inspections"][1][6] = "-1 line\nand “another”, with a comma; and a semicolon"
    tables["findings"] += [
        ["Tern", dt.date(2024, 3, 2), "aloft", None, None, "port", None, "spreader",
         "Crack at the spreader root", None, None, "+ seen from below", None, None],
        ["Tern", dt.date(2024, 3, 2), "aloft", None, "cap shroud", "port", None, "tang",
         "Tang cracked", None, None, None, None, None],
    ]  # fmt: skip
    report = import_workbook(fleet, xlsx(tables), dry_run=False)
    assert report.written, report.faults
    return fleet


@pytest.mark.parametrize("write", [as_xlsx, as_csv])
def test_an_export_brought_into_an_empty_fleet_is_the_same_fleet(full, write):
    empty = builders.empty_fleet("estuary")
    report = import_workbook(empty, write(full), dry_run=False)
    assert report.written, report.faults
    before, after = every_table(full), every_table(empty)
    assert all(before.values()), "a table without rows compares nothing"
    for name, rows in before.items():
        assert after[name] == rows, name


@pytest.mark.parametrize("write", [as_xlsx, as_csv])
def test_an_export_brought_back_changes_nothing(full, write):
    report = import_workbook(full, write(full), dry_run=False)
    assert (report.faults, report.new, report.changed) == ((), 0, 0)


def test_two_exports_of_one_fleet_are_the_same_bytes(full):
    assert as_xlsx(full) == as_xlsx(full)
    assert exporting.csv_archive(full, SHEETS) == exporting.csv_archive(full, SHEETS)


def test_an_export_does_not_depend_on_the_order_rows_were_written_in(full):
    again = builders.empty_fleet("estuary")
    reversed_rows = {
        sheet.name: [(rows := list(exporting.cells_of(full, sheet)))[0], *rows[:0:-1]]
        for sheet in SHEETS
    }
    import_workbook(again, xlsx(reversed_rows), dry_run=False)
    assert as_csv(again) == as_csv(full)


def test_words_are_written_as_on_screen(full):
    parts = contents(full)["parts"]
    sheet = next(sheet for sheet in SHEETS if sheet.name == "parts")
    words = [cell for row in parts for cell in sheet.layout.cells(row)]
    assert {"cap shroud", "invoice or log", "known to the year", "lower end"} <= set(words)


def test_what_a_spreadsheet_would_compute_is_text_in_both_forms(full):
    csv = {file.name: file.content.decode("utf-8-sig") for file in as_csv(full)}
    assert "'=HYPERLINK(A1)" in csv["boats.csv"]
    assert "'t Veer" in csv["boats.csv"]
    book = CalamineWorkbook.from_filelike(io.BytesIO(as_xlsx(full)[0].content))
    cells = {cell for row in book.get_sheet_by_name("boats").to_python() for cell in row}
    assert "=HYPERLINK(A1)" in cells


def test_dates_before_1900_survive_a_workbook(full):
    Boat.objects.filter(name="Skua").update(build_year=1895)
    Installation.objects.filter(stay__boat__name="Skua").update(
        fitted_on=dt.date(1895, 6, 1), fitted_certainty="day"
    )
    empty = builders.empty_fleet("estuary")
    assert not import_workbook(empty, as_xlsx(full), dry_run=False).faults
    assert every_table(empty)["Installation"] == every_table(full)["Installation"]


TEXT = st.text(
    st.characters(exclude_categories=["Cc", "Cs", "Zs", "Zl", "Zp"]), min_size=1, max_size=30
).map(lambda text: unicodedata.normalize("NFC", text))  # as every text comes in through a sheet


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(name=TEXT, invoice=TEXT, amount=st.integers(0, 10**9), mm=st.floats(0.1, 200))
def test_whatever_a_name_or_price_is_it_comes_back(full, name, invoice, amount, mm):
    boat = Boat.objects.get(design="Sloop 38", length_m="11.60", build_year=2009)
    boat.name, boat.owner_name = f"x{name}", name
    boat.save()
    Installation.objects.filter(stay__boat=boat).update(invoice=invoice, diameter_mm=round(mm, 3))
    Price.objects.filter(item="wire").update(price_minor=amount)
    for write in (as_xlsx, as_csv):
        report = import_workbook(full, write(full))
        assert (report.faults, report.new, report.changed) == ((), 0, 0)


def test_a_template_filled_with_an_example_row_of_each_sheet_is_read(full):
    """The notes sheet's examples are good rows; they are not in the data sheets."""
    book = io.BytesIO()
    write_template([sheet.layout for sheet in SHEETS], book)
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(book.getvalue()))
    assert workbook.sheet_names == ["notes", *(sheet.name for sheet in SHEETS)]
    tables = {}
    for sheet in SHEETS:
        assert workbook.get_sheet_by_name(sheet.name).to_python() == [sheet.layout.headers]
        example = [column.example or None for column in sheet.layout]
        tables[sheet.name] = [sheet.layout.headers, example]
    report = import_workbook(builders.empty_fleet("estuary"), xlsx(tables), dry_run=False)
    assert report.written, [str(fault) for fault in report.faults]


def test_the_notes_explain_every_column(full):
    book = io.BytesIO()
    write_template([sheet.layout for sheet in SHEETS], book)
    notes = CalamineWorkbook.from_filelike(io.BytesIO(book.getvalue())).get_sheet_by_name("notes")
    explained = {(row[0], row[1]) for row in notes.to_python() if row[1]}
    for sheet in SHEETS:
        for column in sheet.layout:
            assert column.about
            assert (sheet.name, column.header) in explained
