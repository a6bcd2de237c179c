"""A wire in one cell, and fittings in the header: what is read, what is asked, what is left."""

import pytest
from hypothesis import given
from hypothesis import strategies as some

from fleet.matching.headers import column_for
from fleet.matching.stay_words import part_in, stay_called
from fleet.matching.wires import in_one_cell
from inspections.spreadsheets.matched_files import LAYOUTS


@pytest.mark.parametrize(
    ("cell", "size", "code"),
    [
        ("8mm 1x19", "8mm", "1x19"), ("1x19 8 mm", "8 mm", "1x19"), ("5/16 1x19", "5/16", "1x19"),
        ("Ø7 rod", "Ø7", "rod"), ("1 x 19 8 mm", "8 mm", "1x19"), ("8mm1x19", "8 mm", "1x19"),
        ("8 mm (1×19)", "8 mm", "1x19"), ("10mm, compacted strand", "10mm", "compacted"),
        ("1x19 1 1/4 in", "1 1/4 in", "1x19"), ("1 x 19 1/4", "1/4", "1x19"),
        ("7x7 6mm", "6mm", "7x7"), ("6 7 x 19", "6", "7x19"), ("8 mm galv", "8 mm", "galvanised"),
        ("12,5 mm rod", "12,5 mm", "rod"), ('9/32" 1x19 316', '9/32"', "1x19"),
    ],
)  # fmt: skip
def test_a_wire_in_one_cell_is_its_size_and_its_construction(cell, size, code):
    wire = in_one_cell(cell, {})
    assert (wire.size, wire.code) == (size, code)


@pytest.mark.parametrize(
    "cell",
    ["8 mm", "1x19", "8", 8, None, "8 or 9 mm", "ask the rigger", "1x19 and rod", "8 rod 9",
     "rod 8 mm rod", "x" * 300],
)  # fmt: skip
def test_what_is_no_wire_or_may_be_two_is_not_taken_apart(cell):
    assert in_one_cell(cell, {}) is None


def test_an_unknown_word_beside_a_size_is_left_to_be_asked_and_an_answer_is_used():
    assert in_one_cell("8mm S/S", {}).code == ""
    assert in_one_cell("8mm S/S", {}).word == "s/s"
    assert in_one_cell("8mm S/S", {"s/s": "1x19"}).code == "1x19"


@given(some.text(max_size=40))
def test_no_cell_whatever_breaks_the_reading_of_wires(cell):
    wire = in_one_cell(cell, {})
    assert wire is None or (wire.size and wire.word)


@pytest.mark.parametrize(
    ("label", "to", "stay", "part"),
    [
        ("Cap shroud turnbuckle P fitted", "fitted", "main/cap_shroud/port", "turnbuckle"),
        ("Cap shroud turnbuckle fitted", "fitted", "main/cap_shroud/?", "turnbuckle"),
        ("Caps rigging screw date", "fitted", "main/cap_shroud/both", "turnbuckle"),
        ("Forestay bottle screw (mm)", "", "main/forestay/", "turnbuckle"),
        ("Chainplates, fwd lowers, invoice", "invoice", "main/lower_forward/both", "chainplate"),
        ("Backstay chain plate", "", "main/backstay/", "chainplate"),
        ("Cap shroud P fitted", "fitted", "main/cap_shroud/port", ""),
    ],
)
def test_a_header_may_be_about_the_fitting_of_a_stay(label, to, stay, part):
    column = column_for(label, LAYOUTS["parts"])
    assert (column.to, column.stay, column.part, column.sure) == (to, stay, part, True)


def test_a_header_about_all_chainplates_of_a_boat_is_not_taken_for_sure():
    column = column_for("Chainplates renewed", LAYOUTS["parts"])
    assert (column.to, column.stay, column.part) == ("fitted", "whole_rig", "chainplate")
    assert not column.sure


def test_a_cell_may_name_the_stay_and_its_fitting():
    assert stay_called("Cap shroud rigging screw, stbd") == "main/cap_shroud/starboard/turnbuckle"
    assert stay_called("Cap shroud, stbd") == "main/cap_shroud/starboard"
    assert part_in("chain plates fitted") == ("chainplate", "fitted")
    assert part_in("plate") == ("", "plate")
