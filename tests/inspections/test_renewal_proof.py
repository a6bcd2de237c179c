"""A part that held its boat is renewed by proof, whichever way the new one comes on record: the
form, the table of parts, a whole rig, an import, a match. A renewal of years ago needs none.

That a condemned shroud is not loaded until it is renewed is common practice, no source."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.importing import Report
from fleet.matching import apply, propose
from fleet.models import Boat, Change, Installation
from fleet.undoing import last_import
from inspections import recording
from inspections.aftermath import happenings, proving
from inspections.dock.forms import RenewalForm
from inspections.importing import import_workbook, undo_import
from inspections.judgement import proof
from inspections.models import Hold
from inspections.spreadsheets import matched_files
from tests import builders
from tests.inspections.docks import (
    address,
    day,
    held,
    inspect,
    part,
    read,
    rigged_boat,
    saw,
    signed_in,
)
from tests.inspections.part_pages import correct, now
from tests.inspections.test_whole_rig import said
from tests.workbooks import small, xlsx

pytestmark = pytest.mark.django_db
HEADERS = ["boat", "stay", "side", "part", "fitted", "invoice", "fitter", "removed",
           "removal reason"]  # fmt: skip


def condemned(boat: Boat, number: int = 0) -> Installation:
    """Condemn the port cap shroud; return it."""
    shroud = part(boat)
    inspect(boat, day(number), saw(shroud, "broken_wire", measure=1))
    assert "replace" in held(boat)
    return now(shroud)


def rows(boat: Boat, invoice: str | None, fitter: str | None) -> list[list]:
    """Return the sheet of parts in which the port shroud came off and another went up."""
    old = part(boat)
    return [
        HEADERS,
        [boat.name, "cap shroud", "port", "wire", old.fitted_on, None, None, day(5), "age rule"],
        [boat.name, "cap shroud", "port", "wire", day(5), invoice, fitter, None, None],
    ]


def load(boat: Boat, *said, **how) -> Report:
    report = import_workbook(boat.fleet, xlsx({"parts": rows(boat, *said)}), dry_run=False, **how)
    assert report.written, report.faults
    return report


def waiting(boat: Boat) -> Hold:
    return Hold.objects.standing().get(boat=boat, cause="replace")


@pytest.mark.parametrize(
    ("facts", "lacks"),
    [
        ({}, []),
        ({"invoice": " - "}, ["its invoice or log reference"]),
        ({"fitter": "?"}, ["who fitted it"]),
        ({"fitted_certainty": "year"}, ["the day it was fitted"]),
        ({"fitted_on": None, "fitted_certainty": "unknown"}, ["the day it was fitted"]),
        (
            {"fitted_on": day(-1)},
            ["a day of fitting that is not before 1 Apr 2026, when the boat was held"],
        ),
        ({"invoice": "", "fitter": ""}, ["its invoice or log reference", "who fitted it"]),
    ],
)
def test_what_is_missing_of_a_renewal_is_named(facts, lacks):
    usual = {"fitted_on": day(5), "fitted_certainty": "day", "invoice": "log 12", "fitter": "A"}
    new = Installation(**(usual | facts))
    assert proof.missing(new, day(0)) == lacks
    assert all(words in proof.sentence(new, day(0)) for words in lacks)


@pytest.mark.parametrize(
    ("invoice", "fitter", "released"),
    [("R-9", "Loft Yard", True), ("R-9", None, False), (None, "Loft Yard", False)],
)
def test_an_imported_renewal_of_a_held_part_releases_by_invoice_and_fitter(
    boat, invoice, fitter, released
):
    condemned(boat)
    report = load(boat, invoice, fitter)
    assert ("replace" not in held(boat)) == released
    assert bool(report.notes) != released
    if not released:
        assert f"add {'who fitted it' if invoice else 'its invoice'}" in waiting(boat).reason
        assert "Tern stays held for its part “Cap shroud, port”" in report.notes[0]


def test_the_check_says_before_anything_is_written_that_the_boat_stays_held(boat):
    condemned(boat)
    book = xlsx({"parts": rows(boat, None, None)})
    report = import_workbook(boat.fleet, book)
    assert not report.written
    assert "add its invoice or log reference and who fitted it" in report.notes[0]
    bosun = signed_in(boat)
    file = SimpleUploadedFile(book[0].name, book[0].content)
    page = bosun.post(address(boat, "import"), {"files": file}, follow=True)
    assert "Tern stays held" in page.content.decode()


def test_a_renewal_of_years_ago_without_invoice_holds_nobody():
    """The workbook's shroud was condemned in 2015 and renewed in 2016; nothing proves by whom."""
    fleet = builders.empty_fleet("harbour")
    tables = small()
    tables["parts"][2][tables["parts"][0].index("invoice")] = None
    report = import_workbook(fleet, xlsx(tables), dry_run=False)
    assert (report.written, report.notes) == (True, ())
    replaced = Hold.objects.filter(cause="replace")
    assert replaced.exists()
    assert not replaced.standing().exists()
    assert not Installation.objects.filter(proof_due=True).exists()


