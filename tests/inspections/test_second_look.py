"""A condemned part judged again: who may, what it changes, and that both stay on record."""

import pytest
from django.core.exceptions import ValidationError

from fleet.models import Stay
from forecasting.life_data import read as read_records
from inspections import recording
from inspections.aftermath import advice, happenings, not_released, second_look, stepping
from inspections.aftermath.advice import Closing
from inspections.aftermath.second_look import Second
from inspections.followups import Rejudgement
from inspections.judgement.standing_verdicts import of_parts
from inspections.models import Hold, PartVerdict
from tests import builders
from tests.inspections.docks import (
    day,
    every_row,
    held,
    inspect,
    part,
    rigged_boat,
    saw,
    verdict,
)

pytestmark = pytest.mark.django_db
SAW = "Loupe and penetrant: a scratch, no crack"
KEEP, WATCH, REPLACE = Second("keep", SAW), Second("watch", SAW, day(40)), Second("replace", SAW)


def condemned(boat, place: str = "lower"):
    return inspect(boat, day(0), saw(part(boat), "broken_wire", place, measure=1))


def again(boat, second: Second = KEEP, **who):
    usual = {"on": day(5), "level": "aloft", "person": "B Surveyor", "competence": "surveyor"}
    return second_look.judge_again(part(boat), recording.Look(**(usual | who)), second)


def test_a_second_person_with_the_competence_who_says_keep_releases_the_boat():
    boat = rigged_boat()
    first = condemned(boat)
    look = again(boat)
    assert held(boat) == []
    assert part(boat).condemned_on is None
    ended = Hold.objects.get(boat=boat, cause="replace")
    assert (ended.lifted_on, ended.lifted_by) == (day(5), "B Surveyor")
    assert SAW in ended.lifted_how
    one, other = verdict(first, part(boat)), verdict(look, part(boat))
    assert (one.value, other.value) == ("replace", "keep")
    assert "Judged again on 6 Apr 2026 by B Surveyor (surveyor): keep" in one.reasons[-1]
    assert "Condemned on 1 Apr 2026 by A Rigger" in other.reasons[0]


def test_the_pair_is_free_again_when_the_first_was_not_to_be_condemned():
    boat = rigged_boat()
    condemned(boat)
    assert held(boat) == ["replace", "pair"]
    again(boat)
    assert "did not stay condemned" in Hold.objects.get(boat=boat, cause="pair").lifted_how


def test_judged_again_as_replace_it_stays_condemned_and_both_are_on_record():
    boat = rigged_boat()
    first = condemned(boat)
    look = again(boat, REPLACE)
    assert "replace" in held(boat)
    assert part(boat).condemned_on == day(0)
    assert verdict(first, part(boat)).reasons[0] != verdict(look, part(boat)).reasons[0]
    assert "replace stands" in verdict(look, part(boat)).reasons[0]


def test_another_condemned_part_is_not_said_to_be_judged_again_by_the_second_look():
    boat = rigged_boat()
    both = [saw(part(boat, side), "broken_wire", measure=1) for side in ("port", "starboard")]
    inspect(boat, day(0), *both)
    again(boat, REPLACE)
    [row] = not_released.boats(boat.fleet, day(9))
    said = {held.name: len(held.again) for held in row.holds if held.hold.cause == "replace"}
    assert said == {"cap shroud, port": 1, "cap shroud, starboard": 0}


def test_judged_again_as_watch_it_is_due_to_be_looked_at_again():
    boat = rigged_boat()
    condemned(boat)
    again(boat, WATCH)
    standing = of_parts([part(boat).pk])[part(boat).pk]
    assert (standing.value, standing.again_by, standing.watched) == ("watch", day(40), ["lower"])


REFUSED = {
    "by the first judge": ({"person": "a  RIGGER", "competence": "rigger"}, KEEP, "another person"),
    "by the crew": ({"competence": "crew"}, KEEP, "rigger or surveyor"),
    "before it was condemned": ({"on": day(-1)}, KEEP, "after that day"),
    "by nobody": ({"person": " "}, KEEP, "another person"),
    "without saying what was seen": ({}, Second("keep", "fine"), "what was seen"),
    "to watch for ever": ({}, Second("watch", SAW), "needs a day"),
}


@pytest.mark.parametrize(("who", "second", "sentence"), REFUSED.values(), ids=REFUSED.keys())
def test_a_second_judgement_is_refused(who, second, sentence):
    boat = rigged_boat()
    condemned(boat)
    before = every_row()
    with pytest.raises(ValidationError, match=sentence):
        again(boat, second, **who)
    assert every_row() == before


def test_a_top_condemned_aloft_is_not_judged_again_from_the_deck():
    boat = rigged_boat()
    condemned(boat, "upper")
    with pytest.raises(ValidationError, match="upper end, which that look cannot see"):
        again(boat, level="deck")


