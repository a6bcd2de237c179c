"""What the board says of a week and an order, worked out by hand; no database."""

import datetime as dt
from dataclasses import replace

import pytest

from fleet.models import Boat, Fleet, Installation, Stay
from forecasting import yard_board, yard_orders
from forecasting.models import LeadTime, YardPlan, YardVisit
from forecasting.yard_board import DEEP, against, change_words, choices, uses, water
from forecasting.yard_orders import NO_LEAD, Wanted, grouped, total
from forecasting.yard_reads import WeekAtBase
from inspections.models import Booking

MONDAY = dt.date(2026, 11, 2)
WEEK = dt.timedelta(weeks=1)
DAY = dt.timedelta(days=1)
PLAN = YardPlan(first_monday=MONDAY, weeks=4)


def week(number: int, **facts) -> WeekAtBase:
    usual = {"has_hours": 20.0, "has_masts": 1, "has_berths": 2}
    return WeekAtBase(number, PLAN.monday(number), **(usual | facts))


def visit(first: int | None = 0, **facts) -> YardVisit:
    usual = {"hours": 12.0, "weeks": 1, "mast_down": True}
    return YardVisit(plan=PLAN, boat_id=1, first_week=first, **(usual | facts))


def test_the_deepest_week_fills_the_drawing_and_work_below_the_ground_is_aground():
    assert water(10, 40, 40).depth == DEEP
    assert water(10, 40, 40).draught == DEEP / 4
    assert not water(20, 20, 40).aground
    assert water(21, 20, 40).aground
    assert water(21, 20, 40).ground == DEEP / 2
    unlimited = water(5, None, 10)
    assert unlimited.depth is None
    assert not unlimited.aground
    assert water(0, 0, 0).draught == 0


def test_a_week_says_what_it_uses_of_what_there_is_and_by_how_much_it_is_over():
    lines = [each.words for each in uses(week(0, hours=26.5, masts=1, berths=2))]
    assert lines == ["26.5 of 20 h, 6.5 over", "1 of 1 mast", "2 of 2 berths"]
    assert [each.words for each in uses(week(0, has_hours=None, hours=3))] == ["3 h"]
    assert uses(week(0))[0].free == "free, 20 h"


def test_a_week_is_against_a_boat_that_is_booked_or_waits_for_parts_or_for_hours():
    booked = Booking(first=MONDAY + 11 * DAY, last=MONDAY + 14 * DAY)
    weeks = [week(0, hours=12, masts=1, berths=1), week(1, hours=9, masts=1), week(2), week(3)]
    found = choices(visit(parts_ready=MONDAY + WEEK), weeks, [booked])
    assert [each.here for each in found] == [True, False, False, False]
    assert found[0].against == "parts here 9 Nov 2026", "its own work is counted once"
    assert found[1].against == "booked 13 Nov 2026 to 16 Nov 2026, 1 h over, 1 mast over"
    assert found[2].against == "booked 13 Nov 2026 to 16 Nov 2026", "the booking ends on its Monday"
    assert found[3].against == ""


def test_a_boat_of_two_weeks_cannot_begin_in_the_last_and_brings_half_its_hours_to_each():
    weeks = [week(0, hours=15), week(1, hours=13), week(2, hours=14), week(3)]
    found = choices(visit(None, hours=14.0, weeks=2), weeks, [])
    assert [each.number for each in found] == [0, 1, 2]
    assert [each.against for each in found] == ["2 h over", "1 h over", "1 h over"]


def test_a_boat_that_stays_a_second_week_begins_its_mast_anew_when_it_moves_there():
    stays = visit(0, weeks=2, hours=4.0)
    weeks = [week(0, hours=2, masts=1, berths=1), week(1, hours=2, masts=1, berths=1), week(2)]
    assert against(stays, weeks[1:3], []) == "1 mast over"
    assert against(stays, weeks[0:2], []) == ""


def test_what_a_move_does_to_the_cost_is_said_in_words():
    assert change_words(10_000, 22_345, "EUR") == "123 EUR dearer than before."
    assert change_words(22_300, 10_000, "EUR") == "123 EUR cheaper than before."
    assert change_words(10_000, 10_000, "EUR") == "Waiting costs the same."
    assert change_words(None, 10_000, "EUR") == ""


# -- orders

HARBOUR = Fleet(pk=1, name="Harbour", currency="EUR")
TERN, SKUA = Boat(pk=1, name="Tern", fleet=HARBOUR), Boat(pk=2, name="Skua", fleet=HARBOUR)
LOFT = LeadTime(supplier="The Wire Loft", weeks=2.5, order_by="by Thursday noon")


def wire(boat: Boat, side: str = "port", **facts) -> Installation:
    usual = {"kind": "wire", "construction": "1x19", "diameter_mm": 8, "length_mm": 14000,
             "lower_terminal": "swaged", "upper_terminal": "t_ball", "pin_mm": 12, "thread": "M16",
             "hand": "right", "mast_end": "ball", "adjuster": "half"}  # fmt: skip
    return Installation(stay=Stay(boat=boat, name="cap_shroud", side=side), **(usual | facts))


