"""From looks on record to what becomes of a watch: what counts, what is refused, what is kept."""

import datetime as dt

import numpy as np
import pytest

from forecasting import life_data, refresh
from forecasting.condition.delay import Delay, Likelihood
from forecasting.models import ConditionRun, FailingRate, LookInterval, PartOutlook
from forecasting.steps import watches
from forecasting.survival import rule_of_thumb
from inspections.models import PartVerdict
from tests.forecasting.history import ALL_GOOD, AS_OF, STAYS, History

pytestmark = pytest.mark.django_db
AT = Delay(1.0, 0.7, 0.002)
MODEL = rule_of_thumb(kind="wire")


def panel_of(history: History):
    records = life_data.read(history.fleet, AS_OF)
    table = life_data.lives(history.fleet, "wire", AS_OF, records)
    return watches.panel_of_lives(records, table, MODEL)


def watch(history: History, on: str, part, *spots: str, **states: str) -> None:
    look = history.look(on, (part, ALL_GOOD | states))
    PartVerdict.objects.filter(inspection=look).update(watched=list(spots), value="watch")


def watched_fleet(boats: int = 8, **rules) -> History:
    """Boats of three wires: on each the first is watched, and on half of them condemned later."""
    history = History("watched", **rules)
    for i in range(boats):
        boat = history.boat(f"Boat {i}", complete_since="2012-01-01")
        parts = [
            history.part(boat, "2012-01-01", stay=stay, side=side, construction="1x19",
                         lower_terminal="swaged", diameter_mm=8)
            for stay, side in STAYS[:3]
        ]  # fmt: skip
        for year in range(2014, 2025, 2):
            history.look(f"{year}-03-01", *((part, ALL_GOOD) for part in parts))
        watch(history, "2024-09-01", parts[0], "lower")
        if i % 2:
            history.look("2025-06-01", (parts[0], {"lower": "condemned"}))
        else:
            history.look("2025-06-01", (parts[0], ALL_GOOD))
    return history


def test_a_watch_is_counted_at_its_spot_and_at_no_other():
    history = History()
    part = history.part(history.boat(complete_since="2010-01-01"), construction="1x19")
    history.look("2014-01-01", (part, ALL_GOOD))
    watch(history, "2016-01-01", part, "upper")
    panel = panel_of(history)
    assert panel.watches == 1
    assert np.nanmax(panel.watched) == pytest.approx(6.0, abs=0.01)
    assert sorted(panel.reports.tolist()) == [2, 2, 2]


def test_a_look_that_did_not_see_the_spot_changes_nothing():
    history = History()
    part = history.part(history.boat(complete_since="2010-01-01"), construction="1x19")
    history.look("2014-01-01", (part, ALL_GOOD))
    watch(history, "2016-01-01", part, "upper")
    before = panel_of(history)
    history.look("2017-01-01", (part, {}))
    after = panel_of(history)
    assert after.fingerprint == before.fingerprint
    assert Likelihood(after)(AT) == Likelihood(before)(AT)


def test_the_order_in_which_looks_of_one_day_are_recorded_changes_nothing():
    panels = []
    for order in (1, -1):
        history = History(f"order{order}")
        part = history.part(history.boat(complete_since="2010-01-01"), construction="1x19")
        for level in ("deck", "aloft")[::order]:
            seen = ALL_GOOD if level == "aloft" else {"lower": "good"}
            look = history.look("2015-01-01", (part, seen), level=level)
            spots = ["lower"] if level == "deck" else []
            PartVerdict.objects.filter(inspection=look).update(watched=spots)
        panels.append(panel_of(history))
    assert panels[0].fingerprint == panels[1].fingerprint
    assert panels[0].watches == 1


def test_the_look_that_condemned_the_wire_says_of_its_other_spots_only_that_they_stood():
    history = History()
    part = history.part(history.boat(complete_since="2010-01-01"), construction="1x19")
    history.look("2014-01-01", (part, ALL_GOOD))
    watch(history, "2016-01-01", part, "upper", lower="condemned")
    panel = panel_of(history)
    assert panel.watches == 0
    assert panel.reports.max() == 1
    assert np.isfinite(panel.condemned).sum() == 1