def test_a_wire_inside_a_foil_is_judged_again_with_the_mast_down_only():
    boat = rigged_boat()
    condemned(boat, "run")
    Stay.objects.filter(pk=part(boat).stay_id).update(in_foil=True)
    with pytest.raises(ValidationError, match="cannot see"):
        again(boat)
    again(boat, level="mast_down")
    assert held(boat) == []


def test_a_row_put_in_behind_the_rules_releases_nothing():
    """Whoever writes rows by hand: a second judgement by the first judge, or by the crew."""
    boat = rigged_boat()
    condemned(boat)
    for person, competence in (("A Rigger", "rigger"), ("B Crew", "crew")):
        look = inspect(boat, day(3), saw(part(boat), "not_seen", "whole", note="x"),
                       person=person, competence=competence)  # fmt: skip
        Rejudgement.objects.create(
            inspection=look, installation=part(boat), value="keep", saw="all well, sail on"
        )
        recording.judge([boat.pk])
        assert "replace" in held(boat)
        assert part(boat).condemned_on == day(0)


def test_the_crew_cannot_lift_by_a_later_clean_look_what_a_rigger_condemned():
    boat = rigged_boat()
    condemned(boat)
    inspect(boat, day(9), person="B Surveyor", competence="surveyor")
    assert "replace" in held(boat)


def test_found_again_after_the_second_look_it_is_condemned_anew():
    boat = rigged_boat()
    condemned(boat)
    again(boat)
    inspect(boat, day(20), saw(part(boat), "broken_wire", measure=2))
    assert part(boat).condemned_on == day(20)
    assert sorted(held(boat)) == ["pair", "replace"]
    with pytest.raises(ValidationError, match="another person"):
        again(boat, on=day(25), person="A Rigger", competence="rigger")


def test_judging_the_boat_anew_moves_nothing():
    boat = rigged_boat()
    condemned(boat)
    again(boat, WATCH)
    before = every_row()
    assert recording.judge([boat.pk]).changed == 0
    assert every_row() == before


def test_a_condemnation_that_did_not_stand_is_no_end_of_a_life():
    boat = rigged_boat()
    first = condemned(boat)

    def ends():
        sights = read_records(boat.fleet, day(60)).sights
        return int((sights["state"] == "condemned").sum())

    assert ends() == 1
    again(boat)
    assert ends() == 0
    assert PartVerdict.objects.get(inspection=first, installation=part(boat)).lower == "unresolved"


def test_the_second_look_counts_as_a_look_at_nothing_else():
    boat = rigged_boat()
    condemned(boat)
    look = again(boat)
    assert verdict(look, part(boat, "starboard")).value == "not_seen"
    assert not boat.inspections.whole().filter(pk=look.pk).exists()


def test_a_boat_held_for_a_condemned_stay_is_not_released_by_a_move_under_engine():
    boat = rigged_boat()
    condemned(boat)
    before = held(boat)
    happenings.record_move(
        boat, on=day(2), origin="Hollow Quay", destination="Loft Yard", skipper="Bo Sun",
        weather="calm, forecast calm",
    )  # fmt: skip
    recording.judge([boat.pk])
    assert held(boat) == before == ["replace", "pair"]


def test_a_move_entered_by_mistake_is_taken_back_and_said():
    boat = rigged_boat()
    move = happenings.record_move(
        boat, on=day(2), origin="Hollow Quay", destination="Loft Yard", skipper="Bo", weather="calm"
    )
    happenings.take_back_move(move)
    assert not boat.yard_moves.exists()
    assert "taken back" in boat.changes.get().what


def step_and_sign(boat):
    row = stepping.step(boat, day(2), "C Rigger", [code for code, _ in stepping.CHECKS], "")
    stepping.sign_second(row, day(2), "Bo Sun")
    stepping.retension(row, day(3), "Bo Sun")


def follow_a_recommendation(boat):
    report = advice.attach(boat, builders.pdf_file(), on=day(1), author="C Surveyor",
                           competence="surveyor")  # fmt: skip
    row = advice.recommend(report, text="Cap shroud is sound", installation=part(boat),
                           answers="Bo", by_when=day(9))  # fmt: skip
    advice.close(row, Closing("done", day(3), "Bo", "seen sound"))


def record_every_level_clean(boat):
    for number, level in enumerate(("deck", "aloft", "mast_down"), start=2):
        inspect(boat, day(number), level=level)


NO_RELEASE = (step_and_sign, follow_a_recommendation, record_every_level_clean)


@pytest.mark.parametrize("deed", NO_RELEASE, ids=lambda deed: deed.__name__)
def test_a_condemned_stay_still_holds_the_boat_after(deed):
    boat = rigged_boat()
    condemned(boat)
    deed(boat)
    recording.judge([boat.pk])
    assert "replace" in held(boat)


def test_a_move_is_recorded_after_it_was_made():
    boat = rigged_boat()
    with pytest.raises(ValidationError, match="still to come"):
        happenings.record_move(
            boat, on=builders.TODAY.replace(year=2027), origin="here", destination="there",
            skipper="Bo", weather="calm",
        )  # fmt: skip
