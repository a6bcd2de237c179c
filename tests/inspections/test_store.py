"""What a part is ordered by, and what in store may take its place."""

import pytest
from django.core.exceptions import ValidationError

from fleet.models import Change, Spare
from inspections.aftermath import cut_sheet, store
from tests import builders
from tests.inspections.docks import address, day, part, read, rigged_boat, signed_in
from tests.inspections.part_pages import correct, now

pytestmark = pytest.mark.django_db


def test_a_cut_sheet_says_what_is_not_on_record():
    boat = rigged_boat()
    sheet = dict(cut_sheet.rows(part(boat)))
    assert sheet["Pin to pin, mm"] == "14,000"
    assert sheet["Lower terminal"] == "swaged"
    for line in ("Pin, mm", "Thread", "Hand of the thread", "Mast end fitting",
                 "Adjuster setting at that length"):  # fmt: skip
        assert sheet[line] == "measure before ordering"


def test_a_cut_sheet_on_record_is_fit_to_order_from():
    boat = rigged_boat()
    known = {"pin_mm": 16, "thread": "M16", "hand": "right", "mast_end": "slotted plate",
             "adjuster": "half open, 60 mm in sight", "alloy": "AISI 316"}  # fmt: skip
    shroud = builders.wire(boat, stay="backstay", side="", **known)
    assert cut_sheet.unknown(shroud) == 0
    assert dict(cut_sheet.rows(shroud)) == {
        "Construction": "1x19, AISI 316", "Diameter, mm": "8", "Pin to pin, mm": "14,000",
        "Adjuster setting at that length": "half open, 60 mm in sight",
        "Lower terminal": "swaged", "Upper terminal": "T- or ball-end", "Pin, mm": "16",
        "Thread": "M16", "Hand of the thread": "right-hand", "Mast end fitting": "slotted plate",
    }  # fmt: skip


# -- the store


def spare(boat, **facts) -> Spare:
    usual = {
        "construction": "1x19", "diameter_mm": 8, "length_mm": 14000, "pin_mm": 16,
        "lower_terminal": "swaged", "upper_terminal": "t_ball", "stored_on": day(-100),
    }  # fmt: skip
    return Spare.objects.create(base=boat.base, **(usual | facts))


MATCHES = {
    "alike": ({}, "Not on record, measure: pin."),
    "a little short": ({"length_mm": 13990}, "Not on record, measure: pin."),
    "longer": ({"length_mm": 15000}, "Longer: to be cut and given a new terminal; not"),
    "of unknown length": ({"length_mm": None}, "Not on record, measure: pin, pin to pin."),
    "too short": ({"length_mm": 13000}, None),
    "thinner": ({"diameter_mm": 7}, None),
    "of rod": ({"construction": "rod"}, None),
    "with another terminal": ({"upper_terminal": "eye"}, None),
    "a turnbuckle": ({"kind": "turnbuckle"}, None),
}


