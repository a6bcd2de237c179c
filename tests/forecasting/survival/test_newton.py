"""The ascent ends where nothing is left to gain, also when score and value differ a little."""

import numpy as np
import pytest

from forecasting.survival.likelihood import Evaluation
from forecasting.survival.newton import MOST_STEPS, maximise


class Hill:
    """-t^2 / 2 with a score that is zero at `off`, as quadrature on moving nodes leaves it."""

    def __init__(self, off: float) -> None:
        self.off, self.asked = off, 0

    def __call__(self, theta: np.ndarray) -> Evaluation:
        self.asked += 1
        value = -0.5 * float(theta @ theta)
        return Evaluation(value, self.off - theta, -np.eye(len(theta)))


def test_an_ascent_that_gains_nothing_ends_and_does_not_creep_on():
    hill = Hill(off=1e-4)
    top = maximise(hill, np.array([0.0]))
    assert hill.asked < MOST_STEPS
    assert not top.settled
    assert abs(top.theta[0]) < 1e-3


def test_an_exact_hill_is_climbed_and_proved():
    hill = Hill(off=0.0)
    top = maximise(hill, np.array([3.0]))
    assert top.settled
    assert top.theta[0] == pytest.approx(0, abs=1e-9)
    assert hill.asked < 10