@pytest.mark.parametrize(("construction", "spots"), [("1x19", 3), ("rod", 2), ("fibre", 0)])
def test_spots_at_which_no_sign_leads_to_watch_are_left_out(construction: str, spots: int):
    """Rust at the mouth is watched at the ends of rod; nothing is watched on its run, or on rope:
    so the fleet's criteria, common practice, no source."""
    history = History()
    part = history.part(history.boat(complete_since="2010-01-01"), construction=construction)
    history.look("2014-01-01", (part, ALL_GOOD))
    assert len(panel_of(history).good) == spots


def test_too_few_watches_are_refused_in_words_and_forecast_like_any_other_spot():
    history = watched_fleet()
    refresh.run(history.fleet, AS_OF)
    run = ConditionRun.objects.of(history.fleet).get()
    assert run.state == ConditionRun.State.REFUSED
    assert run.sentence.startswith("8 spots were judged watch and 8 of them")
    assert "20 are needed" in run.sentence
    assert not LookInterval.objects.of(history.fleet).exists()
    assert not run.in_force


def test_enough_watches_tell_what_becomes_of_one_and_how_often_to_look():
    history = watched_fleet(watches_needed=8)
    refresh.run(history.fleet, AS_OF)
    run = ConditionRun.objects.of(history.fleet).in_force().get()
    assert (run.watches, run.followed, run.went) == (8, 8, 4)
    assert run.sentence.startswith("8 spots were judged watch; 8 were looked at again")
    looks = {row.level: row for row in LookInterval.objects.of(history.fleet)}
    assert set(looks) == {"deck", "aloft"}
    assert all(0 < row.low <= row.middle <= row.high for row in looks.values())


def test_a_watched_part_is_likelier_condemned_than_its_neighbour_and_says_since_when():
    history = watched_fleet(watches_needed=8)
    refresh.run(history.fleet, AS_OF)
    standing = PartOutlook.objects.of(history.fleet).filter(condemned=False)
    watched = standing.exclude(watched={})
    assert {row.watched["lower"] for row in watched} == {"2024-09-01"}
    assert watched.count() == 4
    likeliest = max(row.chance_1y for row in standing.filter(watched={}))
    assert min(row.chance_1y for row in watched) > likeliest


def test_refreshing_again_changes_nothing_and_a_new_watch_is_read():
    history = watched_fleet(watches_needed=8)
    refresh.run(history.fleet, AS_OF)
    before = list(ConditionRun.objects.values())
    assert refresh.run(history.fleet, AS_OF).rewritten == 0
    assert list(ConditionRun.objects.values()) == before
    part = history.part(history.boat("New", complete_since="2010-01-01"), construction="1x19")
    watch(history, "2024-01-01", part, "run")
    refresh.run(history.fleet, AS_OF)
    assert ConditionRun.objects.count() == 2
    assert ConditionRun.objects.of(history.fleet).in_force().get().watches == 9


def test_a_refusal_leaves_the_last_good_reading_in_force_with_its_date():
    history = watched_fleet(watches_needed=8)
    refresh.run(history.fleet, AS_OF - dt.timedelta(days=30))
    history.fleet.watches_needed = 30
    refresh.run(history.fleet, AS_OF)
    newest = ConditionRun.objects.of(history.fleet).first()
    in_force = ConditionRun.objects.of(history.fleet).in_force().get()
    assert newest.state == ConditionRun.State.REFUSED
    assert in_force.as_of == AS_OF - dt.timedelta(days=30)
    assert LookInterval.objects.of(history.fleet).exists()


def test_the_rate_of_breaking_is_kept_with_what_it_rests_on():
    history = watched_fleet(watches_needed=8)
    refresh.run(history.fleet, AS_OF)
    rate = FailingRate.objects.of(history.fleet).get()
    assert rate.breakages == 0
    assert rate.rate == pytest.approx(10 / (300 + rate.seasons))
    assert 0 < rate.chance < 1
