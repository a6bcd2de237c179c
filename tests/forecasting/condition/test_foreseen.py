"""The doubt of the reports in the bounds of a watched wire, and the same chance in its budget."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.condition.foreseen import AHEAD
from forecasting.condition.outlook import foreseen
from forecasting.condition.panel import Law, panel
from forecasting.condition.posterior import Condition
from forecasting.planning.budget import Prices, budget
from forecasting.planning.inspect_by import inspect_by
from forecasting.planning.ledger import fiscal_years
from forecasting.planning.outlook import outlook
from forecasting.planning.renewals import Policy
from forecasting.planning.spots import Standing
from tests.forecasting.planning.rigs import table, weibull, wire

BOATS, DRAWS = 50, 400
RUN, UPPER = 0.46, 0.29  # on log life: hazard shares of about .60 / .15 / .25
MODELS = {
    "wire": weibull(3, 14, {"run": RUN, "upper": UPPER}, np.diag([0.05, 0.1, 0.1, 0.12]) ** 2)
}


def condition(doubt: float) -> Condition:
    """Delay of a year, detection 2/3, false watches .01, each as doubtful as `doubt` says."""
    rng = np.random.default_rng(1)
    delay, false_watch = np.exp(doubt * rng.normal([0.0, 0.0], [0.5, 0.7], (400, 2))).T
    detection = np.clip(2 / 3 + doubt * 0.1 * rng.normal(size=400), 0.05, 0.95)
    return Condition(np.column_stack((delay, detection, 0.01 * false_watch)), 99, 50, 40, 30, 1.0)


def wires(lower_watched: bool, doubt: float = 1.0, boats: int = BOATS) -> Standing:
    """A wire nine years old on each boat, its three spots looked at twice in the year before last
    summer; the lower end was judged watch at the second look, or nothing was."""
    rows = [row for b in range(boats) for row in wire(part=b, boat=b, age=9.0, since=(0.5,) * 3)]
    standing = table(rows)
    spot = np.repeat(np.arange(3 * boats), 2)
    watch = (np.arange(6 * boats) % 6 == 1) & lower_watched
    law = Law("weibull", np.log(14) + np.tile([0.0, RUN, UPPER], boats), 1 / 3)
    reports = spot, np.tile([8.0, 8.5], 3 * boats), watch
    said = panel(np.full(3 * boats, 8.5), np.full(3 * boats, np.inf), reports, law)
    row, ages = np.arange(3 * boats), np.full(3 * boats, 9.0)
    return replace(standing, foreseen=foreseen(condition(doubt), said, ages, row))


def test_the_doubt_of_the_delay_widens_the_bounds_of_a_watched_wire_and_leaves_its_mean():
    sure, doubtful = (outlook(MODELS, wires(True, d, 1)).part_condemned for d in (1e-9, 1.0))
    width = [(each.high - each.low)[0, 1] for each in (sure, doubtful)]
    assert width[1] > 1.3 * width[0]
    assert doubtful.low[0, 1] < sure.mean[0, 1] < doubtful.high[0, 1]
    assert doubtful.mean[0, 1] == pytest.approx(sure.mean[0, 1], abs=0.06)


def test_a_wire_looked_at_and_never_watched_keeps_the_life_models_bounds():
    sure, doubtful = (outlook(MODELS, wires(False, d, 1)).part_condemned for d in (1e-9, 1.0))
    assert (doubtful.high - doubtful.low) == pytest.approx(sure.high - sure.low, rel=0.25)


def test_the_chance_a_boat_is_looked_at_for_is_that_of_all_draws_of_the_reports():
    found = inspect_by(MODELS, wires(True, boats=1), limit=0.15)
    assert (
        0.15
        < found.chance[0]
        == pytest.approx(outlook(MODELS, wires(True, boats=1)).boat_condemned.mean[0, 0], abs=0.02)
    )


@pytest.mark.parametrize("lower_watched", [True, False])
def test_the_budget_expects_as_many_renewals_as_the_outlook_gives_chances(lower_watched: bool):
    """Everything is opened at the end of the second and fourth year: what is found is condemned."""
    standing, years = wires(lower_watched), np.array([2.0, 4.0])
    chance = outlook(MODELS, standing, horizons=tuple(years), draws=DRAWS).part_condemned.mean
    for when, expected in zip(years, chance.mean(axis=0), strict=True):
        found = _renewed(standing, when) / BOATS
        error = np.sqrt(expected * (1 - expected) / (BOATS * DRAWS))
        assert found == pytest.approx(expected, abs=4 * error + 0.002)


def _renewed(standing: Standing, opened: float) -> float:
    """Expected parts condemned when everything is opened so many years from today, once."""
    parts, boats = np.ones(BOATS), np.ones(BOATS)
    policy = Policy(
        renew_at=parts * np.inf,
        booked=parts < 0,
        renewed_with=np.arange(BOATS),
        joins=boats * 0,
        leaves=boats * np.inf,
        first_refit=boats * 0,
        inspections={"mast_down": (boats * opened, boats * 1000)},
    )
    prices = Prices(parts * 100, parts * 100, parts < 0, boats * 0)
    years = fiscal_years(0.0, [str(n) for n in range(int(opened) + 1)])
    found = budget(MODELS, standing, policy, prices, years, draws=DRAWS)
    return float(found.fleet.renewed[1, 0, int(opened)])


def test_what_is_foreseen_of_a_watched_wire_never_falls_with_time():
    horizons = tuple(AHEAD[:-2])
    chance = outlook(MODELS, wires(True, boats=1), horizons=horizons).part_condemned
    for curve in (chance.low[0], chance.mean[0], chance.high[0]):
        assert np.all(np.diff(curve) > 0)
