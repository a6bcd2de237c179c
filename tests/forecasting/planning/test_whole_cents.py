"""Amounts in whole cents: shares add to what was shared, and stay near their due."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.planning.whole_cents import shared, split


def test_the_cent_left_over_goes_to_the_largest_line():
    # 100.00 by 3 : 2 : 2 is 42.857.., 28.571.., 28.571..: by hand 42.85 + 28.57 + 28.57 leaves .01.
    assert shared(10_000, [3, 2, 2]) == [4_286, 2_857, 2_857]


def test_of_lines_alike_the_first_takes_it():
    assert shared(100, [1, 1, 1]) == [34, 33, 33]


@given(st.integers(-(10**9), 10**12), st.lists(st.integers(0, 10**7), min_size=1, max_size=40))
def test_shares_add_to_the_amount_and_miss_their_due_by_less_than_a_cent_a_line(amount, weights):
    if not sum(weights):
        weights = [*weights, 1]
    shares = shared(amount, weights)
    assert sum(shares) == amount
    due = [amount * weight / sum(weights) for weight in weights]
    assert all(abs(a - b) < len(weights) + 1e-3 for a, b in zip(shares, due, strict=True))
    assert all(share == 0 for share, w in zip(shares, weights, strict=True) if w == 0)


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1]])
def test_nothing_to_share_by_is_refused(weights):
    with pytest.raises(ValueError, match="shared by weights"):
        shared(100, weights)


def test_lines_of_many_boats_add_to_each_boats_rounded_total_every_year():
    rng = np.random.default_rng(3)
    whole = np.sort(rng.integers(0, 7, 90))
    lines = rng.gamma(1.0, 900.0, (90, 4)) * (rng.random((90, 4)) < 0.6)
    totals = np.zeros((7, 4))
    np.add.at(totals, whole, lines)
    rounded = np.rint(totals).astype(np.int64) + (totals > 5)
    amounts = split(rounded, lines, whole)
    back = np.zeros((7, 4), dtype=np.int64)
    np.add.at(back, whole, amounts)
    assert (back == rounded).all()
    assert np.abs(amounts - lines).max() < 2.1
    assert (amounts[lines == 0] == 0).all()
