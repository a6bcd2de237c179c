"""Cells into values, or into a fault that says what would be right."""

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.sheets import (
    Choice,
    Column,
    Day,
    DayOrYear,
    Email,
    Layout,
    Number,
    RawSheet,
    Reading,
    Text,
    Unreadable,
    Whole,
    YesNo,
    read_sheet,
)  # fmt: skip
from fleet.sheets.dates import proven_order

TODAY = dt.date(2026, 10, 14)
READING = Reading(TODAY)
MM = Number("mm", 0.1, 200)
STAY = Choice({"cap_shroud": "cap shroud", "forestay": "forestay"})
TERMINAL = Choice({"swaged": "swaged", "t_ball": "T- or ball-end"})

KINDS = [
    Text(20), Text(200, lines=True), Email(50), MM, Whole("miles", 0, 9999), YesNo(), STAY, Day(),
    DayOrYear(), Day(future=True), Number("metres", 2, 99, places=2),
    Number("the price", 0, 1e7, places=2, exact=True),
]  # fmt: skip
CELLS = st.one_of(
    st.none(), st.text(), st.booleans(), st.integers(), st.floats(), st.dates(), st.datetimes(),
    st.times(), st.timedeltas(), st.characters(), st.from_regex(r"[0-9 ,.\-/]{1,14}"),
)  # fmt: skip


def fault(kind, cell, reading=READING) -> Unreadable:
    with pytest.raises(Unreadable) as caught:
        kind.read(cell, reading)
    return caught.value


@pytest.mark.parametrize(
    ("cell", "value"),
    [(8.0, 8), ("8", 8), ("8.5", 8.5), ("12,3", 12.3), ("12,35", 12.35), ("0,125", 0.125),
     (" 8 ", 8), ("1e1", None), (0.1 + 0.2, 0.3)],
)  # fmt: skip
def test_a_diameter_is_read_as_people_write_it(cell, value):
    if value is None:
        assert "number alone" in fault(MM, cell).right
    else:
        assert MM.read(cell, READING) == value


def test_a_comma_that_may_mean_thousands_is_asked_back():
    trouble = fault(Whole("miles", 0, 9999), "1,234")
    assert "1.234 or 1234" in trouble.right


def test_a_negative_length_is_refused_in_words():
    assert fault(Number("metres", 2, 99), -11.6).wrong == "The number is negative."


@pytest.mark.parametrize("cell", [True, dt.date(2016, 5, 12), dt.datetime(2016, 5, 12), "8 mm"])
def test_what_is_no_number_is_not_taken_for_one(cell):
    assert "number" in fault(MM, cell).wrong


def test_a_unit_in_the_cell_is_answered_with_the_number_alone():
    assert "for example 8." in fault(MM, "8 mm").right


@pytest.mark.parametrize("cell", [math.inf, math.nan])
def test_infinity_is_no_diameter(cell):
    assert fault(MM, cell)


def test_a_whole_number_arrives_from_a_spreadsheet_as_12_0():
    assert Whole("miles", 0, 9999).read(1200.0, READING) == 1200
    assert "not a whole number" in fault(Whole("miles", 0, 9999), 12.5).wrong


def test_money_is_not_rounded_in_silence():
    price = Number("the price", 0, 1e7, places=2, exact=True)
    assert "more than 2 decimals" in fault(price, "14.505").wrong
    assert str(price.read(14.5, READING)) == "14.50"


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("2016-02-29", dt.date(2016, 2, 29)),
        ("2016/02/29", dt.date(2016, 2, 29)),
        ("2016-02-29 00:00:00", dt.date(2016, 2, 29)),
        ("29.02.2016", dt.date(2016, 2, 29)),
        ("2/29/2016", dt.date(2016, 2, 29)),
        ("05/05/2016", dt.date(2016, 5, 5)),
        ("5 May 2016", dt.date(2016, 5, 5)),
        ("May 5, 2016", dt.date(2016, 5, 5)),
        ("5th Sept 2016", dt.date(2016, 9, 5)),
        (dt.datetime(2016, 5, 5, 14, 30), dt.date(2016, 5, 5)),
        # Day 42429 of the 1900 system: ECMA-376 part 1, 18.17.4.1 counts 1900-01-01 as day 1.
        (42429.0, dt.date(2016, 2, 29)),
    ],
)
def test_a_date_that_can_be_read_one_way_is_read(cell, day):
    assert Day().read(cell, READING) == day