def test_undoing_the_import_holds_as_before_and_what_was_never_so_asks_for_nothing(boat):
    shroud = condemned(boat)
    before = waiting(boat).reason
    load(boat, None, None)
    assert waiting(boat).reason != before
    undo_import(last_import(boat.fleet), None)
    assert (waiting(boat).reason, waiting(boat).unproved) == (before, None)
    assert now(shroud).proof_due


def test_a_history_imported_in_pieces_by_mistake_and_undone_is_history_again():
    fleet = builders.empty_fleet("harbour")
    tables, standing = small(), small()
    del standing["parts"][2]
    standing["parts"][1][9:12] = [None, None, None]
    for name in ("inspections", "findings"):
        standing[name] = standing[name][:2]
    first = small()
    del first["inspections"], first["findings"]
    first["parts"] = standing["parts"]
    assert import_workbook(fleet, xlsx(first), dry_run=False).written
    looks = {name: standing[name] for name in ("inspections", "findings")}
    assert import_workbook(fleet, xlsx(looks), dry_run=False).written
    assert Installation.objects.get(proof_due=True).condemned_on == dt.date(2015, 3, 2)
    undo_import(last_import(fleet), None)
    assert not Installation.objects.filter(proof_due=True).exists()
    tables["parts"][2][tables["parts"][0].index("invoice")] = None
    assert import_workbook(fleet, xlsx(tables), dry_run=False).written
    assert not Hold.objects.standing().filter(cause="replace").exists()


def test_the_table_of_parts_adds_the_proof_and_taking_it_away_holds_again(manager, boat):
    condemned(boat)
    load(boat, None, None)
    new = part(boat)
    page = correct(manager, new, invoice="R-9").content.decode()
    assert "Tern stays held" in page
    assert "add who fitted it" in page
    correct(manager, new, fitter="Loft Yard")
    assert "replace" not in held(boat)
    correct(manager, new, invoice="")
    assert "add its invoice or log reference" in waiting(boat).reason


def test_a_whole_rig_put_up_without_an_invoice_keeps_the_boat_held(manager, boat):
    boat.design, boat.spreader_pairs = "Sloop 38", 1
    boat.save()
    shroud = condemned(boat)
    shroud.removed_on, shroud.removal_reason = day(3), "condemned"
    shroud.save()
    recording.judge([boat.pk])
    form = said("write", fitted="2026-04-09", invoice="", kinds=["wire"])
    page = manager.post(address(boat, "rig", boat.pk), form, follow=True).content.decode()
    assert "Tern stays held" in page
    assert "add its invoice or log reference, under" in waiting(boat).reason
    assert waiting(boat).unproved == part(boat)


def test_the_same_through_a_match_of_a_bosuns_own_sheet(boat):
    condemned(boat)
    file = [["Yacht", "Shroud", "Hand", "Component", "Date fitted", "Bill no", "Rigger", "Off",
             "Why off"]]  # fmt: skip
    file += [
        [cell.isoformat() if isinstance(cell, dt.date) else cell for cell in row]
        for row in rows(boat, None, None)[1:]
    ]
    [book] = xlsx({"rig": file})
    raws = matched_files.raws_of(matched_files.opened([book]))
    made = apply(
        propose(raws, matched_files.LAYOUTS, builders.TODAY),
        raws, matched_files.LAYOUTS, builders.TODAY,
    )  # fmt: skip
    report = matched_files.import_matched(boat.fleet, [book], made, dry_run=False)
    assert report.written, report.faults
    assert "Tern stays held" in report.notes[0]
    assert "replace" in held(boat)


