"""Damped Newton ascent on a log-likelihood with exact first and second derivatives."""

from dataclasses import dataclass

import numpy as np

from .likelihood import Evaluation, Likelihood

MOST_STEPS = 200
LONGEST_MOVE = 2.0  # of any parameter in one step, on the standardised scale
FARTHEST_LOG_SIGMA = 12.0
SETTLED = 1e-7  # largest move of the last full step
CREEPING = 1e-3  # of a Newton step
NO_GAIN, PATIENCE = 1e-11, 3  # so many steps that gain nothing are the end
NEAR_ZERO = 1e-6  # largest score, in standard errors
LEAST_INFORMATION = 1e-11  # smallest eigenvalue of the information scaled to unit diagonal


@dataclass(frozen=True)
class Maximum:
    """Where the ascent ended: theta (k,), its evaluation, and whether it proved to be a maximum."""

    theta: np.ndarray
    at: Evaluation
    last_move: np.ndarray
    settled: bool


def maximise(likelihood: Likelihood, start: np.ndarray, most_steps: int = MOST_STEPS) -> Maximum:
    """Climb from start. The optimiser's own word is not the proof: see `is_maximum`."""
    theta, at = start, likelihood(start)
    if not at.finite:
        return Maximum(theta, at, np.full(len(theta), np.inf), settled=False)
    move, creeping = newton_move(at), 0
    for _ in range(most_steps):
        longest = np.abs(move).max()
        if longest < SETTLED:
            theta = theta + move
            at = likelihood(theta)
            break
        step = climb(likelihood, theta, at, move * min(1.0, LONGEST_MOVE / longest))
        if step is None or abs(step[0][-1]) > FARTHEST_LOG_SIGMA:
            break
        creeping = creeping + 1 if step[1].value - at.value < NO_GAIN * (1 + abs(at.value)) else 0
        theta, at = step
        move = newton_move(at)
        if creeping == PATIENCE:
            break
    return Maximum(theta, at, move, is_maximum(at, move))


def newton_move(at: Evaluation) -> np.ndarray:
    """-H^-1 g with the eigenvalues of -H made positive, so that every move points uphill."""
    scale = 1 / np.sqrt(np.maximum(np.abs(np.diag(at.hessian)), 1e-300))
    values, vectors = np.linalg.eigh(-at.hessian * np.outer(scale, scale))
    size = np.maximum(np.abs(values), 1e-12)
    return scale * (vectors @ ((vectors.T @ (scale * at.score)) / size))


def climb(
    likelihood: Likelihood, theta: np.ndarray, at: Evaluation, move: np.ndarray
) -> tuple[np.ndarray, Evaluation] | None:
    """The first of move, move/2, move/4 ... that climbs enough; None if rounding leaves none.

    A long step may end as high as it began but for rounding; a short one must climb, or the ascent
    would creep along where value and score differ by what quadrature leaves.
    """
    promised = float(move @ at.score)
    slack = 1e-13 * (1 + abs(at.value))
    fraction = 1.0
    while fraction > 1e-12:
        trial = theta + fraction * move
        reached = likelihood(trial)
        allowed = slack if fraction > CREEPING else 0.0
        if reached.finite and reached.value >= at.value + 1e-4 * fraction * promised - allowed:
            return trial, reached
        fraction /= 2
    return None


def is_maximum(at: Evaluation, move: np.ndarray) -> bool:
    """Score near zero, Hessian negative definite, last Newton move negligible."""
    information = -np.diag(at.hessian)
    if not (at.finite and (information > 0).all()):
        return False
    scale = 1 / np.sqrt(information)
    least = np.linalg.eigvalsh(-at.hessian * np.outer(scale, scale))[0]
    flat = np.abs(scale * at.score).max() < NEAR_ZERO
    return bool(flat and least > LEAST_INFORMATION and np.abs(move).max() < SETTLED * 10)