# Thread, hand and pin as on record of the part that went, and of the one in store.
SCREWS = {
    "of the same thread": ({"thread": "m 16", "hand": "right", "pin_mm": 16}, ""),
    "of an unknown pitch": ({"thread": "M16x1,5", "hand": "right", "pin_mm": 16}, "thread"),
    "of another thread": ({"thread": "5/8 UNF", "hand": "right", "pin_mm": 16}, None),
    "of the other hand": ({"thread": "M16", "hand": "left", "pin_mm": 16}, None),
    "of another pin": ({"thread": "M16", "hand": "right", "pin_mm": 19}, None),
    "of a thread not on record": ({"pin_mm": 16}, "thread, hand of the thread"),
    "with a mast end in other words": (
        {"thread": "M16", "hand": "right", "pin_mm": 16, "mast_end": "T plate"},
        "mast end fitting",
    ),
    "too long, its end cut off": (
        {"thread": "M12", "hand": "left", "pin_mm": 16, "length_mm": 15000}, "",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("facts", "unknown"), SCREWS.values(), ids=SCREWS.keys())
def test_thread_hand_and_pin_decide_what_fits(facts, unknown):
    boat = rigged_boat()
    went = part(boat)
    went.thread, went.hand, went.pin_mm, went.mast_end = "M16", "right", 16, ""
    if "mast_end" in facts:
        went.mast_end = "slotted plate"
    found = store.match(went, spare(boat, **facts))
    assert (found is None) == (unknown is None)
    assert found is None or ", ".join(found.unknown) == unknown


def test_a_turnbuckle_without_thread_on_record_is_measured_first():
    boat = rigged_boat()
    went = builders.wire(boat, kind="turnbuckle", construction="", length_mm=None,
                         lower_terminal="", upper_terminal="")  # fmt: skip
    bare = {"construction": "", "length_mm": None, "lower_terminal": "", "upper_terminal": ""}
    found = store.match(went, spare(boat, kind="turnbuckle", **bare))
    assert found.unknown == ("pin", "thread", "hand of the thread")


@pytest.mark.parametrize(("facts", "words"), MATCHES.values(), ids=MATCHES.keys())
def test_what_lies_in_store_is_compared_with_what_went(facts, words):
    boat = rigged_boat()
    found = store.match(part(boat), spare(boat, **facts))
    assert (found is None) == (words is None)
    assert found is None or found.words.startswith(words)


def test_a_part_taken_from_store_is_not_offered_again_and_can_be_put_back():
    boat = rigged_boat()
    row = spare(boat)
    assert [m.spare for m in store.matches(part(boat), boat.fleet)] == [row]
    store.take(row, day(2), "Bo Sun", "lent to the yard")
    assert store.matches(part(boat), boat.fleet) == []
    with pytest.raises(ValidationError, match="Taken out of store"):
        store.take(row, day(3), "Bo Sun")
    store.put_back(row)
    assert [m.spare for m in store.matches(part(boat), boat.fleet)] == [row]


# -- its record corrected, withdrawn, used up


def sent(client, boat, row, **said) -> dict:
    """Return what the page's form of correction would send if nothing were touched."""
    form = client.get(address(boat, "spare", row.pk)).context["forms"]["correct"]
    shown = {field.html_name: field.value() for field in form}
    return {k: "" if v is None else str(v) for k, v in shown.items()} | {
        f"part-{name}": value for name, value in said.items()
    }


def test_a_part_in_store_is_corrected_with_a_record_of_who_changed_what():
    boat = rigged_boat()
    row, bosun = spare(boat), signed_in(boat)
    url = address(boat, "spare", row.pk)
    said = sent(bosun, boat, row, thread="M16", hand="left", length_mm="13950")
    page = bosun.post(url, said | {"step": "correct"}, follow=True).content.decode()
    row.refresh_from_db()
    assert (row.thread, row.hand, row.length_mm) == ("M16", "left", 13950)
    change = Change.objects.get()
    assert change.what == (
        "In store at Hollow Quay, 8 mm 1x19, swaged / T- or ball-end: pin to pin 14000, now 13950; "
        "thread blank, now M16; hand of the thread blank, now left-hand"
    )
    assert (change.by.username, change.before["length_mm"]) == ("bosun-harbour", 14000)
    assert "thread blank, now M16" in page
    again = bosun.post(url, sent(bosun, boat, row) | {"step": "correct"}).content.decode()
    assert "Nothing is different from what is on record" in again


def test_a_fault_in_a_correction_loses_nothing_typed_and_changes_nothing():
    boat = rigged_boat()
    row, bosun = spare(boat), signed_in(boat)
    said = sent(bosun, boat, row, diameter_mm="thick", thread="M16") | {"step": "correct"}
    page = bosun.post(address(boat, "spare", row.pk), said).content.decode()
    assert "Not saved yet" in page
    assert 'value="thick"' in page
    assert not Change.objects.exists()
    assert Spare.objects.get().thread == ""


def test_a_withdrawn_part_is_not_offered_says_why_and_can_be_put_back():
    boat = rigged_boat()
    row, bosun = spare(boat), signed_in(boat)
    url = address(boat, "spare", row.pk)
    assert "This field is required" in bosun.post(url, {"step": "withdraw"}).content.decode()
    bosun.post(url, {"step": "withdraw", "out-why": "counted twice"})
    assert store.matches(part(boat), boat.fleet) == []
    page = read(bosun, url)
    assert "Withdrawn 14 Oct 2026 by bosun-harbour: counted twice." in page
    refused = bosun.post(url, {"step": "withdraw", "out-why": "again"}).content.decode()
    assert "Taken out of store on 14 Oct 2026" in refused
    bosun.post(url, {"step": "put_back"})
    assert [m.spare for m in store.matches(part(boat), boat.fleet)] == [row]
    assert [change.what.partition(": ")[2] for change in store.changes(row)] == [
        "back in store; it was withdrawn 14 Oct 2026 by bosun-harbour", "withdrawn: counted twice",
    ]  # fmt: skip


def test_a_treasurer_neither_corrects_nor_withdraws():
    boat = rigged_boat()
    row = spare(boat)
    client = signed_in(boat, "accountant")
    for step in ("correct", "withdraw", "take", "put_back"):
        assert client.post(address(boat, "spare", row.pk), {"step": step}).status_code == 403
    assert Spare.objects.in_store().get() == row


def test_what_a_renewal_used_up_comes_back_when_the_renewal_was_none(manager, boat):
    row, old = spare(boat), part(boat)
    said = {"fitted_on": "2026-04-06", "fitter": "Loft Yard", "invoice": "R-9", "reason": "damage",
            "construction": "1x19", "diameter_mm": "8", "length_mm": "14000", "spare": row.pk,
            "lower_terminal": "swaged", "upper_terminal": "t_ball"}  # fmt: skip
    assert manager.post(address(boat, "renew", old.pk), said).status_code == 302
    row.refresh_from_db()
    assert row.fitted_as == part(boat)
    with pytest.raises(ValidationError, match="out of store"):
        store.correct(row, {name: getattr(row, name) for name in store.CORRECTED} | {"batch": "B"})
    with pytest.raises(ValidationError, match="fitted on a boat"):
        store.put_back(row)
    correct(manager, now(old), row="gone", stands="on")
    row.refresh_from_db()
    assert (row.fitted_as, row.taken_on) == (None, None)
    assert part(boat) == old