def test_a_date_that_can_be_read_two_ways_is_asked_back_with_both():
    trouble = fault(Day(), "03/04/2016")
    assert "2016-04-03" in trouble.right
    assert "2016-03-04" in trouble.right


def test_a_column_that_proves_its_order_is_read_in_that_order():
    assert proven_order(["03/04/2016", "25/04/2016"]) is True
    assert proven_order(["03/04/2016", "04/25/2016"]) is False
    assert proven_order(["25/04/2016", "04/25/2016"]) is None
    assert Day().read("03/04/2016", Reading(TODAY, True)) == dt.date(2016, 4, 3)
    assert Day().read("03/04/2016", Reading(TODAY, False)) == dt.date(2016, 3, 4)


def test_the_29th_of_february_needs_a_leap_year():
    assert "2015 has no 29 February" in fault(Day(), "2015-02-29").wrong
    # 1900 was no leap year (Gregorian rule), though spreadsheet programs count one.
    assert "1900 has no 29 February" in fault(Day(), "29 February 1900").wrong


def test_a_date_to_come_is_refused_unless_it_is_a_plan():
    assert "still to come" in fault(Day(), "2026-10-15").wrong
    assert Day(future=True).read("2031-10-31", READING) == dt.date(2031, 10, 31)


@pytest.mark.parametrize("cell", ["05/05/16", "31.4.2016", "5 Mai 2016", "soon", "0216-01-01",
                                  True, 3.0, dt.time(3), "2016"])  # fmt: skip
def test_what_is_no_date_is_refused_with_the_form_to_write(cell):
    assert "YYYY-MM-DD" in fault(Day(), cell).right


def test_a_year_alone_says_less_than_a_day_and_stays_a_year():
    assert DayOrYear().read(2016.0, READING) == 2016
    assert DayOrYear().read("2016", READING) == 2016
    assert DayOrYear().read("2016-05-01", READING) == dt.date(2016, 5, 1)
    assert "still to come" in fault(DayOrYear(), 2027).wrong


def test_a_year_typed_into_a_date_cell_is_not_taken_for_a_day_in_1905():
    shown_by_the_spreadsheet = dt.date(1905, 7, 8)
    assert "the year 2016" in fault(DayOrYear(), shown_by_the_spreadsheet).wrong


def test_a_1904_workbook_counts_its_days_from_1904():
    # ECMA-376 part 1, 18.17.4.1: in the 1904 system 1904-01-01 is day 0.
    assert Day().read(42429.0, Reading(TODAY, epoch=dt.date(1904, 1, 1))) == dt.date(2020, 3, 1)


@pytest.mark.parametrize("cell", ["cap shroud", "Cap Shroud", "cap_shroud", "CAP-SHROUD "])
def test_a_stay_is_known_by_its_words_whatever_their_case(cell):
    assert STAY.read(cell, READING) == "cap_shroud"


def test_punctuation_of_a_terminal_does_not_matter():
    assert TERMINAL.read("T or ball end", READING) == "t_ball"


def test_an_unknown_stay_is_answered_with_the_nearest_and_the_list():
    right = fault(STAY, "cap shrod").right
    assert "“cap shroud”" in right
    assert "forestay" in right


@pytest.mark.parametrize(
    ("cell", "value"),
    [("yes", True), ("NO", False), (True, True), (0.0, False), (1, True), ("true", True)],
)
def test_yes_and_no_are_read_in_their_plain_forms(cell, value):
    assert YesNo().read(cell, READING) is value


def test_perhaps_is_neither_yes_nor_no():
    assert fault(YesNo(), "perhaps").right == "Write yes or no."


def test_text_is_kept_as_typed_in_any_script():
    for name in ("Ψαρόνι", "海燕", "Чайка", "=SUM(A1)", "+46", "@base", "O'Brien"):
        assert Text(80).read(name, READING) == name


