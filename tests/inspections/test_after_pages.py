"""The pages of what happened and what is done about it, as those who use them post them."""

import csv
import io

import pytest

from fleet.models import Installation, Spare
from inspections import recording
from inspections.aftermath import advice, happenings
from inspections.followups import Failure, Recommendation, Stepping, YardMove
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

pytestmark = pytest.mark.django_db


def condemned(boat):
    return inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))


def test_an_event_is_on_record_after_one_form_of_five_fields():
    boat = rigged_boat()
    client, url = signed_in(boat), address(boat, "event")
    assert f'<option value="{boat.pk}" selected>' in read(client, f"{url}?boat={boat.pk}")
    data = {"boat": boat.pk, "sign": "knock_down", "on": "2026-04-03", "line": "mast in the water",
            "person": "Skipper"}  # fmt: skip
    assert client.post(url, data).status_code == 302
    assert held(boat) == ["event"]
    told = client.post(url, data | {"on": "2027-04-03"}).content.decode()
    assert "Give the day it was done" in told
    assert "mast in the water" in told, "what was typed is not lost"
    assert "never" in read(client, address(boat, "boats")), "an event is no look at the boat"


def test_an_event_is_shown_as_what_it_was_and_no_part_as_seen():
    boat = rigged_boat()
    told = happenings.Event("lightning", day(0), "Struck at anchor", "Skipper")
    look = happenings.record_event(boat.fleet, boat, told)
    client = signed_in(boat)
    text = read(client, address(boat, "inspection", look.pk))
    for words in ("· lightning, 1 Apr 2026", "None of 2 parts was looked at",
                  "Struck at anchor", "This is no inspection"):  # fmt: skip
        assert words in text
    for words in ("by a lay person", "Part by part", "Not seen: not looked at"):
        assert words not in text
    row = read(client, address(boat, "inspections")).partition("What was seen</h2>")[2]
    assert ">lightning<" in row
    assert ">not seen</span>" in row
    assert ">keep</span>" not in row
    assert '<td data-label="Level">lightning</td>' in read(client, address(boat, "boat", boat.pk))
    paper = client.get(address(boat, "inspection_report", look.pk))
    assert paper.content.startswith(b"%PDF-")


def test_a_failure_gives_the_cut_sheet_the_spare_and_the_boats_to_look_at():
    boat = rigged_boat()
    Installation.objects.filter(pk=part(boat).pk).update(batch="B7")
    sister = builders.boat(boat.fleet, "Knot")
    builders.wire(sister, batch="B7")
    Spare.objects.create(base=boat.base, construction="1x19", diameter_mm=8, length_mm=14000,
                         lower_terminal="swaged", place="loft", stored_on=day(0))  # fmt: skip
    client, url = signed_in(boat), address(boat, "failure_record", boat.pk)
    data = {"part": part(boat).pk, "on": "2026-04-03", "what": "parted", "person": "Skipper"}
    assert "Say where the wire broke" in client.post(url, data).content.decode()
    assert client.post(url, data | {"spot": "lower"}).status_code == 302
    text = read(client, address(boat, "failure", Failure.objects.get().pk))
    for words in ("14,000", "measure before ordering", "loft", "Knot", "same batch", "not yet"):
        assert words in text
    paper = client.get(address(boat, "failure_paper", Failure.objects.get().pk))
    assert paper.content.startswith(b"%PDF-")
    row = Failure.objects.get()
    assert address(boat, "failure", row.pk) in read(client, address(boat, "boat", boat.pk))


def test_a_part_from_store_goes_into_the_empty_place_and_out_of_store():
    boat = rigged_boat()
    gone = part(boat)
    spare = Spare.objects.create(base=boat.base, construction="1x19", diameter_mm=8, batch="B9",
                                 length_mm=14010, pin_mm=16, stored_on=day(0))  # fmt: skip
    happenings.record_failure(gone, day(3), "lower", "parted", "Skipper")
    client, url = signed_in(boat), address(boat, "renew", gone.pk)
    assert "nothing is in its place" in read(client, url)
    data = {"fitted_on": "2026-04-06", "fitter": "Loft Yard", "invoice": "", "batch": "",
            "construction": "1x19", "alloy": "", "diameter_mm": "8", "length_mm": "14000",
            "lower_terminal": "swaged", "upper_terminal": "t_ball", "pin_mm": "",
            "spare": spare.pk}  # fmt: skip
    assert "Invoice" in client.post(url, data).content.decode(), "no release without its proof"
    assert held(boat) == ["replace", "pair"]
    assert client.post(url, data | {"invoice": "INV 9"}).status_code == 302
    new = part(boat)
    assert (new.length_mm, new.pin_mm, new.batch, new.invoice) == (14010, 16, "B9", "INV 9")
    spare.refresh_from_db()
    assert (spare.fitted_as, spare.taken_by) == (new, "Loft Yard")
    assert held(boat) == ["pair"]
    assert "Fitted on" in read(client, address(boat, "spare", spare.pk))


