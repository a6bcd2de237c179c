"""With the mast down and up again, what others recommend, and the small things to order."""

import datetime as dt

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError

from fleet.models import Stay
from inspections import recording
from inspections.aftermath import advice, consumables, mast_down, report_files, stepping
from inspections.aftermath.advice import Closing
from inspections.due import due
from inspections.followups import Report, Stepping
from inspections.models import Hold
from tests import builders
from tests.inspections.docks import day, held, inspect, part, rigged_boat, saw

pytestmark = pytest.mark.django_db
ALL = [code for code, _ in stepping.CHECKS]
LATER = ("advice", "signature", "retension")


def waiting(boat, today: dt.date = builders.TODAY) -> list[tuple[str, dt.date]]:
    """Return kind and day of what is due besides looks and holds."""
    return sorted((each.kind, each.on) for each in due(boat.fleet, today) if each.kind in LATER)


# -- after stepping


def stepped(boat, **facts) -> Stepping:
    usual = {"on": day(0), "person": "A Rigger", "checked": ALL, "tune": "cap shrouds 20 %"}
    return stepping.step(boat, **(usual | facts))


def test_a_stepped_mast_asks_for_a_second_signature_and_a_re_tension_until_both_are_there():
    boat = rigged_boat()
    row = stepped(boat)
    assert waiting(boat) == [("retension", day(14)), ("signature", day(0))]
    stepping.sign_second(row, day(1), "Bo Sun")
    assert waiting(boat) == [("retension", day(14))]
    stepping.retension(row, day(9), "Bo Sun")
    assert waiting(boat) == []


def test_only_the_last_stepping_asks_for_anything():
    boat = rigged_boat()
    stepped(boat)
    row = stepped(boat, on=day(100))
    stepping.sign_second(row, day(100), "Bo Sun")
    assert waiting(boat) == [("retension", day(114))]


@pytest.mark.parametrize("missing", ALL)
def test_a_mast_is_not_signed_for_with_something_unchecked(missing):
    with pytest.raises(ValidationError, match="Not signed for"):
        stepped(rigged_boat(), checked=[code for code in ALL if code != missing])
    assert not Stepping.objects.exists()


@pytest.mark.parametrize("name", ["A Rigger", " a  rigger ", " "])
def test_the_second_signature_is_another_persons(name):
    row = stepped(rigged_boat())
    with pytest.raises(ValidationError, match="another person"):
        stepping.sign_second(row, day(1), name)
    row.refresh_from_db()
    assert row.second_on is None


def test_nobody_signs_before_the_mast_was_up_or_twice():
    row = stepped(rigged_boat())
    with pytest.raises(ValidationError, match="after that day"):
        stepping.sign_second(row, day(-1), "Bo Sun")
    stepping.sign_second(row, day(1), "Bo Sun")
    with pytest.raises(ValidationError, match="signed second"):
        stepping.sign_second(row, day(2), "C Rigger")


def test_a_stepping_is_taken_back_only_while_nobody_else_has_signed_it():
    boat = rigged_boat()
    stepping.take_back(stepped(boat))
    assert waiting(boat) == []
    assert boat.changes.get().what.endswith("taken back")
    row = stepped(boat)
    stepping.sign_second(row, day(1), "Bo Sun")
    with pytest.raises(ValidationError, match="stays on record"):
        stepping.take_back(row)


# -- with the mast down


def items(boat) -> list[tuple[str, str, str]]:
    groups = mast_down.checklist(boat)
    return [(group.title, item.where, item.known) for group in groups for item in group.items]


def test_what_the_rig_has_decides_what_is_seen_with_the_mast_down():
    boat = rigged_boat()
    titles = {title for title, _, _ in items(boat)}
    assert "Wire inside the furler foil" not in titles
    assert "Chainplates drawn" not in titles
    stay = builders.wire(boat, stay="forestay", side="", construction="rod",
                         lower_terminal="mechanical")  # fmt: skip
    Stay.objects.filter(pk=stay.stay_id).update(in_foil=True)
    builders.wire(boat, kind="chainplate", construction="", upper_terminal="")
    found = items(boat)
    for title in ("Wire inside the furler foil", "Rod heads and fibre"):
        assert [where for group, where, _ in found if group == title] == ["Forestay"]
    assert ("Chainplates drawn", "Cap shroud, port, chainplate", "never opened on record") in found
    assert ("Mast, tangs and spreaders", "Furler", "") in found


