"""Where a curve is not that of its own lives, it says so."""

import numpy as np
import pytest

from forecasting.survival import Lives
from forecasting.survival.thin_ages import said_of_thin_ages, watched_between


def looked_at() -> Lives:
    """Twelve watched from 2 to 10, one from new, two to 20."""
    return Lives(
        entry=np.r_[np.full(12, 2.0), 0.0, 2.0, 2.0], good=np.r_[np.full(12, 10.0), 10, 20, 20]
    )


def test_enough_are_watched_between_two_ages():
    assert watched_between(looked_at()) == (2.0, 10.0)
    assert watched_between(looked_at(), enough=2) == (2.0, 20.0)
    assert watched_between(looked_at(), enough=16) is None


def test_weights_count_as_so_many_lives():
    assert watched_between(Lives([0.0], [7.0], weight=[10.0])) == (0.0, 7.0)
    assert watched_between(Lives([0.0], [7.0], weight=[9.0])) is None


@pytest.mark.parametrize(
    ("ages", "given", "says"),
    [
        ((5, 12, 30), 3, ["at 12, 30 is extrapolated: beyond 10"]),
        ((5,), 0, ["Before 2 fewer than 10"]),
        ((5, 9), 3, []),
    ],
)
def test_a_survival_outside_is_said_to_be_extrapolated(ages, given, says):
    said = said_of_thin_ages(looked_at(), ages, given)
    assert len(said) == len(says)
    assert all(word in sentence for word, sentence in zip(says, said, strict=True))


def test_a_handful_of_lives_is_said_to_be_one():
    assert "Fewer than 10" in said_of_thin_ages(Lives([0.0], [7.0]), (3.0,))[0]
