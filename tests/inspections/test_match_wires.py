"""Wires in one cell, turnbuckles and chainplates, from a bosun's sheet to the fleet's rows."""

import datetime as dt

import pytest

from fleet.matching import Match
from fleet.models import Installation, SheetMatch
from inspections.spreadsheets import match_words
from tests import bosun_sheets as book
from tests.inspections.matching_pages import (
    fields_of,
    parts,
    questions_in,
    text_of,
    two_boats,
    use,
    write,
)
from tests.inspections.test_import_page import at, hand_in, signed_in

pytestmark = pytest.mark.django_db
D = dt.date


@pytest.fixture
def fleet():
    return two_boats()


@pytest.fixture
def bosun(fleet):
    return signed_in(fleet, "bosun")


def wires(fleet) -> list[tuple]:
    """Return boat, stay, size and construction of every part, by boat and stay."""
    rows = Installation.objects.of(fleet).order_by("stay__boat__name", "stay__name", "pk")
    return list(rows.values_list("stay__boat__name", "stay__name", "diameter_mm", "construction"))


ONE_CELL = [
    ["Boat", "Stay", "Wire", "Fitted"],
    ["Tern", "forestay", "8mm 1x19", 2016],
    ["Tern", "backstay", "1x19 8 mm", 2016],
    ["Skua", "forestay", "5/16 1x19", 2018],
    ["Skua", "backstay", "Ø7 mm rod", 2018],
]


@pytest.mark.parametrize("written", [book.xlsx, book.csv], ids=["xlsx", "csv"])
def test_size_and_construction_in_one_cell_become_both(fleet, bosun, written):
    page = hand_in(bosun, fleet, written(ONE_CELL))
    assert questions_in(page) == []
    write(bosun, fleet, use(bosun, fleet, page))
    assert wires(fleet) == [
        ("Skua", "backstay", 7, "rod"), ("Skua", "forestay", 7.94, "1x19"),
        ("Tern", "backstay", 8, "1x19"), ("Tern", "forestay", 8, "1x19"),
    ]  # fmt: skip


def test_a_bare_size_beside_a_construction_still_asks_for_its_unit(fleet, bosun):
    rows = [*ONE_CELL, ["Tern", "inner forestay", "Ø7 rod", 2016]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == ["Ø7 in “Wire”: millimetres, or of which unit?"]
    write(bosun, fleet, use(bosun, fleet, page, t0__unit__2="mm"))
    assert ("Tern", "inner_forestay", 7, "rod") in wires(fleet)


def test_a_word_beside_the_size_that_nobody_knows_is_asked(fleet, bosun):
    rows = [ONE_CELL[0], ["Tern", "forestay", "8mm S/S", 2016]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == ["What does “s/s” mean under “construction”?"]
    write(bosun, fleet, use(bosun, fleet, page, t0__word__construction__0="1x19"))
    assert wires(fleet) == [("Tern", "forestay", 8, "1x19")]


def test_a_word_that_says_nothing_of_the_wire_leaves_the_size_alone(fleet, bosun):
    rows = [ONE_CELL[0], ["Tern", "forestay", "8mm new", 2016]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    write(bosun, fleet, use(bosun, fleet, page, t0__word__construction__0="-"))
    assert wires(fleet) == [("Tern", "forestay", 8, "")]


def test_a_column_of_constructions_may_hold_the_sizes_too(fleet, bosun):
    rows = [["Boat", "Stay", "Wire type", "Fitted"], *ONE_CELL[1:]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == []
    write(bosun, fleet, use(bosun, fleet, page))
    assert ("Skua", "forestay", 7.94, "1x19") in wires(fleet)


def test_a_cell_that_contradicts_the_column_beside_it_is_refused_with_both(fleet, bosun):
    rows = [["Boat", "Stay", "Wire", "Lay"], ["Tern", "forestay", "8mm 1x19", "rod"],
            ["Tern", "backstay", "8mm 1 x 19", "1x19"]]  # fmt: skip
    page = text_of(use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(rows))))
    assert "1 thing to put right" in page
    assert "1x19, and rod in its own column" in page


def test_a_stays_own_column_may_hold_whole_wires(fleet, bosun):
    rows = [["Boat", "Forestay", "Caps", "Rig renewed"], ["Tern", "10mm 1x19", "8mm 1x19", 2016]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == []
    write(bosun, fleet, use(bosun, fleet, page))
    assert wires(fleet) == [("Tern", "cap_shroud", 8, "1x19"), ("Tern", "cap_shroud", 8, "1x19"),
                            ("Tern", "forestay", 10, "1x19")]  # fmt: skip


def test_a_cell_that_holds_for_every_shroud_of_a_row_is_faulted_once(fleet, bosun):
    rows = [["Boat", "Forestay (mm)", "Caps (mm)", "Backstay (mm)", "Rig renewed"],
            ["Tern", 10, 8, 8, 2039], ["Gannet", 10, 8, 8, 2016]]  # fmt: skip
    page = text_of(use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(rows))))
    assert "2 things to put right" in page
    assert page.count("The year 2039 is still to come.") == 1


# -- turnbuckles and chainplates

WIDE = [
    ["Boat", "Caps (mm)", "Wire type", "Rig renewed", "Caps turnbuckle (mm)",
     "Caps turnbuckle fitted", "Chainplates renewed"],
    ["Tern", 8, "1x19", 2016, 16, D(2019, 4, 2), 2012],
    ["Skua", 7, "1x19", 2018, None, None, None],
]  # fmt: skip


@pytest.mark.parametrize("written", [book.xlsx, book.csv], ids=["xlsx", "csv"])
def test_turnbuckles_and_chainplates_of_a_boats_row_are_parts_of_their_own(fleet, bosun, written):
    page = hand_in(bosun, fleet, written(WIDE))
    assert questions_in(page) == [
        "Is “Chainplates renewed” our “fitted” of every chainplate of the boat?"
    ]
    write(bosun, fleet, use(bosun, fleet, page, t0__to__6="fitted"))
    rows = parts(fleet)
    assert [row for row in rows if row[3] == "turnbuckle"] == [
        ("Tern", "cap_shroud", side, "turnbuckle", 16, None, "2019-04-02", "day")
        for side in ("port", "starboard")
    ]
    plates = [row for row in rows if row[3] == "chainplate"]
    assert {row[6:] for row in plates} == {("2012-07-01", "year")}
    assert {row[1] for row in plates} == {"forestay", "backstay", "cap_shroud", "lower_forward",
                                          "lower_aft"}  # fmt: skip
    assert len([row for row in rows if row[3] == "wire"]) == 4


def test_when_the_wires_were_renewed_says_nothing_of_the_turnbuckles(fleet, bosun):
    rows = [row[:5] for row in WIDE]
    write(bosun, fleet, use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(rows))))
    screws = Installation.objects.of(fleet).filter(kind="turnbuckle")
    assert {(part.fitted_on, part.construction) for part in screws} == {(None, "")}