def wanted(boat: Boat = TERN, week: int | None = 3, lead=LOFT, price=100_01, **facts) -> Wanted:
    monday = None if week is None else PLAN.monday(week)
    return Wanted(wire(boat, **facts), boat, monday, lead, price)


def test_a_part_is_ordered_by_its_boats_monday_less_the_lead_time_in_whole_days():
    assert wanted().by == dt.date(2026, 11, 23) - 18 * DAY, "2.5 weeks are 18 days, never 17"
    assert wanted(week=None).by is None
    assert wanted(lead=None).by is None


def test_parts_of_one_description_and_day_are_one_line_and_totals_add_to_the_cent():
    parts = [wanted(), wanted(side="starboard"), wanted(SKUA), wanted(length_mm=13_990)]
    [order] = grouped(parts, MONDAY)
    assert [(line.pieces, line.price_minor) for line in order.lines] == [(1, 100_01), (3, 300_03)]
    assert (
        order.lines[1].for_words
        == "Skua: Cap shroud, port · Tern: Cap shroud, port; Cap shroud, starboard"
    )
    assert (order.pieces, order.price_minor) == (4, 400_04)
    assert order.lines[0].how == "by Thursday noon"


def test_a_part_on_a_work_order_says_so_and_is_counted_before_it_is_ordered_twice():
    parts = [replace(wanted(), work_order="2026-002"), wanted(side="starboard")]
    [order] = grouped(parts, MONDAY)
    assert order.lines[0].for_words == (
        "Tern (on work order 2026-002): Cap shroud, port · Tern: Cap shroud, starboard"
    )
    assert total([order]).twice.startswith("1 part is on a work order already: ask there")
    assert total(grouped(parts[1:], MONDAY)).twice == ""


def test_what_is_late_comes_first_and_what_has_no_day_last_and_says_why():
    far = LeadTime(supplier="Far Away Rods", weeks=9)
    parts = [wanted(lead=None), wanted(week=None), wanted(), wanted(SKUA, lead=far), wanted(week=0)]
    found = grouped(parts, MONDAY)
    assert [order.supplier for order in found] == ["Far Away Rods", "The Wire Loft", NO_LEAD]
    assert [line.late for line in found[1].lines] == [18, 0, 0]
    assert [line.when for line in found[1].lines] == ["15 Oct 2026", "5 Nov 2026", "no week yet"]
    assert found[2].lines[0].when == "lead time not known"
    assert found[0].late == 1
    whole = total(found)
    assert (whole.pieces, whole.late, whole.undated) == (5, 2, 2)
    assert whole.price_minor == 500_05
    assert whole.first == dt.date(2026, 11, 23) - 63 * DAY


def test_what_is_not_on_record_is_measured_before_it_is_ordered():
    assert grouped([wanted()], MONDAY)[0].lines[0].measure == ""
    [order] = grouped([wanted(length_mm=None, diameter_mm=None, thread="")], MONDAY)
    assert order.lines[0].measure == "measure before ordering: diameter, pin to pin, thread"
    assert order.lines[0].size["length"] == "measure before ordering"


def test_fittings_go_by_their_pin_and_are_listed_boat_by_boat():
    fitting = {"kind": "turnbuckle", "construction": "", "length_mm": None, "diameter_mm": None}
    parts = [wanted(**fitting), wanted(SKUA, **fitting), wanted(side="starboard", **fitting)]
    [alike] = grouped(parts, MONDAY)[0].days[0].alike
    assert (alike.words, alike.ends) == ("Turnbuckle", "thread M16, right-hand, pin 12 mm")
    assert alike.cuts == [
        ("", "Skua: Cap shroud, port", 1), ("", "Tern: Cap shroud, port; Cap shroud, starboard", 2),
    ]  # fmt: skip
    assert not alike.unsized


def test_wires_that_differ_in_length_alone_are_one_material_with_its_cuts_in_order():
    parts = [wanted(), wanted(SKUA, length_mm=9_990), wanted(SKUA, diameter_mm=6)]
    days = grouped(parts, MONDAY)[0].days
    assert [day.words for day in days] == ["Order by 5 Nov 2026"]
    assert [each.words for each in days[0].alike] == ["Wire, 1x19, 6 mm", "Wire, 1x19, 8 mm"]
    assert [length for length, _, _ in days[0].alike[1].cuts] == ["9,990 mm", "14,000 mm"]
    assert days[0].price_minor == 300_03
    [late] = grouped([wanted(week=0)], MONDAY)[0].days
    assert late.words == "Order by 15 Oct 2026, 18 days late"


@pytest.mark.parametrize("orders", [[], grouped([], MONDAY)])
def test_nothing_to_order_is_no_money(orders):
    assert total(orders) == yard_orders.Total(0, 0, 0, 0, None)


def test_an_order_without_a_named_supplier_says_so():
    [order] = grouped([wanted(lead=LeadTime(weeks=1))], MONDAY)
    assert order.supplier == yard_orders.UNNAMED


def test_hours_are_said_with_a_decimal_only_where_there_is_one():
    assert [yard_board.number(value) for value in (3.0, 2.25, 1200)] == ["3", "2.2", "1,200"]
