"""Sizes, dates, stays and headers as bosuns write them."""

import datetime as dt

import pytest

from fleet.matching import days, sizes
from fleet.matching.headers import column_for, find_headers
from fleet.matching.stay_words import stay_called, stays_in
from fleet.matching.vocabulary import unit_in
from fleet.sheets import RawSheet
from fleet.sheets.faults import EPOCH
from inspections.spreadsheets.matched_files import LAYOUTS

TODAY = dt.date(2026, 10, 14)
D = dt.date

# Inches to millimetres by 25.4 mm exactly (international yard and pound agreement, 1959), worked
# out by hand to two decimals, half up.
INCHES = [
    ("1/8", 3.18), ("5/32", 3.97), ("3/16", 4.76), ("7/32", 5.56), ("1/4", 6.35), ("9/32", 7.14),
    ("5/16", 7.94), ("3/8", 9.53), ("1/2", 12.7), ("5/8", 15.88), ("1 1/4", 31.75),
]  # fmt: skip


@pytest.mark.parametrize(("inches", "mm"), INCHES)
@pytest.mark.parametrize("written", ["{}", '{}"', "{} in", "{} inch", "ø {}″"])
def test_a_wire_by_the_inch_keeps_its_true_size_and_never_a_metric_one(inches, mm, written):
    assert sizes.converted(written.format(inches), "diameter mm", "", "") == mm
    assert sizes.converted(written.format(inches), "diameter mm", "mm", "") == mm


@pytest.mark.parametrize(
    ("cell", "unit", "sign", "mm"),
    [
        ("8 mm", "in", "", 8), ("8,5", "mm", ",", 8.5), ("8.5", "mm", "", 8.5), (8, "mm", "", 8),
        (0.25, "in", "", 6.35), (5, "32nds", "", 3.97), (5, "16ths", "", 7.94), ("¼", "", "", 6.35),
        ("1½ in", "", "", 38.1), ("8.5", "mm", ",", 8.5),
    ],
)  # fmt: skip
def test_a_size_is_read_in_its_own_unit_before_that_of_its_column(cell, unit, sign, mm):
    assert sizes.converted(cell, "diameter mm", unit, sign) == mm


@pytest.mark.parametrize(
    ("cell", "unit", "mm"),
    [("42' 6\"", "", 12954), ("42 ft 6 in", "", 12954), ("41'", "", 12497), ("13.25 m", "", 13250),
     (13.25, "m", 13250), ("510 in", "", 12954), (13250, "mm", 13250)],
)  # fmt: skip
def test_a_length_in_feet_inches_or_metres_becomes_whole_millimetres(cell, unit, mm):
    assert sizes.converted(cell, "pin to pin mm", unit, "") == mm


@pytest.mark.parametrize("cell", ["8", 8, "8.5", "12,3456"])
def test_a_number_without_any_unit_never_passes_for_millimetres(cell):
    read = sizes.converted(cell, "diameter mm", "", "")
    assert isinstance(read, str)
    assert "unit not said" in read


@pytest.mark.parametrize("cell", ["ask the rigger", "5/0", "8 apples", "1x19", True, TODAY])
def test_what_is_no_size_stays_as_it_stands_for_the_check_to_fault(cell):
    assert sizes.converted(cell, "diameter mm", "mm", "") == cell


@pytest.mark.parametrize(
    ("cells", "sign"),
    [
        (["13,250"], None), (["13.250"], None), (["13,250", "8,5"], ","), (["13,250.5"], "."),
        (["1.250,5"], ","), (["8,5", "8.5"], None), ([8.5, "8"], ""), (["0,250"], ","),
        (["1,250,000"], "."),
    ],
)  # fmt: skip
def test_decimals_or_thousands_are_told_only_where_a_cell_proves_it(cells, sign):
    assert sizes.proven_sign(cells) == sign


@pytest.mark.parametrize(
    ("cells", "order"),
    [
        (["03/04/2021"], None), (["03/04/2021", "14/03/2016"], "day"),
        (["03/04/2021", "03/14/2016"], "month"), (["04/04/2021", "March 2019"], ""),
        (["03/14/2016", "14/03/2016", "03/04/2016"], None), (["03/04/21"], None),
        (["98/04/03"], ""), ([D(2021, 4, 3)], ""), (["25/12/2019"], ""),
    ],
)  # fmt: skip
def test_what_comes_first_in_a_date_is_told_only_where_a_cell_proves_it(cells, order):
    assert days.proven_order(cells, TODAY) == order