def test_the_form_takes_no_dash_for_an_invoice(manager, boat):
    shroud = condemned(boat)
    given = {"fitted_on": day(5), "fitter": "Loft Yard", "invoice": "-", "construction": "1x19"}
    page = manager.post(address(boat, "renew", shroud.pk), given).content.decode()
    assert "Give the number of the invoice, or the page of the log." in page
    assert "replace" in held(boat)
    manager.post(address(boat, "renew", shroud.pk), given | {"invoice": "log, page 12"})
    assert "replace" not in held(boat)


def test_the_page_of_the_hold_asks_for_what_is_missing_and_keeps_who_gave_it(boat):
    shroud = condemned(boat)
    load(boat, None, "Loft Yard")
    bosun = signed_in(boat)
    assert "Add what is missing of its renewal" in read(bosun, address(boat, "not_released"))
    url = address(boat, "renew", shroud.pk)
    assert "what is missing of its renewal" in read(bosun, url)
    given = {"fitted_on": day(5), "fitter": "Loft Yard", "invoice": "?"}
    assert "Still missing: its invoice" in bosun.post(url, given).content.decode()
    bosun.post(url, given | {"invoice": "R-9"})
    assert "replace" not in held(boat)
    row = Change.objects.get(what__contains="renewal proved")
    assert "invoice blank, now R-9" in row.what
    assert row.by.username == "bosun-harbour"


def test_a_day_before_the_old_one_came_off_proves_nothing(boat):
    condemned(boat)
    load(boat, None, None)
    for on in (day(4), builders.TODAY + dt.timedelta(1)):
        with pytest.raises(ValidationError, match=r"cannot have been fitted|still to come"):
            proving.prove(waiting(boat), proving.Proof(on, "R-9", "Loft Yard"))
    assert "replace" in held(boat)


def test_a_part_that_let_go_and_was_renewed_the_same_day_by_import_needs_the_proof_too(boat):
    shroud = part(boat)
    happenings.record_failure(shroud, day(3), "lower", "parted", "Skipper")
    assert now(shroud).proof_due
    builders.wire(boat, fitted_on=day(3))
    recording.judge([boat.pk])
    assert "not proved: add its invoice" in waiting(boat).reason


def test_a_later_part_with_its_proof_releases_what_the_one_before_it_did_not(boat):
    condemned(boat)
    load(boat, None, None)
    second = part(boat)
    recording.record_renewal(second, fitted_on=day(9), fitter="A", invoice="R-10", reason="damage")
    ended = Hold.objects.get(boat=boat, cause="replace")
    assert (ended.lifted_on, ended.unproved) == (day(9), None)
    assert "R-10" in ended.lifted_how


def test_a_place_emptied_again_is_filled_from_the_page_of_the_condemned_part(boat):
    shroud = condemned(boat)
    load(boat, None, None)
    second = part(boat)
    second.removed_on, second.removal_reason = day(8), "damage"
    second.save()
    recording.judge([boat.pk])
    assert waiting(boat).unproved is None
    with pytest.raises(ValidationError, match="came off on 9 Apr 2026"):
        recording.record_renewal(now(shroud), fitted_on=day(7), fitter="A", invoice="R-10")
    recording.record_renewal(now(shroud), fitted_on=day(8), fitter="A", invoice="R-10")
    assert "replace" not in held(boat)


def test_judging_again_changes_nothing_and_another_boat_is_not_asked():
    boat = rigged_boat()
    other = builders.boat(boat.fleet, "Skua")
    builders.wire(other)
    condemned(boat)
    load(boat, None, None)
    assert recording.judge([boat.pk, other.pk]).changed == 0
    assert not Installation.objects.filter(stay__boat=other, proof_due=True).exists()


def test_a_size_below_nothing_is_told_at_its_field():
    sizes = {"diameter_mm": "-5", "pin_mm": "0"}
    form = RenewalForm(sizes, instance=Installation(kind="wire"), condemned=True)
    assert sizes.keys() <= form.errors.keys()
