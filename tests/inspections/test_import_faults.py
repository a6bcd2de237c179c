"""Bad input: each gets a sentence with sheet, row, column and what would be right."""

import datetime as dt

import pytest

from fleet.models import Boat
from inspections.importing import import_workbook
from tests import builders
from tests.workbooks import TODAY, changed, csv, small, xlsx

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


def faults(fleet, tables, draw=None):
    report = import_workbook(fleet, xlsx(tables, draw), dry_run=False)
    assert not report.written
    assert not Boat.objects.exists()
    return report.faults


def the_fault(fleet, tables, draw=None):
    found = faults(fleet, tables, draw)
    assert len(found) == 1, [str(fault) for fault in found]
    return found[0]


def places(found):
    return [(fault.sheet, fault.row, fault.column) for fault in found]


def test_the_small_workbook_itself_is_good(fleet):
    assert import_workbook(fleet, xlsx(small())).faults == ()


# -- the file and its sheets


def test_an_empty_workbook_is_told_what_sheets_it_lacks(fleet):
    found = faults(fleet, {"Sheet1": []})
    assert [fault.sheet for fault in found] == [""]
    assert "grounds, bases, boats, parts" in found[0].right


@pytest.mark.parametrize("sheet", ["grounds", "bases", "boats", "parts"])
def test_a_fleet_that_has_none_yet_needs_each_of_its_first_sheets(fleet, sheet):
    tables = small()
    del tables[sheet]
    fault = the_fault(fleet, tables)
    assert (fault.sheet, fault.row) == (sheet, 0)


def test_a_renamed_sheet_is_recognised(fleet):
    tables = small()
    tables["part"] = tables.pop("parts")
    assert "Rename the sheet “part” to “parts”" in the_fault(fleet, tables).right


def test_an_empty_sheet_is_told_so(fleet):
    assert the_fault(fleet, {**small(), "use": []}).wrong == "The sheet is empty."


def test_a_renamed_column_is_told_its_nearest(fleet):
    tables = small()
    tables["boats"][0][5] = "lengh m"
    found = faults(fleet, tables)
    assert places(found) == [("boats", 1, "lengh m"), ("boats", 1, "length m")]
    assert "“length m”" in found[0].right


def test_merged_cells_are_told_their_range(fleet):
    def merge(book):
        book.get_worksheet_by_name("use").merge_range(2, 0, 3, 0, "Tern")

    found = faults(fleet, small(), merge)
    assert (found[0].sheet, found[0].row, found[0].value) == ("use", 3, "A3:A4")


def test_a_formula_error_is_not_read_as_a_part_still_standing(fleet):
    def broken_formula(book):
        book.get_worksheet_by_name("parts").write_formula(1, 9, "=1/0", None, "#DIV/0!")

    found = faults(fleet, small(), broken_formula)
    assert places(found)[0] == ("parts", 2, "removed")
    assert "#DIV/0!" in found[0].wrong


def test_every_fault_of_every_sheet_is_found_at_once(fleet):
    tables = small()
    tables["grounds"][1][1] = "C9"
    tables["boats"][1][5] = -11.6
    tables["parts"][2][1] = "cap shrod"
    tables["prices"][1][3] = "1,450"
    found = places(faults(fleet, tables))
    for place in [("grounds", 2, "corrosivity"), ("boats", 2, "length m"), ("parts", 3, "stay"),
                  ("prices", 2, "price")]:  # fmt: skip
        assert place in found


# -- boats


@pytest.mark.parametrize(
    ("column", "cell", "wrong"),
    [
        ("length_m", -11.6, "negative"),
        ("length_m", "11,600", "decimal comma or thousands"),
        ("length_m", "11.6 m", "not a plain number"),
        ("length_m", None, "empty"),
        ("build_year", 2008.5, "not a whole number"),
        ("joined", "29.2.2015", "no 29 February"),
        ("joined", "03/04/2010", "two ways"),
        ("joined", dt.date(2026, 12, 1), "still to come"),
        ("joined", dt.date(2007, 4, 1), "built later"),
        ("left", dt.date(2009, 4, 1), "before it joined"),
        ("rig", "slop", "not known"),
        ("owner_email", "a at b", "not a mail address"),
        ("boat", "Te\x07rn", "control character"),
        ("boat", "T" * 81, "81 characters"),
        ("base", "Holow Quay", "of that name"),
    ],
)
def test_a_fault_in_the_sheet_of_boats(fleet, column, cell, wrong):
    found = faults(fleet, changed("boats", 2, **{column: cell}))
    own = [fault for fault in found if fault.sheet == "boats"]
    assert len(own) == 1
    assert (own[0].row, own[0].column) == (2, column.replace("_", " "))
    assert wrong in own[0].wrong


def test_an_unknown_base_is_answered_with_the_nearest(fleet):
    found = faults(fleet, changed("boats", 2, base="Holow Quay"))
    assert "“Hollow Quay”" in found[0].right