def test_a_number_in_a_text_column_keeps_no_decimal_point():
    assert Text(60).read(1041.0, READING) == "1041"


def test_accents_are_composed_so_that_one_name_is_one_boat():
    assert Text(80).read("Sle\u0301", READING) == "Sl\u00e9"


@pytest.mark.parametrize("cell", ["A\x00B", "A\x1bB", "two\nlines", "\ud800"])
def test_control_characters_are_no_text(cell):
    assert "Type the text anew" in fault(Text(80), cell).right


def test_text_too_long_for_its_place_says_how_long_it_may_be():
    assert "at most 20" in fault(Text(20), "x" * 21).right


def test_a_mail_address_has_its_shape():
    assert Email(254).read("a@example.org", READING) == "a@example.org"
    assert fault(Email(254), "a at example")


@given(st.sampled_from(KINDS), CELLS)
def test_whatever_a_cell_holds_it_is_a_value_or_a_fault_in_words(kind, cell):
    try:
        value = kind.read(cell, READING)
    except Unreadable as caught:
        trouble, value = caught, None
    else:
        trouble = None
        assert kind.read(kind.write(value), READING) == value
    assert trouble is None or (trouble.wrong and trouble.right)


LAYOUT = Layout(
    "boats",
    "",
    (
        Column("boat", Text(80), "", needed=True),
        Column("length m", Number("metres", 2, 99), ""),
        Column("joined", Day(), ""),
    ),
)


@given(st.lists(st.lists(CELLS, max_size=5), max_size=6))
def test_no_sheet_of_any_cells_breaks_the_reader(rows):
    table = read_sheet(LAYOUT, RawSheet("boats", [["boat", "length m", "joined"], *rows]), TODAY)
    numbers = {row.number for row in table.bad}
    assert numbers == {fault.row for fault in table.faults}


@given(st.lists(st.lists(CELLS, max_size=5), max_size=6))
def test_no_header_of_any_cells_breaks_the_reader(rows):
    table = read_sheet(LAYOUT, RawSheet("boats", rows), TODAY)
    assert table.broken == (not table.rows and bool(table.faults))


def read(*rows: list, **raw):
    return read_sheet(LAYOUT, RawSheet("boats", list(rows), **raw), TODAY)


def test_rows_are_counted_as_in_the_file_with_titles_and_gaps():
    table = read([], ["Our boats"], ["Boat", "LENGTH M"], [], ["Tern", "long"])
    assert [(f.row, f.column, f.value) for f in table.faults] == [(5, "length m", "long")]


def test_columns_may_stand_in_any_order_and_the_spare_ones_be_absent():
    table = read(["length m", "boat"], [11.6, "Tern"])
    assert table.rows[0].values == {"boat": "Tern", "length m": 11.6}


def test_a_renamed_column_is_named_with_the_nearest_known():
    faults = read(["boat", "lenght m"], ["Tern", 11.6]).faults
    assert "“length m”" in faults[0].right


def test_a_missing_column_and_one_there_twice_are_named():
    wrong = [f.wrong for f in read(["length m", "length m"], [1, 2]).faults]
    assert wrong == ["This column is there twice.", "This column is missing."]


def test_merged_cells_leave_their_rows_out_and_say_so():
    table = read(["boat", "length m"], ["Tern", 11], ["", 12], merged=(((1, 0), (2, 0)),))
    assert [row.number for row in table.bad] == [2, 3]
    assert table.faults[0].value == "A2:A3"
    assert "Unmerge" in table.faults[0].right


def test_a_name_written_once_for_a_group_of_rows_is_asked_for_on_each():
    table = read(["boat", "length m"], ["Tern", 11], [None, 12])
    assert "also where the row above says the same" in table.faults[0].right


def test_a_cell_under_no_header_is_not_lost_in_silence():
    table = read(["boat"], ["Tern", "a remark"])
    assert table.faults[0].column == "B"
    assert not table.rows


def test_an_error_of_a_formula_is_not_taken_for_an_empty_cell():
    table = read(["boat", "joined"], ["Tern", ""], errors={(1, 1): "#N/A"})
    assert "#N/A" in table.faults[0].wrong
