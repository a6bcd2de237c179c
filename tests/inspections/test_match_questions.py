"""What nothing in a bosun's sheet proves is asked, and never guessed."""

import pytest

from fleet.models import SheetMatch
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


@pytest.fixture
def fleet():
    return two_boats()


@pytest.fixture
def bosun(fleet):
    return signed_in(fleet, "bosun")


@pytest.mark.parametrize(
    ("rows", "asked"),
    [
        ([["Boat", "Stay", "Size"], ["Tern", "forestay", 8]],
         ["8 in “Size”: millimetres, or of which unit?"]),
        ([["Boat", "Stay", "Size mm", "Fitted"], ["Tern", "forestay", 8, "03/04/2021"]],
         ["What comes first in dates such as 03/04/2021?"]),
        ([["Boat", "Stay", "Size mm"], ["Tern", "V1", 8]], ["What does “v1” mean under “stay”?"]),
        ([["Boat", "Lowers (mm)", "Forestay (mm)"], ["Tern", 7, 8]],
         ["Which stay is “Lowers (mm)”: several could be called so?"]),
        ([["Boat", "Cap shroud (mm)", "Forestay (mm)"], ["Tern", 7, 8]],
         ["Is “Cap shroud (mm)” port, starboard or both?"]),
        ([["Boat", "Stay", "Diametre (mm)"], ["Tern", "forestay", 8]],
         ["Is “Diametre (mm)” our “diameter mm”?"]),
        ([["Stay", "Size mm", "Fitted"], ["forestay", 8, 2016]],
         ["No column says “boat”. Which is it, or what is it on every row?"]),
        ([["Boat", "Stay", "Furler"], ["Tern", "forestay", "x"]],
         ["What does “x” mean under “inside foil”?"]),
        ([["Something", "Else"], ["a", "b"]], ["Which of our sheets is “Rigging”?"]),
    ],
)  # fmt: skip
def test_what_nothing_proves_is_asked_and_keeps_the_match_from_being_used(
    fleet, bosun, rows, asked
):
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert set(asked) <= set(questions_in(page))
    page = use(bosun, fleet, page)
    assert "Not used yet." in text_of(page)
    assert set(asked) <= set(questions_in(page))
    assert not SheetMatch.objects.exists()


def test_what_is_answered_is_shown_as_it_would_be_read_before_it_is_used(fleet, bosun):
    rows = [["Boat", "Stay", "Size", "Fitted"], ["Tern", "forestay", 5, "03/04/2021"]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    fields = fields_of(page) | {"t0-unit-2": "32nds", "t0-order": "month", "show": "1"}
    page = bosun.post(at("import_match", fleet), fields)
    assert questions_in(page) == []
    for cell in ("<td>3.97</td>", "<td>2021-03-04</td>"):
        assert cell in text_of(page)
    assert not SheetMatch.objects.exists()


def test_a_sheet_too_wide_to_be_answered_for_is_checked_as_it_is(fleet, bosun):
    page = hand_in(bosun, fleet, book.xlsx([[f"column {n}" for n in range(151)], ["x"] * 151]))
    assert page.redirect_chain[-1][0].startswith(at("import_check", fleet))
    assert "no sheet that could be read" in text_of(page)
    token = page.redirect_chain[-1][0].partition("file=")[2]
    assert bosun.get(at("import_match", fleet), {"file": token}).status_code == 302


def test_one_value_may_hold_for_every_row(fleet, bosun):
    rows = [["Stay", "Size mm", "Fitted"], ["forestay", 8, 2016]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    write(bosun, fleet, use(bosun, fleet, page, t0__fixed__boat="Tern"))
    assert [row[:2] for row in parts(fleet)] == [("Tern", "forestay")]


def test_a_sheet_nobody_can_name_is_matched_by_hand(fleet, bosun):
    rows = [["what", "which", "thick"], ["Tern", "forestay", 8]]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    fields = fields_of(page) | {"t0-target": "parts", "show": "1"}
    page = bosun.post(at("import_match", fleet), fields)
    answers = {"t0__to__0": "boat", "t0__to__1": "stay", "t0__to__2": "diameter mm"}
    page = bosun.post(
        at("import_match", fleet),
        fields_of(page) | {k.replace("__", "-"): v for k, v in answers.items()} | {"show": "1"},
    )
    write(bosun, fleet, use(bosun, fleet, page, t0__unit__2="mm"))
    assert [row[:5] for row in parts(fleet)] == [("Tern", "forestay", "", "wire", 8)]