def test_two_boats_of_one_name_are_one_too_many_whatever_their_case(fleet):
    tables = changed("boats", 3, boat="  TERN ")
    own = [fault for fault in faults(fleet, tables) if fault.sheet == "boats"]
    assert places(own) == [("boats", 3, "boat")]
    assert "Row 2" in own[0].wrong


def test_decimal_commas_and_names_in_other_scripts_are_fine(fleet):
    tables = small()
    tables["boats"][2][:6] = ["海燕", "Hollow Quay", "Чайка 38", "sloop", "2", "11,6"]
    for sheet in ("parts", "inspections", "findings"):
        for row in tables[sheet][1:]:
            row[0] = "海燕" if row[0] == "Skua" else row[0]
    assert import_workbook(fleet, xlsx(tables), dry_run=False).written
    assert str(Boat.objects.get(name="海燕").length_m) == "11.60"


def test_a_name_that_looks_like_a_formula_stays_a_name(fleet):
    tables = small()
    tables["boats"][1][2] = tables["boats"][2][2] = "=SUM(A1:A9)"
    assert import_workbook(fleet, xlsx(tables), dry_run=False).written
    assert set(Boat.objects.values_list("design", flat=True)) == {"=SUM(A1:A9)"}


# -- parts


@pytest.mark.parametrize(
    ("row", "cells", "column", "wrong"),
    [
        (2, {"removed": dt.date(2007, 1, 1)}, "removed", "before it was fitted"),
        (2, {"fitted": dt.date(2006, 5, 1)}, "fitted", "built later, in 2008"),
        (3, {"fitted": dt.date(2026, 12, 24)}, "fitted", "still to come"),
        (3, {"fitted": dt.date(2014, 3, 1)}, "fitted", "at the same time"),
        (3, {"stay": "main halyard"}, "stay", "not known"),
        (3, {"construction": "7x8"}, "construction", "not known"),
        (3, {"diameter mm": -8}, "diameter mm", "negative"),
        (3, {"side": None}, "side", "pairs"),
        (3, {"mast": "mizzen"}, "mast", "no mizzen mast"),
        (3, {"removal reason": "age rule"}, "removed", "no day"),
        (3, {"place": "lower end"}, "place", "condemned"),
        (2, {"place": "whole part"}, "place", "no such place"),
        (4, {"date certainty": "invoice or log"}, "fitted", "not a day"),
        (5, {"date certainty": "estimated"}, "date certainty", "no date"),
        (4, {"fitted": 2026, "side": "starboard"}, None, None),
    ],
)
def test_a_fault_in_the_sheet_of_parts(fleet, row, cells, column, wrong):
    tables = changed("parts", row, **cells)
    if column is None:
        assert not import_workbook(fleet, xlsx(tables)).faults
        return
    own = [fault for fault in faults(fleet, tables) if fault.sheet == "parts"]
    assert places(own) == [("parts", row, column)]
    assert wrong in own[0].wrong


def test_two_parts_cannot_be_up_in_one_place(fleet):
    tables = changed("parts", 2, removed=None, **{"removal reason": None, "place": None})
    own = [fault for fault in faults(fleet, tables) if fault.sheet == "parts"]
    assert [fault.row for fault in own] == [2, 3]
    assert "row 3 has one too, fitted 2016-03-01" in own[0].wrong


def test_the_same_part_twice_is_one_too_many(fleet):
    tables = small()
    tables["parts"].append(list(tables["parts"][3]))
    found = faults(fleet, tables)
    assert [fault.row for fault in found] == [4, 7, 7]
    assert any("Row 4 gives the same part" in fault.wrong for fault in found)


def test_a_year_alone_may_overlap_the_part_before_it_within_that_year(fleet):
    tables = changed("parts", 3, fitted=2016, **{"date certainty": None})
    tables["parts"][1][9] = dt.date(2016, 9, 1)
    assert not import_workbook(fleet, xlsx(tables)).faults


def test_a_condemned_wire_needs_its_place_or_the_finding(fleet):
    tables = changed("parts", 2, place=None)
    assert not import_workbook(fleet, xlsx(tables)).faults  # The finding of 2015 says where.
    del tables["findings"][1]
    fault = the_fault(fleet, tables)
    assert (fault.row, fault.column) == (2, "place")
    assert "unknown" in fault.right


def test_parts_of_an_unknown_boat_are_told_the_nearest_boat(fleet):
    fault = faults(fleet, changed("parts", 5, boat="Turn"))[0]
    assert (fault.row, fault.column) == (5, "boat")
    assert "“Tern”" in fault.right


def test_rows_of_a_boat_with_a_fault_say_where_that_fault_is(fleet):
    found = faults(fleet, changed("boats", 3, length_m=-1))
    assert ("parts", 6, "boat") in places(found)
    part = next(fault for fault in found if fault.sheet == "parts")
    assert "row 3 of the sheet boats" in part.wrong


