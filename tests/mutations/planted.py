"""The faults: where each is planted, and the test that has to find it.

The first seven are those a survival analysis of inspected parts goes wrong by; the others are ways
this program could.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One fault. ``old`` must stand exactly once in the file; ``test`` is green without it."""

    name: str
    file: str
    old: str
    new: str
    test: str


SURVIVAL = "forecasting/survival"
LIFE_DATA = "forecasting/life_data"
SEASONS, YARD = "forecasting/planning/seasons", "forecasting/planning/yard"
TESTS = "tests/forecasting"

FAULTS = (
    Fault(
        "bounds swapped",
        f"{SURVIVAL}/likelihood.py",
        "self.log_lower = np.log(lives.good[self.between])\n"
        "            self.log_upper = np.log(lives.condemned[self.between])",
        "self.log_lower = np.log(lives.condemned[self.between])\n"
        "            self.log_upper = np.log(lives.good[self.between])",
        f"{TESTS}/survival/test_likelihood.py::test_each_row_gives_what_its_ending_says",
    ),
    Fault(
        "entry dropped",
        f"{SURVIVAL}/likelihood.py",
        "self.late = np.flatnonzero(lives.entry > 0)",
        "self.late = np.flatnonzero(lives.entry < 0)",
        f"{TESTS}/survival/test_published_fits.py",
    ),
    Fault(
        "ages from joining, not from fitting",
        f"{LIFE_DATA}/table.py",
        'return (day - found["fitted"]).dt.days / YEAR_DAYS',
        "return (day - start).dt.days / YEAR_DAYS",
        f"{TESTS}/test_life_data.py",
    ),
    Fault(
        "age renewals counted as deaths",
        f"{LIFE_DATA}/spots.py",
        "DEATH_AT_REMOVAL = (Removal.CONDEMNED,",
        "DEATH_AT_REMOVAL = (Removal.AGE_RULE, Removal.CONDEMNED,",
        f"{TESTS}/test_life_data.py::test_a_renewal_for_another_reason_is_no_death",
    ),
    Fault(
        "conditioned on today, not on the last sight",
        "forecasting/planning/spots.py",
        "seen = np.maximum(age - self.since_good[rows], 0.0)",
        "seen = np.maximum(age - 0.0 * self.since_good[rows], 0.0)",
        f"{TESTS}/planning/test_outlook.py"
        "::test_the_chance_is_conditioned_on_the_last_sight_never_on_today",
    ),
    Fault(
        "counts by the estimate alone",
        f"{SURVIVAL}/model.py",
        "theta = self.estimate + rng.standard_normal((n, len(self.names))) @ spread.T",
        "theta = self.estimate + 0 * rng.standard_normal((n, len(self.names))) @ spread.T",
        f"{TESTS}/planning/test_budget_theory.py"
        "::test_the_draws_of_a_fit_widen_the_bounds_of_a_count",
    ),
    Fault(
        "looks after the day of a back-test leak into it",
        f"{LIFE_DATA}/records.py",
        "inspection__boat__fleet=fleet, inspection__on__lte=as_of",
        "inspection__boat__fleet=fleet",
        f"{TESTS}/test_back_testing.py::test_what_is_recorded_later_changes_no_forecast_and_a_planted_leak_is_found",
    ),
    Fault(
        "alive at today, not at the last sight",
        f"{LIFE_DATA}/table.py",
        'found["good"] = age(found["last_good"]).fillna(0).clip(lower=found["entry"])',
        'found["good"] = age(pd.Series(pd.Timestamp(records.as_of), found.index))'
        '.fillna(0).clip(lower=found["entry"])',
        f"{TESTS}/test_life_data.py::test_standing_unseen_until_today_says_nothing",
    ),
    Fault(
        "late entry outside the mean over boats",
        f"{SURVIVAL}/boat_likelihood.py",
        "location = self.design @ theta[:-2] + np.exp(theta[-1]) * z[self.boat]",
        "location = self.design @ theta[:-2] + np.exp(theta[-1]) * np.abs(z[self.boat])",
        f"{TESTS}/survival/test_boat_likelihood.py::test_each_boat_adds_the_integral_over_its_effect",
    ),
    Fault(
        "errors by boat without G / (G - 1)",
        f"{SURVIVAL}/fit.py",
        "return scores.T @ scores * count / (count - 1)",
        "return scores.T @ scores",
        f"{TESTS}/survival/test_published_fits.py",
    ),
    Fault(
        "the prior forgotten in the posterior",
        f"{SURVIVAL}/posterior.py",
        "value = self.prior.values(phi) + self.likelihood.values(self.prior.theta(phi))",
        "value = self.likelihood.values(self.prior.theta(phi))",
        f"{TESTS}/survival/test_posterior.py",
    ),
    Fault(
        "the failing of a stay left out of what waiting costs",
        f"{SEASONS}/tableau.py",
        "cost = parts.chance * dearer + parts.failing * parts.failure[:, None]",
        "cost = parts.chance * dearer + 0 * parts.failing * parts.failure[:, None]",
        f"{TESTS}/planning/seasons/test_brute_force.py"
        "::test_the_planner_finds_the_plan_that_trying_them_all_finds",
    ),
    Fault(
        "a boat put into the yard while it is away with guests",
        f"{YARD}/problem.py",
        "if not work.must and any(w in work.guests for w in stands):",
        "if not work.must and week in work.guests:",
        f"{TESTS}/planning/yard/test_brute_force.py"
        "::test_no_plan_of_a_small_yard_is_better_than_the_one_found",
    ),
    Fault(
        "a planned renewal of a group that costs nothing",
        "forecasting/planning/group_ages.py",
        "rates = (late @ one - (late - soon) @ alive) / planned.size",
        "rates = (late @ one - late @ alive) / planned.size",
        f"{TESTS}/planning/test_group_ages.py",
    ),
    Fault(
        "one part of a group for all of them",
        "forecasting/planning/group_ages.py",
        "middle = order[((np.arange(SLICES) + 0.5) * order.size / SLICES).astype(int)]",
        "middle = order[np.zeros(SLICES, dtype=int)]",
        f"{TESTS}/planning/test_group_ages.py::test_a_large_group_is_told_by_the_few_that_stand_for_it",
    ),
)
