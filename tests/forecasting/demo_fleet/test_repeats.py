"""The same seed gives the same spreadsheets, and those in fixtures/ are the generator's own."""

import datetime as dt
import json
import zipfile
from pathlib import Path

import pytest
from django.conf import settings
from python_calamine import CalamineWorkbook

from forecasting.demo_fleet.fleets import settings as fleet_settings
from forecasting.demo_fleet.generate import FleetRecord, generate
from forecasting.demo_fleet.sheets import sheets
from forecasting.demo_fleet.workbook import write

FIXTURES = settings.BASE_DIR / "fixtures" / "demo"
SLUGS = ("vessmark", "lysnevik")


def test_the_same_seed_tells_the_same_story(fleets: list[FleetRecord]):
    assert [sheets(fleet) for fleet in generate()] == [sheets(fleet) for fleet in fleets]


def test_another_seed_tells_another_story(club: FleetRecord):
    other = generate(club.seed + 1, plans=(club.plan,))[0]
    assert sheets(other)["findings"] != sheets(club)["findings"]


@pytest.mark.parametrize("number", [0, 1], ids=SLUGS)
def test_the_workbooks_in_fixtures_are_what_the_generator_writes(
    fleets: list[FleetRecord], number: int
):
    """After a change of the generator: python3 manage.py make_demo_fleet."""
    told = sheets(fleets[number])
    book = CalamineWorkbook.from_path(FIXTURES / f"{SLUGS[number]}.xlsx")
    assert book.sheet_names == list(told)
    for name, rows in told.items():
        assert _read(book, name, len(rows[0])) == [_plain(row) for row in rows], name


def test_the_fleets_file_in_fixtures_is_what_the_generator_writes():
    assert json.loads((FIXTURES / "fleets.json").read_text("utf-8")) == fleet_settings()


def test_writing_twice_gives_the_same_bytes(club: FleetRecord, tmp_path: Path):
    for name in ("once", "twice"):
        (tmp_path / name).mkdir()
        write(tmp_path / name / "club.xlsx", sheets(club))
    once, twice = (tmp_path / name / "club.xlsx" for name in ("once", "twice"))
    assert once.read_bytes() == twice.read_bytes()


@pytest.mark.parametrize("slug", SLUGS)
def test_a_workbook_holds_no_formula_and_can_be_mailed(slug: str):
    path = FIXTURES / f"{slug}.xlsx"
    assert path.stat().st_size < 1_000_000
    with zipfile.ZipFile(path) as book:
        pages = [name for name in book.namelist() if name.startswith("xl/worksheets/")]
        assert not any(b"<f>" in book.read(page) for page in pages)


def _read(book: CalamineWorkbook, name: str, width: int) -> list[list]:
    rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
    return [_plain(row + [""] * (width - len(row))) for row in rows]


def _plain(row: list | tuple) -> list:
    """Cells as a reader gets them: blank is "", a day is a day, every number a float."""
    return ["" if cell is None else _cell(cell) for cell in row]


def _cell(cell: object) -> object:
    if isinstance(cell, dt.datetime):
        return cell.date()
    return float(cell) if isinstance(cell, int | float) else cell
