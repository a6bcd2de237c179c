"""The kit a phone keeps: what it holds, that it is the fleet's own, and when it is new."""

import json

import pytest
from django.test import Client

from fleet.models import Stay
from inspections.criteria import DEFAULT
from inspections.models import CriteriaVersion
from tests import builders
from tests.inspections.docks import address, day, inspect, part, rigged_boat, saw, signed_in

pytestmark = pytest.mark.django_db


def kit(client: Client, boat, **asked) -> dict:
    response = client.get(address(boat, "dock_kit"), asked)
    assert response.status_code == 200
    return response.json()


@pytest.fixture
def bosun(boat) -> Client:
    return signed_in(boat)


def part_in(kit: dict, wire) -> dict:
    [own] = kit["boats"]
    return next(each for stay in own["stays"] for each in stay["parts"] if each["id"] == wire.pk)


def test_a_kit_says_of_a_part_what_was_found_and_how_it_is_judged(boat, bosun):
    wire = part(boat)
    inspect(boat, day(0), saw(wire, "small_spots", "run", measure=3, note="below the spreader"))
    last = part_in(kit(bosun, boat), wire)["last"]
    assert (last["verdict"], last["on"], last["person"]) == ("watch", "2026-04-01", "A Rigger")
    [finding] = last["findings"]
    assert (finding["sign"], finding["spot"], finding["measure"]) == ("small_spots", "run", 3)
    assert last["reasons"][0].startswith("Wire: many small rust spots, 3 spots, first time.")


def test_every_finding_on_a_part_goes_along_so_that_growth_is_told_on_the_phone(boat, bosun):
    wire = part(boat)
    for number, spots in ((0, 5), (60, 5)):
        inspect(boat, day(number), saw(wire, "small_spots", "run", measure=spots))
    found = part_in(kit(bosun, boat), wire)["last"]["findings"]
    assert [each["on"] for each in found] == ["2026-04-01", "2026-05-31"]


def test_a_part_nobody_looked_at_has_no_last_time(boat, bosun):
    assert part_in(kit(bosun, boat), part(boat))["last"] is None


def test_the_work_goes_from_the_bow_round_clockwise_and_bottom_up(boat, bosun):
    for name, side in (("backstay", ""), ("forestay", ""), ("lower_aft", "port")):
        builders.wire(boat, name, side)
    builders.wire(boat, kind="turnbuckle", construction="")
    Stay.objects.filter(name="forestay").update(in_foil=True)
    [own] = kit(bosun, boat)["boats"]
    assert [stay["label"] for stay in own["stays"]] == [
        "Forestay", "Cap shroud, starboard", "Backstay", "Lower aft, port", "Cap shroud, port"
    ]  # fmt: skip
    assert [each["kind"] for each in own["stays"][-1]["parts"]] == ["turnbuckle", "wire"]
    forestay = part(boat, "", stay="forestay").pk
    assert [spot for pk, spot in own["levels"]["aloft"] if pk == forestay] == ["lower"]
    assert len(own["levels"]["mast_down"]) == 5 * 3 + 1


def test_a_condemned_part_is_shown_and_not_asked_about_again(boat, bosun):
    wire = part(boat)
    inspect(boat, day(0), saw(wire, "broken_wire", measure=1))
    own = kit(bosun, boat)["boats"][0]
    assert part_in({"boats": [own]}, wire)["condemned_on"] == "2026-04-01"
    assert wire.pk not in {pk for level in own["levels"].values() for pk, _ in level}
    assert own["held"][0].startswith("Cap shroud, port condemned.")
    drawn = [line for view in own["drawing"]["views"] for line in view["lines"]]
    assert {line["verdict"] for line in drawn if line["stay"] == wire.stay_id} == {"replace"}


def test_a_kit_counts_how_often_a_spot_was_missed_running(boat, bosun):
    wire = part(boat)
    inspect(boat, day(0), saw(wire, "not_seen", "upper", note="boot not taken off"))
    assert part_in(kit(bosun, boat), wire)["missed"] == {"upper": 1}


def test_a_kit_judges_by_the_fleets_own_limits_of_today(boat, bosun):
    own = DEFAULT.changed("wire_drawn_out", limit=0.5, since=day(0), reason="our rigger")
    CriteriaVersion.objects.create(
        fleet=boat.fleet, since=day(0), reason="our rigger", decided_by="H", data=own.to_dict()
    )
    rules = kit(bosun, boat)["criteria"]
    sign = next(each for each in rules["signs"] if each["code"] == "wire_drawn_out")
    assert rules["version"] == own.version
    assert sign["measure"]["limit"] == 0.5
    assert (sign["limit_words"], sign["picture"]) == ("from 0.5 mm", "sign-wire_drawn_out")
    assert len(rules["signs"]) == len(DEFAULT)
    assert "1x19" in rules["assessed"]["wire"]
    assert "7x7" not in rules["assessed"]["wire"]


def test_an_unchanged_kit_is_not_sent_again_and_a_new_look_changes_it(boat, bosun):
    url = address(boat, "dock_kit")
    first = bosun.get(url)
    again = bosun.get(url, headers={"if-none-match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    inspect(boat, day(1))
    after = bosun.get(url, headers={"if-none-match": first["ETag"]})
    assert after.status_code == 200
    marks = [json.loads(each.content)["boats"][0]["record"] for each in (first, after)]
    assert marks[0] != marks[1]


def test_a_kit_holds_the_boats_of_its_base_that_are_in_the_fleet_today(boat, bosun):
    away = builders.base(boat.fleet, "Far Quay")
    builders.boat(boat.fleet, "Elsewhere", base=away)
    builders.boat(boat.fleet, "Sold", left=builders.TODAY)
    here = kit(bosun, boat, base=boat.base_id)
    assert [each["name"] for each in here["boats"]] == ["Tern"]
    assert [each["name"] for each in kit(bosun, boat)["boats"]] == ["Elsewhere", "Tern"]
    foreign = rigged_boat("estuary", "Foreign").base_id
    assert bosun.get(address(boat, "dock_kit"), {"base": foreign}).status_code == 404
    assert bosun.get(address(boat, "dock_kit"), {"base": "x"}).status_code == 404


def test_who_inspects_is_named_with_the_competence_last_recorded(boat, bosun):
    assert kit(bosun, boat)["person"] == {"name": "bosun-harbour", "competence": "crew"}
    look = inspect(boat, day(0), competence="surveyor")
    look.recorded_by = boat.fleet.memberships.get().user
    look.save()
    assert kit(bosun, boat)["person"]["competence"] == "surveyor"


def test_a_phone_nobody_is_signed_in_on_is_told_so_and_an_accountant_gets_no_kit(boat):
    response = Client().get(address(boat, "dock_kit"))
    assert response.status_code == 403
    assert response.json()["signed_out"].startswith("Sign in again.")
    assert signed_in(boat, "accountant").get(address(boat, "dock_kit")).status_code == 403
