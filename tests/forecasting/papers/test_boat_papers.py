"""The rigging schedule and the work order of one boat."""

import datetime as dt
import re

import pytest

from fleet.models import Boat
from forecasting.models import RefitJob
from forecasting.papers import looking, part_words
from forecasting.papers.rig_schedule import contents as schedule
from forecasting.papers.rig_schedule import rig_schedule
from forecasting.papers.work_order import contents as order
from forecasting.papers.work_order import work_order
from inspections.criteria import DEFAULT
from inspections.models import CriteriaVersion, Finding, Inspection, PartVerdict
from tests import builders

from .conftest import CODE, CYRILLIC, GREEK, LONG
from .reading import dense, reader, text_of

MEASURE = part_words.MEASURE


def fresh(boat: Boat) -> Boat:
    return Boat.objects.select_related("fleet", "base__ground").get(pk=boat.pk)


def named(paper: dict, key: str, name: str) -> dict:
    [row] = [row for row in paper[key] if row["name"] == name]
    return row


def test_the_schedule_lists_every_part_up_and_none_that_is_gone(rig):
    paper = schedule(fresh(rig.boat))
    assert {row["name"] for row in paper["parts"]} == {
        "Cap shroud, port", "Cap shroud, port: turnbuckle", "Cap shroud, port: chainplate",
        "Backstay",
    }  # fmt: skip
    assert "GONE-1" not in text_of(rig_schedule(fresh(rig.boat)))


def test_each_part_has_age_certainty_invoice_sight_and_verdict(rig):
    wire = named(schedule(fresh(rig.boat)), "parts", "Cap shroud, port")
    assert wire["age"] == "12 y 6 m"  # 1 April 2014 to 14 October 2026
    assert (wire["fitted"], wire["certainty"]) == ("1 Apr 2014", "invoice or log")
    assert wire["seen"] == "lower end, wire 14 Oct 2026; upper end never"
    assert wire["verdict"] == {"code": "watch", "word": "watch", "note": "again by 11 Nov 2026"}
    assert named(schedule(fresh(rig.boat)), "parts", "Backstay")["verdict"]["word"] == (
        "never looked at"
    )


def test_what_an_event_made_void_is_not_called_never_looked_at(rig):
    look = Inspection.objects.create(
        boat=rig.boat, on=dt.date(2026, 5, 1), level="aloft", person="B", competence="rigger"
    )
    PartVerdict.objects.create(inspection=look, installation=rig.unknown, value="keep",
                               lower="good", run="good", upper="good")  # fmt: skip
    Finding.objects.create(inspection=look, sign="lightning", place="whole_rig")
    backstay = named(schedule(fresh(rig.boat)), "parts", "Backstay")
    assert (backstay["verdict"]["word"], backstay["seen"]) == (
        "not looked at since the event", "1 May 2026"
    )  # fmt: skip


def test_of_several_looks_the_latest_that_saw_it_good_counts(rig):
    look = Inspection.objects.create(
        boat=rig.boat, on=dt.date(2025, 5, 1), level="aloft", person="B", competence="rigger"
    )
    PartVerdict.objects.create(inspection=look, installation=rig.unknown, value="keep",
                               lower="good", run="good", upper="good")  # fmt: skip
    latest = Inspection.objects.create(
        boat=rig.boat, on=dt.date(2026, 5, 1), level="deck", person="B", competence="crew"
    )
    PartVerdict.objects.create(inspection=latest, installation=rig.unknown, value="keep",
                               lower="good", run="not_seen", upper="not_seen")  # fmt: skip
    seen = named(schedule(fresh(rig.boat)), "parts", "Backstay")["seen"]
    assert seen == "lower end 1 May 2026; wire, upper end 1 May 2025"