def test_a_turnbuckles_column_beside_a_stay_is_about_the_one_there(fleet, bosun):
    rows = [["Boat", "Stay", "Side", "Size mm", "Turnbuckle (mm)"],
            ["Tern", "cap shroud", "P", 8, 16], ["Tern", "cap shroud", "S", 8, None]]  # fmt: skip
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == ["Is “Turnbuckle (mm)” our “diameter mm” of the turnbuckle there?"]
    write(bosun, fleet, use(bosun, fleet, page, t0__to__4="diameter mm"))
    assert [row[1:5] for row in parts(fleet)] == [
        ("cap_shroud", "port", "turnbuckle", 16), ("cap_shroud", "port", "wire", 8),
        ("cap_shroud", "starboard", "wire", 8),
    ]  # fmt: skip


def test_a_row_a_part_may_name_the_kind_in_a_column_or_in_the_stay(fleet, bosun):
    rows = [
        ["Boat", "Item", "Kind", "Fitted"],
        ["Tern", "Port cap shroud", "wire", 2016],
        ["Tern", "Port cap shroud", "bottle screw", 2017],
        ["Tern", "Port cap shroud", "chain plate", 2008],
        ["Skua", "Cap shroud rigging screw, stbd", None, 2018],
    ]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == []
    write(bosun, fleet, use(bosun, fleet, page))
    assert [(row[0], row[3], row[6]) for row in parts(fleet)] == [
        ("Skua", "turnbuckle", "2018-07-01"), ("Tern", "chainplate", "2008-07-01"),
        ("Tern", "turnbuckle", "2017-07-01"), ("Tern", "wire", "2016-07-01"),
    ]  # fmt: skip


def test_a_column_may_be_made_one_of_turnbuckles_by_hand(fleet, bosun):
    rows = [["Boat", "Forestay (mm)", "Forestay XYZ"], ["Tern", 10, 20]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    said = {"t0-to-2": "diameter mm", "t0-stay-2": "main/forestay/", "t0-part-2": "turnbuckle"}
    page = bosun.post(at("import_match", fleet), fields_of(page) | said | {"show": "1"})
    write(bosun, fleet, use(bosun, fleet, page, t0__unit__2="mm"))
    assert [row[3:5] for row in parts(fleet)] == [("turnbuckle", 20), ("wire", 10)]
    kept = Match.from_dict(SheetMatch.objects.get().match)
    said = dict(match_words.in_words(kept)[0].columns)
    assert said["Forestay XYZ"].startswith("diameter mm of the turnbuckle, forestay")