def test_the_record_stands_beside_what_is_to_be_opened():
    boat = rigged_boat()
    inspect(boat, day(0), level="mast_down")
    look = saw(part(boat), "rust_at_mouth", "upper", cleaned=True)
    inspect(boat, day(90), look, recording.Sight("tang_crack", "tang", side="port"))
    inspect(boat, day(91), saw(part(boat, "starboard"), "broken_wire", measure=1), level="deck")
    found = items(boat)
    known = {where: words for title, where, words in found if title == "Upper ends and upper pins"}
    assert known["Cap shroud, port"].startswith("last opened 1 Apr 2026; watch since 30 Jun 2026")
    assert known["Cap shroud, starboard"] == "condemned 1 Jul 2026: renew, do not refit"
    assert any(words == "Tang cracked, found 30 Jun 2026" for _, _, words in found)
    lower = {where: words for title, where, words in found if title == "Lower terminals opened"}
    assert lower["Cap shroud, port"] == "last opened 1 Apr 2026"


# -- from others


def report(boat, file=None, **facts) -> Report:
    usual = {"on": day(0), "author": "C Surveyor", "competence": "surveyor"}
    return advice.attach(boat, file or builders.pdf_file(), **(usual | facts))


NO_PDF = {
    "a picture that says it is one": (b"\x89PNG\r\n\x1a\n" + b"x" * 50, "not a whole PDF"),
    "a page with the letters in it": (b"<html>%PDF-1.4 %%EOF</html>", "not a whole PDF"),
    "one cut off": (b"%PDF-1.7\n" + b"x" * 5000, "not a whole PDF"),
    "nothing": (b"", "empty"),
}


@pytest.mark.parametrize(("content", "sentence"), NO_PDF.values(), ids=NO_PDF.keys())
def test_what_is_no_pdf_is_not_kept_whatever_its_name(content, sentence):
    with pytest.raises(ValidationError, match=sentence):
        report(rigged_boat(), builders.pdf_file(content))
    assert not Report.objects.exists()


def test_a_report_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(report_files, "MOST_BYTES", 1024 * 1024)
    content = builders.PDF + b" " * 1024 * 1024 + builders.PDF
    with pytest.raises(ValidationError, match="larger than 1 MB"):
        report(rigged_boat(), builders.pdf_file(content))


def test_a_report_is_kept_as_it_came_and_only_once():
    boat = rigged_boat()
    row = report(boat, builders.pdf_file(name="../../etc/passwd.pdf"))
    path = report_files.path_of(row)
    assert path.read_bytes() == builders.PDF
    assert path.parent == settings.VAR_DIR / "reports" / str(boat.fleet_id)
    with pytest.raises(ValidationError, match="attached already"):
        report(boat)


def test_a_report_attached_by_mistake_is_taken_off_while_nothing_of_it_was_entered(
    django_capture_on_commit_callbacks,
):
    boat = rigged_boat()
    row = report(boat)
    path = report_files.path_of(row)
    with django_capture_on_commit_callbacks(execute=True):
        advice.detach(row)
    assert not path.exists()
    kept = recommended(boat).report
    with pytest.raises(ValidationError, match="stays with them"):
        advice.detach(kept)
    assert report_files.path_of(kept).exists()


def recommended(boat, **facts):
    usual = {"text": "Renew the port cap shroud", "installation": part(boat), "answers": "Bo Sun",
             "by_when": day(30)}  # fmt: skip
    return advice.recommend(report(boat), **(usual | facts))


def test_a_recommendation_to_renew_condemns_nothing_and_is_due_by_its_day():
    boat = rigged_boat()
    recommended(boat)
    recording.judge([boat.pk])
    assert not Hold.objects.exists()
    assert part(boat).condemned_on is None
    assert waiting(boat) == [("advice", day(30))]
    [found] = [each for each in due(boat.fleet, builders.TODAY) if each.kind == "advice"]
    assert "Renew the port cap shroud" in found.reason
    assert "Bo Sun answers for it" in found.reason