def test_what_the_schedule_knows_of_a_part_is_printed(rig):
    printed = dense(rig_schedule(fresh(rig.boat)))
    for row in schedule(fresh(rig.boat))["parts"]:
        for key in ("name", "what", "age", "fitted", "certainty", "invoice", "seen"):
            assert dense(row[key]) in printed
        assert dense(row["verdict"]["word"] + row["verdict"]["note"]) in printed


def test_a_date_is_printed_no_surer_than_it_is_known(rig):
    paper = schedule(fresh(rig.boat))
    fitted = {row["name"]: row["fitted"] for row in paper["parts"]}
    assert fitted["Cap shroud, port: turnbuckle"] == "2014"
    assert fitted["Cap shroud, port: chainplate"] == "about 2014"
    assert fitted["Backstay"] == "unknown"


def test_what_is_not_on_record_says_measure_before_ordering(rig):
    paper = schedule(fresh(rig.boat))
    back = named(paper, "wires", "Backstay")
    sizes = ("construction", "diameter", "length", "lower", "upper", "pin")
    assert [back[key] for key in sizes] == [MEASURE] * 6
    known = named(paper, "wires", "Cap shroud, port")
    assert [known[key] for key in sizes] == [
        "1x19", "8", "14,000", "swaged", "T- or ball-end", MEASURE,
    ]  # fmt: skip
    assert back["open"] == "measure before ordering: thread, hand, mast end, setting"
    # Printed: six of the backstay, the cap shroud's pin, the line for thread, mast end and setting
    # of either; the chainplate's pin, the turnbuckle's thread; what no record keeps of two
    # fittings; the note.
    paper = dense(rig_schedule(fresh(rig.boat)))
    assert paper.count(dense(MEASURE)) == 6 + 1 + 2 + 1 + 1 + 2 + 1


def test_a_schedule_and_a_work_order_say_thread_hand_mast_end_and_setting(rig):
    shroud = rig.boat.stays.get(name="cap_shroud", side="port").installations.get(kind="wire")
    shroud.thread, shroud.mast_end, shroud.adjuster = "M16", "slotted plate", "60 mm in sight"
    shroud.save()
    for paper in (rig_schedule(fresh(rig.boat)), work_order(fresh(rig.boat))):
        for words in ("Thread: M16", "Mast end: slotted plate", "Setting: 60 mm in sight",
                      "measure before ordering: hand"):  # fmt: skip
            assert dense(words) in dense(paper)


def test_a_condemned_part_is_to_be_replaced_whatever_was_said_before(rig):
    rig.screw.condemned_on = dt.date(2026, 10, 7)
    rig.screw.save()
    row = named(schedule(fresh(rig.boat)), "parts", "Cap shroud, port: turnbuckle")
    assert row["verdict"] == {"code": "replace", "word": "replace", "note": "since 7 Oct 2026"}


def test_a_boat_without_parts_still_has_a_schedule(rows):
    bare = builders.boat(rows.fleet, "Bare")
    assert "No part is on record" in text_of(rig_schedule(fresh(bare)))


def test_the_order_gives_sizes_hours_and_what_it_costs_to_the_cent(rig):
    RefitJob.objects.create(boat=rig.boat, installation=rig.unknown, season="2026/27", code="age",
                            reason="Old.", hours=1.5, cost_minor=10_001, put_off_minor=0,
                            must=True)  # fmt: skip
    paper = order(fresh(rig.boat))
    assert (paper["hours"], paper["cost"]) == ("4.5", "712.51")
    assert named(paper, "jobs", "Cap shroud, port")["size"]["length"] == "14,000"
    assert named(paper, "jobs", "Backstay")["size"]["length"] == MEASURE
    printed = text_of(work_order(fresh(rig.boat)))
    assert "2 parts to renew, mast up. 1 cannot wait" in printed
    assert "712.51" in printed
    assert "split pin missing" in printed  # what the boat is held for