def test_a_longer_wire_from_store_is_on_record_as_it_was_cut():
    boat = rigged_boat()
    gone = part(boat)
    spare = Spare.objects.create(base=boat.base, construction="1x19", diameter_mm=8, alloy="316",
                                 length_mm=15000, stored_on=day(0))  # fmt: skip
    happenings.record_failure(gone, day(3), "lower", "parted", "Skipper")
    data = {"fitted_on": "2026-04-06", "fitter": "Loft Yard", "invoice": "INV 9", "batch": "",
            "construction": "1x19", "alloy": "", "diameter_mm": "8", "length_mm": "14000",
            "lower_terminal": "mechanical", "upper_terminal": "t_ball", "pin_mm": "",
            "spare": spare.pk}  # fmt: skip
    assert signed_in(boat).post(address(boat, "renew", gone.pk), data).status_code == 302
    new = part(boat)
    assert (new.length_mm, new.lower_terminal, new.alloy) == (14000, "mechanical", "316")


def test_the_page_of_boats_not_released_says_who_found_what_when_and_what_lifts_it():
    boat = rigged_boat()
    look = condemned(boat)
    client = signed_in(boat)
    move = {"on": "2026-04-02", "origin": "Hollow Quay", "destination": "Loft Yard",
            "skipper": "Bo Sun", "weather": "calm"}  # fmt: skip
    url = address(boat, "yard_move", boat.pk)
    assert client.post(url, move).status_code == 200, "not without saying: no sail, no guests"
    assert client.post(url, move | {"agreed": "on"}).status_code == 302
    assert YardMove.objects.count() == 1
    assert held(boat) == ["replace", "pair"]
    text = read(client, address(boat, "not_released"))
    for words in ("A Rigger (rigger, aloft)", address(boat, "inspection", look.pk),
                  address(boat, "renew", part(boat).pk), address(boat, "second_look",
                  part(boat).pk), "Hollow Quay to Loft Yard"):  # fmt: skip
        assert words in text
    reader = read(signed_in(boat, "accountant"), address(boat, "not_released"))
    assert address(boat, "renew", part(boat).pk) not in reader


def test_a_second_look_is_posted_beside_the_first():
    boat = rigged_boat()
    condemned(boat)
    client, url = signed_in(boat), address(boat, "second_look", part(boat).pk)
    assert "A Rigger" in read(client, url)
    data = {"on": "2026-04-05", "person": "A Rigger", "competence": "rigger", "level": "aloft",
            "method": "loupe", "saw": "loupe: a scratch and no crack", "value": "keep",
            "again_by": "", "signed": "on"}  # fmt: skip
    assert "another person" in client.post(url, data).content.decode()
    response = client.post(url, data | {"person": "B Surveyor", "competence": "surveyor"})
    assert response.status_code == 302
    assert held(boat) == []
    again = read(client, response.url)
    assert "a scratch and no crack" in again
    assert "Second judgement of Cap shroud, port: keep" in again
    assert "nothing to judge again" in read(client, url)


def test_a_boat_is_shown_as_stepped_until_the_second_signature_is_there():
    boat = rigged_boat()
    client, url = signed_in(boat), address(boat, "stepped", boat.pk)
    data = {"on": "2026-04-05", "person": "A Rigger", "tune": "",
            "checks": ["pins_in", "pins_opened", "pins_taped", "locks"]}  # fmt: skip
    assert "Not signed for: Mast straight" in client.post(url, data).content.decode()
    assert client.post(url, data | {"checks": [*data["checks"], "tune"]}).status_code == 302
    row = Stepping.objects.get()
    missing = "second signature missing"
    pages = [address(boat, "boat", boat.pk), address(boat, "not_released"), address(boat, "boats")]
    assert all(missing in read(client, page) for page in pages)
    sign = {"step": "second", "on": "2026-04-06", "person": "Bo Sun"}
    assert client.post(address(boat, "stepping", row.pk), sign).status_code == 302
    assert not any(missing in read(client, page) for page in pages)
    assert "not re-tensioned yet" in read(client, pages[0])
    due = "re-tension after the first hard sail is not on record"
    assert due in read(client, address(boat, "reminders"))
    client.post(address(boat, "stepping", row.pk), sign | {"step": "retension"})
    assert due not in read(client, address(boat, "reminders"))


