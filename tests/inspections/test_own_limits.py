"""A fleet's own limits: changed from a day on, with a reason, and never reaching back."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError

from fleet.models import Installation
from inspections import recording
from inspections.criteria import DEFAULT
from inspections.criteria.changes import allowed_outcomes, differences, may_change
from inspections.criteria.words import answers, limit, meaning, tools
from inspections.judgement.history import criteria_of
from inspections.judgement.standing_verdicts import of_parts
from inspections.limits import versions
from inspections.limits.what_if import what_if
from inspections.models import CriteriaVersion, Hold
from tests import builders
from tests.inspections.docks import day, every_row, held, inspect, part, saw, signed_in, verdict
from tests.inspections.limit_forms import (
    TODAY,
    ask,
    backstay,
    drawn_out,
    rigged_with_backstay,
    words_of,
)

LATER = TODAY + dt.timedelta(days=30)


@pytest.fixture
def boat(db):
    return rigged_with_backstay()


@pytest.fixture
def manager(boat):
    return signed_in(boat, "manager")


# -- what may be changed, and what differs


def test_a_verdict_is_never_milder_than_the_books_own():
    assert allowed_outcomes(DEFAULT["barrel_crack_along"]) == ("replace",)
    assert allowed_outcomes(DEFAULT["lock_missing"]) == ("make_good", "replace")
    stricter = DEFAULT.changed("lock_missing", outcome="replace")
    assert allowed_outcomes(stricter["lock_missing"]) == ("make_good", "replace")


def test_what_a_fleet_made_stricter_it_may_take_back_to_the_book_and_no_further():
    stricter = DEFAULT.changed("dull_surface", outcome="replace")
    assert stricter.changed("dull_surface", outcome="keep")["dull_surface"].outcome == "keep"
    stricter = DEFAULT.changed("lock_missing", outcome="replace")
    with pytest.raises(ValueError, match="may be stricter, not milder"):
        stricter.changed("lock_missing", outcome="keep")


def test_a_sign_that_condemns_by_being_there_has_nothing_to_set():
    assert not may_change(DEFAULT["wire_kink"])
    assert may_change(DEFAULT["wire_drawn_out"])


@pytest.mark.parametrize(
    ("change", "before", "after", "looser"),
    [
        ({"code": "wire_drawn_out", "limit": 2}, "1 mm", "2 mm", True),
        ({"code": "wire_drawn_out", "limit": 0.5}, "1 mm", "0.5 mm", False),
        ({"code": "broken_wires_7x7", "limit": 3}, "not set", "3 wires", True),
        ({"code": "rust_at_mouth", "again_days": 60}, "after 28 days", "after 60 days", True),
        ({"code": "rust_at_mouth", "again_days": 1}, "after 28 days", "after 1 day", False),
        ({"code": "lock_missing", "outcome": "replace"}, "make good", "replace", False),
        (
            {"code": "thread_engagement", "limit": 1},
            "1.5 times the diameter of the thread",
            "1 times the diameter of the thread",
            True,
        ),
    ],
)
def test_a_change_says_from_what_to_what_and_whether_it_is_looser(change, before, after, looser):
    [one] = differences(DEFAULT, DEFAULT.changed(**change))
    assert (one.before, one.after, one.looser) == (before, after, looser)


def test_the_source_of_a_rule_changed_twice_names_the_book_once():
    twice = DEFAULT.changed("pin_worn", limit=0.04, reason="A").changed(
        "pin_worn", limit=0.03, reason="B"
    )
    assert twice["pin_worn"].source == (
        "the fleet's own rule (B); before: common practice, no source"
    )


@pytest.mark.parametrize("code", list(DEFAULT))
def test_every_sign_says_in_words_what_it_leads_to(code):
    sign = DEFAULT[code]
    told = answers(sign)
    assert told[0].value == (sign.outcome if sign.has_limit else "refer")
    assert all(each.when for each in told) or sign.rule == "plain"
    for each in told:
        assert (each.again_days is not None) == (each.value in ("watch", "refer"))
    assert "None" not in meaning(sign)


def test_limits_and_tools_read_as_a_rigger_says_them():
    assert limit(DEFAULT["wire_drawn_out"].measure) == "from 1 mm"
    assert limit(DEFAULT["pin_worn"].measure) == "over 0.05 times the diameter of the pin"
    assert (
        limit(DEFAULT["thread_engagement"].measure) == "under 1.5 times the diameter of the thread"
    )
    assert tools(DEFAULT["barrel_crack_across"]) == ["light", "loupe", "penetrant"]
    assert "light" not in tools(DEFAULT["tea_stain"])
    assert "callipers" in tools(DEFAULT["pin_worn"])


# -- from a day on


def test_old_verdicts_keep_the_limit_they_were_given_under_however_often_they_are_judged(boat):
    look = drawn_out(boat, day(0), 0.7)
    assert verdict(look, backstay(boat)).value == "watch"
    before = every_row()
    versions.decide(
        boat.fleet, "wire_drawn_out", {"limit": 0.5}, TODAY, "ours",
        builders.person("m", boat.fleet),
    )  # fmt: skip
    recording.judge([boat.pk])
    assert every_row() == before
    look.refresh_from_db()
    assert look.criteria is None

    later = drawn_out(boat, TODAY, 0.7)
    assert verdict(later, backstay(boat)).value == "replace"
    assert "since 2026-10-14 (ours)" in verdict(later, backstay(boat)).reasons[0]
    later.refresh_from_db()
    assert later.criteria == CriteriaVersion.objects.get()


def test_an_inspection_of_an_earlier_day_entered_late_is_judged_by_the_limit_of_its_day(boat):
    versions.decide(
        boat.fleet, "wire_drawn_out", {"limit": 0.5}, TODAY, "ours",
        builders.person("m", boat.fleet),
    )  # fmt: skip
    assert verdict(drawn_out(boat, day(3), 0.7), backstay(boat)).value == "watch"


def test_loosening_a_limit_lifts_no_hold_and_clears_no_condemned_part(boat, manager):
    drawn_out(boat, day(0), 1.5)
    assert held(boat) == ["replace"]
    before = every_row()
    response = ask(manager, boat, "wire_drawn_out", limit="3", understood="on")
    assert response.status_code == 302
    recording.judge([boat.pk])
    recording.settle([boat.pk])
    assert every_row() == before

    later = drawn_out(boat, TODAY, 1.5)
    assert verdict(later, backstay(boat)).value == "replace", "condemned before, and still up"
    assert held(boat) == ["replace"]
    assert Hold.objects.get(boat=boat).lifted_on is None


def test_a_rule_cannot_hold_from_a_day_already_judged_or_gone(boat, manager):
    yesterday = TODAY - dt.timedelta(days=1)
    page = words_of(ask(manager, boat, "wire_drawn_out", limit="0.5", since=yesterday))
    assert "A rule cannot hold from 13 Oct 2026" in page
    assert 'value="0.5"' in page
    drawn_out(boat, TODAY, 0.2)
    page = words_of(ask(manager, boat, "wire_drawn_out", limit="0.5"))
    assert "The first day it can hold from is 15 Oct 2026" in page
    assert not CriteriaVersion.objects.exists()


def test_a_change_does_not_undercut_one_entered_for_a_later_day(boat, manager):
    ask(manager, boat, "wire_drawn_out", limit="0.5", since=LATER.isoformat())
    page = words_of(ask(manager, boat, "pin_worn", limit="0.04"))
    assert "The first day it can hold from is 13 Nov 2026" in page
    assert ask(manager, boat, "pin_worn", limit="0.04", since=LATER.isoformat()).status_code == 302
    both = criteria_of(boat.fleet, LATER)
    assert (both["wire_drawn_out"].measure.limit, both["pin_worn"].measure.limit) == (0.5, 0.04)
    assert criteria_of(boat.fleet, TODAY) == DEFAULT


def test_a_day_far_ahead_is_taken_for_a_slip(boat):
    with pytest.raises(ValidationError, match="more than a year ahead"):
        versions.check_since(boat.fleet, dt.date(2062, 10, 14))


# -- the preview


def test_the_preview_counts_the_verdicts_that_would_be_different_and_writes_nothing(boat, manager):
    drawn_out(boat, day(0), 0.7)
    before = every_row()
    page = words_of(ask(manager, boat, "wire_drawn_out", step="look", limit="0,5"))
    assert "1 of 3 standing verdicts would be different: 1 stricter, 0 milder" in page
    assert "Backstay" in page
    assert every_row() == before
    assert not CriteriaVersion.objects.exists()


def test_the_preview_agrees_with_judging_the_whole_record_anew(boat):
    """By the other way: the rule put at the beginning of the record, and everything judged."""
    drawn_out(boat, day(0), 0.7)
    inspect(boat, day(5), saw(part(boat), "notch", "run", measure=0.1))
    change = {"limit": 0.5}
    [shift] = what_if(boat.fleet, DEFAULT["wire_drawn_out"], change).shifts
    own = DEFAULT.changed("wire_drawn_out", **change)
    CriteriaVersion.objects.create(
        fleet=boat.fleet, since=dt.date(2000, 1, 1), reason="r", decided_by="m", data=own.to_dict()
    )
    was = standing(boat)
    recording.judge([boat.pk])
    differ = {pk: (was[pk], value) for pk, value in standing(boat).items() if was[pk] != value}
    assert differ == {backstay(boat).pk: (shift.was, shift.would_be)}


def standing(boat) -> dict[int, str]:
    parts = Installation.objects.standing().filter(stay__boat=boat)
    verdicts = of_parts(parts.values_list("pk", flat=True))
    return {pk: row.value for pk, row in verdicts.items()}


def test_a_longer_wait_moves_only_the_day_of_the_next_look(boat):
    drawn_out(boat, day(0), 0.7)
    shown = what_if(boat.fleet, DEFAULT["wire_drawn_out"], {"again_days": 60})
    [shift] = shown.shifts
    assert shift.was == shift.would_be == "watch"
    assert (shift.would_again - shift.was_again).days == 32
    assert shown.day_only == 1


def test_a_first_limit_for_7x7_counts_the_wires_it_comes_to_assess(boat):
    builders.wire(boat, "inner_forestay", "", construction="7x7")
    inspect(boat, day(0))
    [shift] = what_if(boat.fleet, DEFAULT["broken_wires_7x7"], {"limit": 3}).shifts
    assert (shift.was, shift.would_be) == ("not_assessed", "keep")
    assert shift.milder


def test_findings_beside_the_parts_are_counted_too(boat):
    inspect(boat, day(0), saw(None, "tang_crack", "tang"))
    assert what_if(boat.fleet, DEFAULT["tang_crack"], {"outcome": "replace"}).places == 1