def test_a_whole_rig_for_a_design_nobody_has(fleet):
    tables = small()
    tables["parts"].append(["every Ketch 50", "whole rig", None, None, "1x19", 8, 2016])
    fault = the_fault(fleet, tables)
    assert (fault.row, fault.column) == (7, "boat")


# -- use, prices, inspections, findings


@pytest.mark.parametrize(
    ("sheet", "row", "cells", "column", "wrong"),
    [
        ("use", 2, {"season": 2027}, "season", "still to come"),
        ("use", 2, {"season": 1999}, "season", "not yet built"),
        ("use", 2, {"ground": "Laek"}, "ground", "of that name"),
        ("use", 2, {"miles": "1,234"}, "miles", "thousands"),
        ("use", 2, {"mast_down": "perhaps"}, "mast down", "neither yes nor no"),
        ("prices", 2, {"item": "wire"}, None, None),
        ("prices", 2, {"item": "rope"}, "item", "not known"),
        ("prices", 2, {"price": 14.505}, "price", "more than 2 decimals"),
        ("inspections", 3, {"level": "somewhere"}, "level", "not known"),
        ("inspections", 4, {"date": "2015-02-29"}, "date", "no 29 February"),
        ("inspections", 4, {"date": dt.date(2008, 1, 1)}, "date", "built later"),
        ("inspections", 4, {"stays_looked_at": "forestay; boom"}, "stays looked at", "“boom”"),
        ("findings", 3, {"sign": "looks odd"}, "sign", "not known"),
        ("findings", 3, {"boat": "Turn"}, "boat", "of that name"),
        ("findings", 3, {"date": dt.date(2024, 3, 1)}, "date", "no such inspection"),
        ("findings", 3, {"stay": "forestay", "side": None}, "stay", "No such turnbuckle"),
        ("findings", 3, {"stay": None}, "stay", "not said which stay"),
        ("findings", 3, {"part": "wire"}, "part", "No wire can show this sign"),
        ("findings", 3, {"place": "upper end"}, "place", "not found there"),
        ("findings", 3, {"place": "tang"}, "place", "not one of this place"),
        ("findings", 3, {"sign": "Tang cracked"}, "place", "sign of the boat"),
        ("findings", 3, {"made_good_on": dt.date(2024, 3, 1)}, "made good on", "found later"),
        ("findings", 3, {"made_good_on": None}, "made good on", "no day is given"),
        ("findings", 2, {"place": None}, "place", "not said where"),
        ("findings", 2, {"measure": -1}, "measure", "negative"),
    ],
)
def test_a_fault_in_the_other_sheets(fleet, sheet, row, cells, column, wrong):
    tables = changed(sheet, row, **cells)
    if column is None:
        assert not import_workbook(fleet, xlsx(tables)).faults
        return
    own = [fault for fault in faults(fleet, tables) if fault.sheet == sheet and fault.row == row]
    assert places(own) == [(sheet, row, column)]
    assert wrong in own[0].wrong


def test_a_finding_that_fits_two_inspections_is_asked_for_its_person(fleet):
    tables = small()
    tables["inspections"].append(["Tern", dt.date(2024, 3, 2), "deck", "C. Crew", "crew", "eye"])
    fault = next(f for f in faults(fleet, tables) if f.sheet == "findings")
    assert (fault.row, fault.column) == (3, "person")


def test_an_inspection_after_the_boat_left_is_refused(fleet):
    tables = changed("boats", 3, left=dt.date(2023, 1, 1))
    found = faults(fleet, tables)
    assert ("inspections", 4, "date") in places(found)


def test_dates_of_a_column_are_read_in_the_order_another_row_proves(fleet):
    tables = small()
    tables["boats"][1][7], tables["boats"][2][7] = "03/04/2010", "25/04/2011"
    assert import_workbook(fleet, xlsx(tables), dry_run=False).written
    assert Boat.objects.get(name="Tern").joined == dt.date(2010, 4, 3)


def test_dates_of_a_column_in_both_orders_prove_nothing(fleet):
    tables = small()
    tables["boats"].append(list(tables["boats"][1]))
    tables["boats"][3][0] = "Auk"
    for row, joined in enumerate(["03/04/2010", "25/04/2011", "04/25/2011"], start=1):
        tables["boats"][row][7] = joined
    own = [fault for fault in faults(fleet, tables) if fault.sheet == "boats"]
    assert places(own) == [("boats", 2, "joined")]


def test_csv_says_the_same_of_the_same_fault(fleet):
    tables = changed("boats", 2, length_m=-11.6)
    from_csv = import_workbook(fleet, csv(tables)).faults
    from_xlsx = import_workbook(fleet, xlsx(tables)).faults
    assert [(f.sheet, f.row, f.column, f.wrong) for f in from_csv] == [
        (f.sheet, f.row, f.column, f.wrong) for f in from_xlsx
    ]


def test_today_is_the_fleets_own_day(fleet):
    assert fleet.today() == TODAY
    assert not import_workbook(fleet, xlsx(changed("boats", 2, joined=TODAY))).faults
