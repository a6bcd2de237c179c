"""Maximum likelihood with a boat effect, from the plain maximum on."""

from dataclasses import dataclass

import numpy as np

from .boat_likelihood import BoatLikelihood
from .families import family_named
from .lives import Lives
from .newton import Maximum, maximise

FIRST_SPREAD = 0.2
MOST_ROUNDS = 20
SAME = 1e-7  # largest move of theta between two placings of the nodes
NEXT_TO_NONE = 0.005  # a spread of half a percent of life is none


@dataclass(frozen=True)
class BoatMaximum:
    """theta (k + 1,) with log spread last, standardised; scores (G, k + 1), each boat's."""

    maximum: Maximum
    boat_scores: np.ndarray


def maximise_with_boats(family: str, lives: Lives, plain: np.ndarray) -> BoatMaximum | None:
    """The maximum over theta and the spread of boats, or None where it is highest without any.

    plain: (k,) the maximum without a boat effect. The nodes of the quadrature are placed about each
    boat's mode, held while climbing, and placed anew until nothing moves.
    """
    likelihood = BoatLikelihood(family_named(family), lives)
    if likelihood.boats < 2 or likelihood.gain_of_spread(plain) <= 0:
        return None
    theta, centre, found = np.append(plain, np.log(FIRST_SPREAD)), None, None
    for _ in range(MOST_ROUNDS):
        held = likelihood.centred(theta, centre)
        found = maximise(held, theta)
        moved = np.abs(found.theta - theta).max()
        theta, centre = found.theta, held.centre
        if theta[-1] < np.log(NEXT_TO_NONE):
            return None
        if moved < SAME:
            break
    return BoatMaximum(found, held.boat_scores(theta))
