"""A chain where no proposal covers: right where the density is known, honest where it is lost."""

import numpy as np
import pytest

from forecasting.survival.chain import ENOUGH, chain
from forecasting.survival.importance import Proposal, Weighted
from tests.studies.fuzz import told

M = 6


def sliver(u: np.ndarray) -> np.ndarray:
    """Even over a box a thousand times longer than wide, standing askew; nothing outside."""
    along = u @ np.linalg.qr(np.vander(np.arange(1.0, M + 1)))[0]
    return np.where((np.abs(along / np.geomspace(1e-3, 1, M)) <= 1).all(axis=1), 0.0, -np.inf)


def from_a_corner(seed: int) -> Weighted:
    """A few draws of one corner: what a proposal that covers nothing leaves."""
    rng = np.random.default_rng(seed)
    u = Proposal.about(np.zeros(M), np.eye(M) * 1e-7).draws(500, rng)
    inside = np.isfinite(sliver(u))
    return Weighted(u, inside / inside.sum(), 8, 3000)


def test_a_sliver_that_proposals_miss_is_walked_through_end_to_end():
    turn = np.linalg.qr(np.vander(np.arange(1.0, M + 1)))[0]
    found = chain(sliver, from_a_corner(1), np.random.default_rng(2))
    sides = found.u @ turn / np.geomspace(1e-3, 1, M)
    assert found.ess >= ENOUGH
    assert sides.mean(axis=0) == pytest.approx(np.zeros(M), abs=0.12)
    assert sides.std(axis=0) == pytest.approx(np.full(M, 3**-0.5), abs=0.05)  # of a uniform
    again = chain(sliver, from_a_corner(1), np.random.default_rng(2))
    assert (again.u == found.u).all()


def test_a_chain_that_never_settles_is_called_poor(monkeypatch):
    """A ramp without a top: the walkers climb for ever."""
    monkeypatch.setattr("forecasting.survival.chain.BLOCKS", 1)
    ramp = chain(lambda u: u[:, 0] * 50.0, from_a_corner(1), np.random.default_rng(3))
    assert ramp.poor


def test_lives_that_are_told_to_the_week_are_fitted():
    """Twelve lives read to a fiftieth of a year under steep hazards: 51,000 draws, 4 of them count,
    and cumulated hazards of 1e10 that two engines must subtract alike."""
    assert told(1425) == ("posterior", "")
