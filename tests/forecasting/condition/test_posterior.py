"""Mean delay and detection from a panel: recovered, checked on a plain grid, refused in words."""

import numpy as np
import pytest
from scipy import stats

from forecasting.condition.delay import Delay, Likelihood
from forecasting.condition.posterior import Condition, Prior, fit, to_delay
from forecasting.survival import Refusal
from tests.forecasting.condition.spots import drawn, spots


@pytest.fixture(scope="module")
def found() -> Condition:
    condition = fit(drawn(1500, 3, delay=1.0, detection=0.7, false_watch=0.002))
    assert isinstance(condition, Condition)
    return condition


def test_a_drawn_panel_gives_back_what_it_was_drawn_with(found: Condition):
    for column, true in enumerate((1.0, 0.7, 0.002)):
        low, _, high = found.band(column)
        assert low < true < high


def test_the_grid_agrees_with_a_plain_grid_over_the_whole_prior():
    """24 x 24 x 12 points between the prior's own extremes, weighed by likelihood and prior."""
    panel, prior = drawn(150, 5, delay=1.0, detection=0.7, false_watch=0.002), Prior()
    condition, likelihood = fit(panel, needed=5), Likelihood(panel)
    delays, detections = np.geomspace(0.2, 6, 24), np.linspace(0.1, 0.98, 24)
    false = np.geomspace(1e-4, 0.03, 12)
    logs = np.array([
        [[likelihood(Delay(m, r, f)) for f in false] for r in detections] for m in delays
    ])  # fmt: skip
    logs += stats.norm.logpdf(np.log(delays), 0, prior.delay_log_sd)[:, None, None]
    logs += stats.beta.logpdf(detections, *prior.detection)[None, :, None]
    sd = prior.false_watch_log_sd
    logs += stats.norm.logpdf(np.log(false), np.log(prior.false_watch), sd)[None, None, :]
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    of_delay, of_detection = weights.sum(axis=(1, 2)), weights.sum(axis=(0, 2))
    mean, spread = _moments(np.log(delays), of_delay)
    assert np.log(condition.sample[:, 0]).mean() == pytest.approx(mean, abs=0.15 * spread)
    assert np.log(condition.sample[:, 0]).std() == pytest.approx(spread, rel=0.15)
    mean, spread = _moments(detections, of_detection)
    assert condition.sample[:, 1].mean() == pytest.approx(mean, abs=0.15 * spread)
    assert condition.sample[:, 1].std() == pytest.approx(spread, rel=0.15)


def _moments(values: np.ndarray, weights: np.ndarray) -> tuple[float, float]:
    mean = weights @ values
    return float(mean), float(np.sqrt(weights @ (values - mean) ** 2))


def test_few_watches_leave_most_to_common_practice_and_many_do_not(found: Condition):
    few = fit(drawn(40, 2, delay=1.0, detection=0.7, false_watch=0.002), needed=5)
    assert few.own_share < found.own_share
    low, _, high = few.band(0)
    narrow = found.band(0)
    assert high / low > narrow[2] / narrow[0]


def test_too_few_watches_are_refused_with_how_many_there_are_and_how_many_are_needed():
    watched = [(np.inf, [(4.0, True), (4.5, False)])] * 7
    once = [(np.inf, [(4.0, True)])] * 2
    sound = [(np.inf, [(4.0, False)])] * 50
    refused = fit(spots(*watched, *once, *sound))
    assert isinstance(refused, Refusal)
    assert refused.reason_code == "too_few_watches"
    assert refused.sentence.startswith("9 spots were judged watch and 7 of them looked at again")
    assert "20 are needed" in refused.sentence


def test_the_fewest_watches_can_be_set():
    watched = [(np.inf, [(4.0, True), (4.5, False)])] * 3
    gone = [(5.0, [(4.0, True)])] * 4
    panel = spots(*watched, *gone, *[(np.inf, [(4.0, False), (6.0, False)])] * 60)
    assert isinstance(fit(panel, needed=8), Refusal)
    assert isinstance(fit(panel, needed=7), Condition)


def test_an_empty_record_is_refused_and_not_guessed():
    assert isinstance(fit(spots((np.inf, [(4.0, None)]))), Refusal)


def test_the_same_panel_gives_the_same_numbers_in_any_order_of_its_spots():
    panel = drawn(300, 9, delay=0.8, detection=0.6, false_watch=0.001)
    turned = panel.take(np.arange(300)[::-1])
    once, again, other = fit(panel, needed=5), fit(panel, needed=5), fit(turned, needed=5)
    assert np.array_equal(once.sample, again.sample)
    assert once.band(0) == pytest.approx(other.band(0), rel=1e-3)


def test_what_is_stored_comes_back(found: Condition):
    back = Condition.from_dict(found.to_dict())
    assert back.sample == pytest.approx(found.sample, abs=1e-6)
    assert (back.watches, back.followed, back.went) == (found.watches, found.followed, found.went)


def test_a_delay_counts_from_its_logarithms():
    assert to_delay(np.array([0.0, 0.0, np.log(0.01)])) == Delay(1.0, 0.5, pytest.approx(0.01))