@pytest.mark.parametrize(
    ("cell", "order", "known"),
    [
        ("March 2019", "", (D(2019, 3, 15), "year")), ("Mar '19", "", (D(2019, 3, 15), "year")),
        ("03/2019", "", (D(2019, 3, 15), "year")), ("c. 2015", "", (2015, "estimated")),
        ("2015?", "", (2015, "estimated")), ("new 2019", "", (2019, "")), (2016, "", (2016, "")),
        ("Spring 2016", "", (2016, "")), ("14th May 2018", "", (D(2018, 5, 14), "")),
        ("14/03/2016", "", (D(2016, 3, 14), "")), ("03/04/2016", "day", (D(2016, 4, 3), "")),
        ("03/04/2016", "month", (D(2016, 3, 4), "")), ("03/04/2016", "", None),
        ("03/04/98", "day", (D(1998, 4, 3), "")), ("21/4/03", "year", (D(2021, 4, 3), "")),
        ("about March 2019", "", (D(2019, 3, 15), "estimated")),
        ("2016-05-31", "", (D(2016, 5, 31), "")),
        (42500, "", (D(2016, 5, 10), "")), ("before the gale", "", None),
        ("winter 15/16", "", None),
        ("31/02/2016", "day", None), ("13/2019", "", None),
    ],
)  # fmt: skip
def test_a_date_in_words_says_how_surely_it_is_known(cell, order, known):
    assert days.known(cell, order, TODAY, EPOCH) == known


@pytest.mark.parametrize(
    ("word", "code"),
    [
        ("Headstay", "main/forestay/"), ("Caps P", "main/cap_shroud/port"),
        ("stbd fwd lower", "main/lower_forward/starboard"),
        ("Runners", "main/running_backstay/both"),
        ("Mizzen cap shrouds", "mizzen/cap_shroud/both"), ("Cap", "main/cap_shroud/"),
        ("Baby stay", "main/inner_forestay/"), ("P & S uppers", "main/cap_shroud/both"),
        ("Aft lower S", "main/lower_aft/starboard"), ("lower", ""), ("shrouds", ""),
        ("V1", ""), ("topping lift", ""), ("", ""),
    ],
)  # fmt: skip
def test_a_stay_is_known_by_the_names_it_goes_by_and_several_at_once_by_none(word, code):
    assert stay_called(word) == code


def test_the_longest_name_of_a_stay_goes_first():
    assert stays_in("inner forestay")[0].stay == "inner_forestay"


@pytest.mark.parametrize(
    ("label", "to", "stay", "unit"),
    [
        ("Wire size (mm)", "diameter mm", "", "mm"), ('Pin (")', "pin mm", "", "in"),
        ("Yacht", "boat", "", ""), ("Caps P fitted", "fitted", "main/cap_shroud/port", ""),
        ("Lower P (mm)", "", "?", "mm"), ("Cap shroud", "", "main/cap_shroud/?", ""),
        ("Upper terminal", "upper terminal", "", ""), ("Replaced", "", "", ""),
        ("diameter mm", "diameter mm", "", "mm"), ("Caps bottom end", "lower terminal",
                                                  "main/cap_shroud/both", ""),
    ],
)  # fmt: skip
def test_a_header_says_what_it_can_and_leaves_the_rest_open(label, to, stay, unit):
    column = column_for(label, LAYOUTS["parts"])
    assert (column.to, column.stay, column.unit) == (to, stay, unit)


def test_a_misspelt_header_is_recognised_but_not_for_sure():
    column = column_for("Diametre", LAYOUTS["parts"])
    assert (column.to, column.sure) == ("diameter mm", False)


def test_a_unit_is_taken_from_a_header_only_if_there_is_one():
    assert unit_in("Length, metres") == ("length", "m")
    assert unit_in("In foil") == ("in foil", "")


def test_title_lines_above_the_headers_are_passed_over():
    rows = [["Rigging 2026"], [None], ["Boat", "Stay", "Size mm"], ["Tern", "forestay", 8]]
    headers = find_headers(RawSheet("x", rows), LAYOUTS["parts"])
    assert (headers.top, headers.count) == (2, 1)
