"""The refit list: which rule puts a part on it, what the mast-down set-up does, and its totals."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.planning.refit import (
    RefitBoats,
    RefitParts,
    RefitRules,
    pair_codes,
    refit_list,
)


def parts(*given):
    """Parts of 100.00 with 4 hours mast up, 2 down; quiet unless a rule is given."""
    quiet = {
        "part": 1,
        "boat": 1,
        "kind": "wire",
        "pair": -1,
        "age": 5.0,
        "condemned": False,
        "rule_age": np.inf,
        "cost_age": 20.0,
        "chance": 0.02,
        "failing": 0.0,
        "price": 10_000,
        "hours_up": 4.0,
        "hours_down": 2.0,
        "unplanned": 50_000,
        "failure": 1_000_000,
        "yearly_cost": 3_000,
        "needs_mast_down": False,
    }
    rows = [{**quiet, "part": i + 1, **row} for i, row in enumerate(given)]
    return RefitParts(**{name: np.array([row[name] for row in rows]) for name in quiet})


def boats(n=1, **given):
    usual = {
        "boat": np.arange(1, n + 1),
        "base": np.ones(n, int),
        "season_end": np.full(n, 1.0),
        "set_up_cost": np.full(n, 80_000),
        "set_up_hours": np.full(n, 6.0),
        "hour_rate": np.full(n, 5_000),
        "unstepped": np.zeros(n, bool),
    }
    return RefitBoats(**{**usual, **given})


def reasons(plan):
    return {job.part: job.reason for job in plan.jobs}


def test_a_quiet_part_is_not_listed():
    assert refit_list(parts({}), boats()).boats == ()


def test_a_condemned_part_comes_first_and_may_not_be_put_off():
    plan = refit_list(parts({"rule_age": 5.5}, {"condemned": True}), boats())
    first, second = plan.jobs
    assert (first.part, first.reason, first.deferral, first.chance) == (2, "condemned", None, 1.0)
    assert "not to be loaded" in first.sentence
    assert second.deferral > 0


@pytest.mark.parametrize(
    ("part", "reason"),
    [
        ({"age": 9.5, "rule_age": 10.0}, "rule_age"),
        ({"age": 8.9, "rule_age": 10.0}, None),
        ({"age": 9.5, "cost_age": 10.0}, "cost_age"),
        ({"age": 8.9, "cost_age": 10.0}, None),
        ({"age": 9.5, "rule_age": 10.0, "cost_age": 10.0}, "rule_age"),
    ],
)
def test_an_age_counts_when_it_is_reached_before_the_seasons_end(part, reason):
    assert reasons(refit_list(parts(part), boats())).get(1) == reason


def test_waiting_stops_paying_where_it_costs_more_than_a_year_of_a_new_part():
    # Planned, mast up: 100.00 + 4 h at 50.00 = 300.00; unplanned 500.00, so 200.00 dearer. By
    # hand: .14 x 200 + .0001 x 10,000 = 29.00 a season, .16: 33.00; a new part costs 30.00 a year.
    risk = {"failing": 0.0001}
    assert reasons(refit_list(parts({"chance": 0.14, **risk}), boats())) == {}
    plan = refit_list(parts({"chance": 0.16, **risk}), boats())
    assert reasons(plan) == {1: "waiting"}
    assert plan.jobs[0].deferral == 3_300
    assert plan.jobs[0].cost == 30_000


def test_failing_in_service_alone_can_stop_waiting():
    assert reasons(refit_list(parts({"failing": 0.004}), boats())) == {1: "waiting"}


def test_a_part_that_does_not_wear_out_is_inspected_and_kept():
    kept = {"cost_age": np.inf, "chance": 0.9}
    assert refit_list(parts(kept), boats()).jobs == ()


def test_both_sides_of_a_pair_go_together():
    # Common practice, trade press: both sides of a pair are renewed together.
    plan = refit_list(parts({"condemned": True, "pair": 7}, {"pair": 7}, {"pair": 8}), boats())
    assert reasons(plan) == {1: "condemned", 2: "pair"}
    assert plan.jobs[1].deferral is not None


def test_a_fleet_may_spare_a_new_partner():
    rules = RefitRules(spare_partner_under=2.0)
    given = parts({"condemned": True, "pair": 7}, {"pair": 7, "age": 1.0})
    assert reasons(refit_list(given, boats(), rules)) == {1: "condemned"}
    assert reasons(refit_list(given, boats())) == {1: "condemned", 2: "pair"}


def test_pairs_are_port_and_starboard_wires_of_one_place():
    stay = np.array(["cap_shroud", "cap_shroud", "forestay", "cap_shroud", "cap_shroud", "diamond"])
    side = np.array(["port", "starboard", "", "port", "starboard", "port"])
    kind = np.array(["wire", "wire", "wire", "turnbuckle", "turnbuckle", "wire"])
    code = pair_codes(np.ones(6, int), stay, np.full(6, "main"), side, kind)
    assert code[0] == code[1] >= 0
    assert code[2:].tolist() == [-1] * 4


def test_pairs_do_not_reach_across_boats_or_masts():
    stay, side, kind = (
        np.full(4, "cap_shroud"),
        np.tile(["port", "starboard"], 2),
        np.full(4, "wire"),
    )
    boat, mast = np.array([1, 2, 1, 1]), np.array(["main", "main", "mizzen", "mizzen"])
    code = pair_codes(boat, stay, mast, side, kind)
    assert code[:2].tolist() == [-1, -1]
    assert code[2] == code[3] >= 0


def test_up_to_four_wires_are_renewed_mast_up_at_their_own_hours():
    plan = refit_list(parts(*[{"condemned": True}] * 4), boats())
    boat = plan.boats[0]
    assert not boat.mast_down
    assert (boat.hours, boat.cost) == (16.0, 4 * 30_000)


def test_five_wires_share_one_mast_down_set_up():
    plan = refit_list(parts(*[{"condemned": True}] * 5), boats())
    boat = plan.boats[0]
    assert boat.mast_down
    assert (boat.set_up_hours, boat.set_up_cost) == (6.0, 80_000)
    assert (boat.hours, boat.cost) == (6 + 5 * 2, 80_000 + 5 * 20_000)
    assert all(job.hours == 2.0 for job in boat.jobs)


def test_one_part_that_needs_the_mast_down_brings_it_down():
    plan = refit_list(parts({"condemned": True, "needs_mast_down": True}), boats())
    assert plan.boats[0].mast_down
    assert plan.cost == 80_000 + 20_000


def test_a_mast_that_comes_down_anyway_is_not_charged_to_the_refit():
    plan = refit_list(parts({"condemned": True}), boats(unstepped=np.array([True])))
    assert plan.boats[0].mast_down
    assert (plan.hours, plan.cost) == (2.0, 20_000)


def test_turnbuckles_do_not_bring_the_mast_down():
    plan = refit_list(parts(*[{"condemned": True, "kind": "turnbuckle"}] * 9), boats())
    assert not plan.boats[0].mast_down


def test_totals_of_boats_and_bases_add():
    given = parts(
        {"condemned": True, "boat": 1},
        {"condemned": True, "boat": 2, "price": 3_333},
        {"condemned": True, "boat": 3, "needs_mast_down": True},
        {"boat": 2, "chance": 0.5, "hours_up": 1.33, "hours_down": 0.66},
    )
    plan = refit_list(given, boats(3, base=np.array([1, 2, 1])))
    assert [boat.boat for boat in plan.boats] == [1, 2, 3]
    assert [(b.base, b.boats, b.jobs) for b in plan.bases] == [(1, 2, 2), (2, 1, 2)]
    assert sum(b.cost for b in plan.bases) == sum(b.cost for b in plan.boats) == plan.cost
    assert sum(b.hours for b in plan.bases) == pytest.approx(plan.hours)
    assert all(isinstance(job.cost, int) for job in plan.jobs)
    assert sum(b.deferral for b in plan.bases) == plan.boats[1].deferral > 0


def test_every_job_says_why():
    given = parts(
        {"age": 9.5, "rule_age": 10.0},
        {"age": 9.5, "cost_age": 9.9},
        {"chance": 0.4, "pair": 3},
        {"pair": 3},
    )
    said = {job.reason: job.sentence for job in refit_list(given, boats()).jobs}
    assert said["rule_age"] == "10.5 years old by the season's end; the rule is to renew at 10."
    assert "9.9 costs least" in said["cost_age"]
    assert said["waiting"].startswith("40% likely to be condemned")
    assert "both go together" in said["pair"]


def test_a_fleet_all_condemned_is_listed_whole():
    given = parts(*[{"condemned": True, "boat": b} for b in (1, 1, 2, 2)])
    plan = refit_list(given, boats(2))
    assert len(plan.jobs) == 4
    assert sum(boat.deferral for boat in plan.boats) == 0


def test_an_empty_fleet_has_an_empty_list():
    one_part = parts({})
    none = RefitParts(**{k: v[:0] for k, v in vars(one_part).items()})
    assert refit_list(none, boats()).bases == ()


def test_a_part_on_a_boat_that_is_not_given_is_refused():
    with pytest.raises(ValueError, match="Boat 9"):
        refit_list(parts({"boat": 9}), boats())


def test_order_of_the_parts_does_not_matter():
    given = parts({"condemned": True}, {"chance": 0.5}, {"chance": 0.7}, {"age": 30.0})
    turned = replace(given, **{k: v[::-1] for k, v in vars(given).items()})
    assert refit_list(turned, boats()) == refit_list(given, boats())