def test_a_recommendation_is_done_by_what_was_recorded():
    boat = rigged_boat()
    row = recommended(boat)
    new = recording.record_renewal(
        part(boat), fitted_on=day(20), fitter="Loft Yard", invoice="INV 7", reason="looked_poor"
    )
    advice.close(row, Closing("done", day(21), "Bo Sun", "", renewal=new))
    row.refresh_from_db()
    assert row.how == "Cap shroud, port fitted 21 Apr 2026, invoice INV 7"
    assert waiting(boat) == []
    advice.reopen(row)
    assert waiting(boat) == [("advice", day(30))]


def test_the_look_a_recommendation_was_done_by_is_named_as_it_is_written():
    boat = rigged_boat()
    row = recommended(boat)
    look = inspect(boat, day(20), person="Bo Sun", level="deck")
    advice.close(row, Closing("done", day(21), "Bo Sun", "", inspection=look))
    row.refresh_from_db()
    assert row.how == "Deck check, 21 Apr 2026, Bo Sun"


NOT_CLOSED = {
    "done without evidence": (("done", day(9), "Bo Sun", " "), "by what it is done"),
    "declined without a reason": (("declined", day(9), "Bo Sun", " "), "why it is declined"),
    "by nobody": (("done", day(9), " ", "seen"), "who closes"),
    "on a day to come": (("done", dt.date(2027, 1, 1), "Bo Sun", "seen"), "still to come"),
}


@pytest.mark.parametrize(("said", "sentence"), NOT_CLOSED.values(), ids=NOT_CLOSED.keys())
def test_a_recommendation_is_not_closed(said, sentence):
    boat = rigged_boat()
    row = recommended(boat)
    with pytest.raises(ValidationError, match=sentence):
        advice.close(row, Closing(*said))
    assert waiting(boat) == [("advice", day(30))]


def test_a_recommendation_names_a_part_of_the_boat_it_is_about():
    boat = rigged_boat()
    other = builders.wire(builders.boat(boat.fleet, "Knot"))
    with pytest.raises(ValidationError, match="not on the boat"):
        recommended(boat, installation=other)


# -- small things to order


def found(boat, number: int, *sights) -> None:
    inspect(boat, day(number), *sights, person=f"Rigger {number}")


def listed(boat) -> list[tuple[str, int, int]]:
    needs = consumables.needs(boat.fleet, builders.TODAY)
    return [(need.item, need.pieces, need.boats) for need in needs]


def test_hanks_pins_and_tape_are_counted_by_base_and_not_ordered_twice():
    boat = rigged_boat()
    hanks = recording.Sight("hanks_worn", "hanks", measure=3)
    found(boat, 0, hanks, saw(part(boat), "split_pin_missing"))
    found(boat, 30, hanks, saw(part(boat, "starboard"), "tape_missing"))
    other = builders.boat(boat.fleet, "Knot")
    found(other, 40, recording.Sight("hanks_worn", "hanks"))
    assert listed(boat) == [("hanks", 7, 2), ("split_pins", 1, 1), ("tape", 1, 1)]
    row = consumables.order(boat.base, "hanks", builders.TODAY)
    assert row.pieces == 7
    assert listed(boat) == [("split_pins", 1, 1), ("tape", 1, 1)]
    with pytest.raises(ValidationError, match="Nothing of it"):
        consumables.order(boat.base, "hanks", builders.TODAY)
    found(boat, 60, hanks)
    assert listed(boat)[0] == ("hanks", 3, 1)
    row.delete()
    assert listed(boat)[0] == ("hanks", 10, 2)


def test_what_was_found_more_than_a_year_ago_is_not_ordered_now():
    boat = rigged_boat()
    found(boat, -365, recording.Sight("hanks_worn", "hanks", measure=3))
    assert listed(boat) == []


def test_worn_hanks_hold_no_boat_and_a_missing_tape_does():
    boat = rigged_boat()
    found(boat, 0, recording.Sight("hanks_worn", "hanks", measure=3))
    assert held(boat) == []
    found(boat, 1, saw(part(boat), "tape_missing"))
    assert held(boat) == ["make_good"]