def test_a_report_is_attached_read_by_members_alone_and_followed_to_its_end():
    boat = rigged_boat()
    client, url = signed_in(boat), address(boat, "reports", boat.pk)
    data = {"on": "2026-04-05", "author": "C Surveyor", "competence": "surveyor"}
    picture = builders.pdf_file(b"\x89PNG\r\n\x1a\n0000")
    assert "not a whole PDF" in client.post(url, data | {"file": picture}).content.decode()
    whole = builders.pdf_file()
    page = client.post(url, data | {"file": whole}).url
    row = {"text": "Renew the forestay", "installation": part(boat).pk, "by_when": "2026-05-01",
           "answers": "Bo Sun"}  # fmt: skip
    assert client.post(page, row).status_code == 302
    assert "does not condemn" in read(client, page)
    assert "late" in read(client, address(boat, "recommendations"))
    advised = Recommendation.objects.get()
    file = client.get(address(boat, "report_file", advised.report_id))
    assert b"".join(file) == builders.PDF
    assert file["Content-Disposition"].startswith("attachment;")
    assert (file["Cache-Control"], file["X-Content-Type-Options"]) == (
        "private, no-store", "nosniff"
    )  # fmt: skip
    one = address(boat, "recommendation", advised.pk)
    closing = {"state": "declined", "on": "2026-05-02", "by": "Bo Sun", "how": ""}
    assert "why it is declined" in client.post(one, closing).content.decode()
    client.post(one, closing | {"how": "renewed last winter, invoice 12"})
    assert "renewed last winter" in read(client, one)
    client.post(one, {"step": "reopen"})
    assert Recommendation.objects.get().state == "open"


def test_what_is_to_order_is_a_list_and_a_csv_and_is_ordered_once():
    boat = rigged_boat()
    inspect(boat, day(0), recording.Sight("hanks_worn", "hanks", measure=4))
    client, url = signed_in(boat), address(boat, "consumables")
    assert "Hanks" in read(client, url)
    text = client.get(address(boat, "consumables_csv")).content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(r["base"], r["item"], r["pieces to order"]) for r in rows] == [
        (boat.base.name, "hanks", "4")
    ]
    client.post(url, {"base": boat.base.pk, "item": "hanks"})
    assert "No hanks" in read(client, url)
    client.post(url, {"order": boat.base.consumable_orders.get().pk})
    assert "Hanks" in read(client, url)


def test_the_mast_down_list_is_a_page_and_part_of_the_work_order():
    boat = rigged_boat()
    client = signed_in(boat)
    assert "Upper ends and upper pins" in read(client, address(boat, "mast_down", boat.pk))
    paper = client.get(address(boat, "work_order", boat.pk) + "?mast=down")
    assert paper.content.startswith(b"%PDF-")


POSTS = ("event", "failure_record", "yard_move", "second_look", "stepped", "reports", "spares",
         "consumables")  # fmt: skip


@pytest.mark.parametrize("name", POSTS)
def test_a_treasurer_puts_nothing_on_record(name):
    boat = rigged_boat()
    condemned(boat)
    pk = {"second_look": part(boat).pk, "event": None, "spares": None, "consumables": None}
    url = address(boat, name, pk.get(name, boat.pk))
    assert signed_in(boat, "accountant").post(url, {"on": "2026-04-05"}).status_code == 403


def test_nothing_of_another_fleet_is_reached_by_its_number():
    boat, other = rigged_boat(), rigged_boat("estuary")
    row = advice.attach(other, builders.pdf_file(), on=day(0),
                        author="C Surveyor", competence="surveyor")  # fmt: skip
    client = signed_in(boat)
    assert client.get(address(boat, "report_file", row.pk)).status_code == 404
    data = {"boat": other.pk, "sign": "lightning", "on": "2026-04-03", "line": "x", "person": "y"}
    assert client.post(address(boat, "event"), data).status_code == 200
    assert held(other) == []
