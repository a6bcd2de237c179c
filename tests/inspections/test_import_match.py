"""A sheet kept a bosun's own way, from hand-in through the match to the fleet's rows."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from fleet.models import Installation, SheetMatch
from fleet.work import rounds
from inspections.spreadsheets import matched_files
from tests import bosun_sheets as book
from tests import builders
from tests.inspections.matching_pages import (
    fields_of,
    parts,
    questions_in,
    sheet,
    text_of,
    two_boats,
    use,
    write,
)
from tests.inspections.test_import_page import at, hand_in, signed_in
from tests.workbooks import small
from tests.workbooks import xlsx as our_xlsx

pytestmark = pytest.mark.django_db
D = dt.date


@pytest.fixture
def fleet():
    return two_boats()


@pytest.fixture
def bosun(fleet):
    return signed_in(fleet, "bosun")


# Sheet -> what is asked, what is answered, the rows it becomes.
CASES = {
    "by shroud": (
        ["What is in “Remarks”?"],
        {"t0__to__6": "-"},
        [
            ("Skua", "backstay", "", "wire", 8, None, "2019-07-01", "year"),
            ("Skua", "cap_shroud", "port", "wire", 8, None, "2019-07-01", "year"),
            ("Skua", "forestay", "", "wire", 10, None, "2019-07-01", "year"),
            ("Tern", "backstay", "", "wire", 8, None, "2016-07-01", "year"),
            ("Tern", "cap_shroud", "port", "wire", 8, None, "2016-07-01", "year"),
            ("Tern", "cap_shroud", "starboard", "wire", 8, None, "2016-07-01", "year"),
            ("Tern", "forestay", "", "wire", 10, None, "2016-07-01", "year"),
        ],
    ),
    "free text": (
        ["Some rows have no boat. Do they belong to the boat above?"],
        {"t0__fill": "yes"},
        [
            ("Skua", "backstay", "", "wire", 8, None, "", "unknown"),
            ("Skua", "running_backstay", "port", "wire", 6, None, "2018-05-14", "day"),
            ("Skua", "running_backstay", "starboard", "wire", 6, None, "2018-05-14", "day"),
            ("Tern", "cap_shroud", "port", "wire", 8, None, "2019-07-01", "year"),
            ("Tern", "cap_shroud", "starboard", "wire", 8, None, "2015-07-01", "estimated"),
            ("Tern", "forestay", "", "wire", 10, None, "2016-03-15", "year"),
        ],
    ),
    "imperial": (
        [],
        {},
        [
            ("Skua", "cap_shroud", "port", "wire", 7.94, 12497, "2019-06-03", "day"),
            ("Skua", "cap_shroud", "starboard", "wire", 7.94, 12497, "2019-06-03", "day"),
            ("Tern", "cap_shroud", "port", "wire", 3.97, 12954, "2018-05-02", "day"),
            ("Tern", "cap_shroud", "starboard", "wire", 4.76, 12954, "2018-05-02", "day"),
            ("Tern", "forestay", "", "wire", 7.14, 12954, "2018-05-02", "day"),
        ],
    ),
    "two headers": (
        [],
        {},
        [
            ("Skua", "cap_shroud", "port", "wire", 8.5, None, "2019-04-02", "day"),
            ("Skua", "cap_shroud", "starboard", "wire", 8.5, None, "2019-04-02", "day"),
            ("Tern", "cap_shroud", "port", "wire", 8, None, "2016-03-01", "day"),
            ("Tern", "cap_shroud", "starboard", "wire", 8, None, "2016-03-01", "day"),
            ("Tern", "forestay", "", "wire", 10, None, "2008-07-01", "year"),
            ("Tern", "lower_forward", "port", "wire", 7, None, "2016-03-01", "day"),
            ("Tern", "lower_forward", "starboard", "wire", 7, None, "2016-03-01", "day"),
        ],
    ),
    "by part": (
        ["Is 13,250 a number with decimals, or with thousands?"],
        {"t0__decimal": "."},
        [
            ("Skua", "lower_forward", "port", "turnbuckle", 12, None, "", "unknown"),
            ("Tern", "cap_shroud", "port", "wire", 8, 13250, "2016-03-14", "day"),
            ("Tern", "cap_shroud", "starboard", "wire", 8, 13250, "2016-04-03", "day"),
            ("Tern", "forestay", "", "wire", 10, 14000, "2008-04-03", "day"),
        ],
    ),
}


@pytest.mark.parametrize("written", [book.xlsx, book.csv], ids=["xlsx", "csv"])
@pytest.mark.parametrize("name", CASES)
def test_a_bosuns_sheet_goes_through_its_match_to_the_fleets_rows(fleet, bosun, name, written):
    asked, answers, rows = CASES[name]
    page = hand_in(bosun, fleet, written(sheet(name)))
    assert questions_in(page) == asked
    page = use(bosun, fleet, page, **answers)
    assert "Written" not in text_of(page)
    assert "All good" in text_of(page), text_of(page)
    assert not Installation.objects.exists()
    page = write(bosun, fleet, page)
    assert "Written:" in text_of(page)
    assert parts(fleet) == rows


def test_every_word_of_the_sheet_by_part_is_taken_over(fleet, bosun):
    page = use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(sheet("by part"))), t0__decimal=".")
    write(bosun, fleet, page)
    wires = Installation.objects.of(fleet).filter(kind="wire").order_by("fitted_on")
    assert [wire.construction for wire in wires] == ["1x19"] * 3
    assert [wire.lower_terminal for wire in wires] == ["swaged", "swaged", "mechanical"]
    assert [wire.invoice for wire in wires] == ["Q-9", "R-1", "R-1"]
    assert [wire.stay.in_foil for wire in wires] == [True, False, False]
    assert (wires[0].removed_on, wires[0].removal_reason) == (D(2016, 2, 1), "age_rule")


# -- faults in their own words


def test_a_fault_points_to_their_sheet_row_and_column(fleet, bosun):
    page = hand_in(bosun, fleet, book.xlsx(book.BY_PART))
    page = use(bosun, fleet, page, t0__decimal=".")
    shown = text_of(page)
    for words in ("Rigging", ">4<", "where the wire was condemned or failed"):
        assert words in shown
    faults = bosun.get(reverse("import_check", args=[fleet.slug]), link_of(page))
    assert "Rigging,4,place,,It is not said where" in faults.content.decode()


def link_of(page) -> dict[str, str]:
    token, match = re.search(r"\?file=([\w-]+)&match=(\d+)&csv=1", text_of(page)).groups()
    return {"file": token, "match": match, "csv": "1"}


def test_one_shroud_of_a_boats_row_is_told_from_the_others_in_a_fault(fleet, bosun):
    rows = [list(row) for row in book.BY_SHROUD]
    rows[2][3] = "thick"
    answers = {"t0__to__6": "-", "t0__to__3": "diameter mm"}
    page = use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(rows)), **answers)
    found = bosun.get(reverse("import_check", args=[fleet.slug]), link_of(page))
    line = found.content.decode("utf-8-sig").splitlines()[1]
    assert line.startswith("Rigging,3,D “Caps P (mm)” → diameter mm,thick,This is not a plain")


def test_a_row_written_twice_is_told_by_their_own_row_number(fleet, bosun):
    rows = [*book.IMPERIAL, book.IMPERIAL[1]]
    page = use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(rows)))
    shown = text_of(page)
    assert "Row 2" in shown or "row 2" in shown
    assert "1000000" not in shown


def test_a_boat_merged_over_its_rows_holds_for_all_of_them(fleet, bosun):
    rows = [["Boat", "Stay", "Size (mm)"], [None, "forestay", 10], [None, "backstay", 8]]
    page = hand_in(bosun, fleet, book.xlsx(rows, merged=[("A2:A3", "Tern")]))
    assert questions_in(page) == []
    write(bosun, fleet, use(bosun, fleet, page))
    assert [row[:2] for row in parts(fleet)] == [("Tern", "backstay"), ("Tern", "forestay")]


# -- remembered, for the fleet alone


def test_the_next_file_with_the_same_headers_is_read_at_once(fleet, bosun):
    use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(sheet("by part"))), t0__decimal=".")
    rows = [sheet("by part")[0], ["Skua", "Cap", "P", "stay", "1 x 19", 8, "12,500", "swage",
            "05/06/2020", "n", "R-7", None, None]]  # fmt: skip
    manager = signed_in(fleet, "manager")
    page = hand_in(manager, fleet, book.xlsx(rows))
    assert "Headers as in “Rigging”" in text_of(page)
    assert questions_in(page) == [], "neither the date order nor the thousands are asked again"
    write(manager, fleet, use(manager, fleet, page))
    assert parts(fleet)[0] == (
        "Skua", "cap_shroud", "port", "wire", 8, 12500, "2020-06-05", "day"
    )  # fmt: skip
    assert SheetMatch.objects.count() == 1


def test_a_new_word_under_known_headers_is_asked(fleet, bosun):
    use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(sheet("by part"))), t0__decimal=".")
    rows = [*sheet("by part")[:2]]
    rows[1][1] = "V1"
    page = hand_in(bosun, fleet, book.xlsx(rows))
    assert questions_in(page) == ["What does “v1” mean under “stay”?"]


def test_another_fleets_match_is_neither_proposed_nor_used(fleet, bosun):
    other = builders.empty_fleet("estuary")
    theirs = signed_in(other, "bosun")
    use(theirs, other, hand_in(theirs, other, book.xlsx(sheet("by part"))), t0__decimal=".")
    kept = SheetMatch.objects.get()
    page = hand_in(bosun, fleet, book.xlsx(sheet("by part")))
    assert "Headers as in" not in text_of(page)
    assert questions_in(page) != []
    token = fields_of(page)["file"]
    for number in (kept.pk, 987654321, "x"):
        answer = bosun.get(at("import_check", fleet), {"file": token, "match": number})
        assert answer.status_code == 302
        assert answer["Location"] == f"{at('import_match', fleet)}?file={token}"


def test_looking_at_the_match_writes_nothing(fleet, bosun):
    page = hand_in(bosun, fleet, book.xlsx(book.IMPERIAL))
    bosun.get(at("import_match", fleet), {"file": fields_of(page)["file"]})
    assert not SheetMatch.objects.exists()
    assert not Installation.objects.exists()


def test_an_accountant_matches_nothing(fleet, bosun):
    page = hand_in(bosun, fleet, book.xlsx(book.IMPERIAL))
    accountant = signed_in(fleet, "accountant")
    token = fields_of(page)["file"]
    assert accountant.get(at("import_match", fleet), {"file": token}).status_code == 403
    assert accountant.post(at("import_match", fleet), {"file": token}).status_code == 403


def test_a_workbook_in_our_own_layout_goes_straight_to_the_check(fleet, bosun):
    page = hand_in(bosun, fleet, our_xlsx(small()))
    assert page.redirect_chain[-1][0].startswith(at("import_check", fleet))
    assert "Match its columns and words by hand instead" in text_of(page)


@pytest.mark.parametrize("state", ["", "x", "eyJ0YWJsZXMiOltdfQ:1:a"])
def test_a_form_that_was_tampered_with_falls_back_on_the_proposal(fleet, bosun, state):
    page = hand_in(bosun, fleet, book.xlsx(book.IMPERIAL))
    fields = fields_of(page) | {"state": state, "t0-to-0": "no such column", "t0-top": "-9"}
    page = bosun.post(at("import_match", fleet), fields | {"show": "1"})
    assert page.status_code == 200
    assert questions_in(page) == []


def test_a_row_that_says_nothing_of_any_stay_is_named(fleet, bosun):
    rows = [*book.TWO_HEADERS, ["Gull", None, None, None, None, "-", None]]
    page = use(bosun, fleet, hand_in(bosun, fleet, book.xlsx(rows)))
    assert "Rigging row 5" in text_of(page)


def test_boats_and_their_wires_may_stand_in_one_row(fleet, bosun):
    rows = [
        ["Boat", "Base", "LOA (ft)", "Built", "Joined", "Forestay (in)", "Cap shrouds (in)"],
        ["Gull", "Hollow Quay", "38' 6\"", 2011, D(2012, 4, 1), "9/32", "1/4"],
    ]
    page = hand_in(bosun, fleet, book.xlsx(rows))
    made = matched_files.proposal(fleet, matched_files.raws_of(matched_files.opened(
        book.xlsx(rows)))).match  # fmt: skip
    assert [table.target for table in made.tables] == ["boats", "parts"]
    assert questions_in(page) == []
    page = write(bosun, fleet, use(bosun, fleet, page))
    assert "Written:" in text_of(page)
    assert float(fleet.boats.get(name="Gull").length_m) == 11.73
    assert [row[:5] for row in parts(fleet)] == [
        ("Gull", "cap_shroud", "port", "wire", 6.35),
        ("Gull", "cap_shroud", "starboard", "wire", 6.35),
        ("Gull", "forestay", "", "wire", 7.14),
    ]


@pytest.mark.parametrize("width", [390, 1200])
def test_a_bosun_matches_by_hand(page_at, accessibility_faults, live_server, width, tmp_path):
    fleet = two_boats()
    path = tmp_path / "rigging.xlsx"
    path.write_bytes(book.xlsx(sheet("by part"))[0].content)
    page = page_at(width, user=builders.person("mara", fleet, "bosun"))
    page.goto(at("import", fleet))
    page.get_by_label("One workbook (XLSX)").set_input_files(path)
    page.get_by_role("button", name="Check it").click()
    expect(page.locator("h1")).to_have_text("1 thing to say before this sheet can be read")
    assert not accessibility_faults(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_label("Decimals follow").select_option(".")
    page.get_by_role("button", name="Show the rows with these answers").click()
    expect(page.locator("h1")).to_have_text("This sheet can be read")
    page.get_by_role("button", name="Use this match").click()
    expect(page.locator("h1")).to_have_text("All good: 4 new rows, 0 changed")
    assert not accessibility_faults(page)
    page.get_by_role("button", name="Write it").click()
    page.get_by_role("heading", name="Import: waiting").wait_for()
    rounds.work_through()
    page.reload()
    page.get_by_text("Written: 4 new rows").wait_for()