def test_an_order_without_jobs_says_so_and_still_says_what_to_look_at(rig):
    RefitJob.objects.all().delete()
    printed = text_of(work_order(fresh(rig.boat)))
    assert "Nothing has to be renewed" in printed
    assert "Signs to look for" in printed


def test_what_is_renewed_is_not_looked_at_and_a_chainplate_only_mast_down(rig):
    aloft = {part["name"] for part in order(fresh(rig.boat))["looks"]["parts"]}
    assert aloft == {"Backstay", "Cap shroud, port: turnbuckle"}
    RefitJob.objects.create(boat=rig.boat, season="2026/27", code="mast_down", reason="Once.",
                            hours=9, cost_minor=1, put_off_minor=0)  # fmt: skip
    down = order(fresh(rig.boat))["looks"]
    assert down["level"] == "mast-down, opened"
    assert {part["name"] for part in down["parts"]} == aloft | {"Cap shroud, port: chainplate"}


def test_the_wire_inside_a_foil_shows_its_lower_end_alone_while_the_mast_is_up(rig):
    rig.unknown.stay.in_foil = True
    rig.unknown.stay.save()
    looks = order(fresh(rig.boat))["looks"]
    assert named(looks, "parts", "Backstay")["spots"] == "lower end"


def test_what_was_never_seen_whole_comes_first_and_brings_what_is_known(rig):
    RefitJob.objects.all().delete()
    first, *_ = order(fresh(rig.boat))["looks"]["parts"]
    assert first["seen"] != "14 Oct 2026"
    shroud = named(order(fresh(rig.boat))["looks"], "parts", "Cap shroud, port")
    assert shroud["notes"] == ["rust", "Look again by 11 Nov 2026."]


def test_the_signs_are_those_of_what_is_fitted_with_the_fleets_own_limits(rig):
    """1 mm drawn out of a mechanical terminal: common practice, no source."""
    rig.unknown.lower_terminal, rig.unknown.construction = "mechanical", "1x19"
    rig.unknown.save()
    RefitJob.objects.filter(installation=rig.unknown).delete()

    def means(label: str) -> list[str]:
        groups = order(fresh(rig.boat))["looks"]["signs"]
        return [sign["means"] for group in groups for sign in group["signs"]
                if sign["label"].startswith(label)]  # fmt: skip

    assert means("Wire drawn out") == ["replace from 1 mm, else watch"]
    assert means("Crack in the head of the rod") == []
    own = DEFAULT.changed("wire_drawn_out", limit=0.5)
    CriteriaVersion.objects.create(fleet=rig.boat.fleet, since=dt.date(2026, 1, 1), reason="ours",
                                   decided_by="A", data=own.to_dict())  # fmt: skip
    assert means("Wire drawn out") == ["replace from 0.5 mm, else watch"]


@pytest.mark.parametrize("sign", DEFAULT.values(), ids=lambda sign: sign.code)
def test_every_sign_can_be_said_in_words(sign):
    assert re.match(r"(keep|watch|refer|make good|replace)", looking.meaning(sign))
    assert "None" not in looking.meaning(sign)


@pytest.mark.parametrize("name", [CODE, GREEK, CYRILLIC, LONG])
@pytest.mark.parametrize("paper", [rig_schedule, work_order])
def test_a_name_that_looks_like_code_or_is_not_latin_is_printed_as_it_is(rig, paper, name):
    rig.boat.name, rig.boat.design = name, name
    rig.boat.save()
    rig.screw.invoice = name[:60]
    rig.screw.save()
    content = paper(fresh(rig.boat))
    assert dense(name) in dense(content)
    assert reader(content).metadata.title.endswith(name)


@pytest.mark.parametrize("paper", [rig_schedule, work_order])
def test_the_same_record_gives_the_same_bytes_and_another_one_others(rig, paper):
    first = paper(fresh(rig.boat))
    assert paper(fresh(rig.boat)) == first
    rig.boat.design = "Another"
    rig.boat.save()
    assert paper(fresh(rig.boat)) != first
