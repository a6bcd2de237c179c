"""Textbook renewal theory, to judge the planning code with: nothing here is used by it."""

import numpy as np


def renewal_function(cdf, until, steps=2000):
    """Times and M(t), the expected renewals from new, by the midpoint Riemann-Stieltjes rule
    (Xie 1989, Communications in Statistics - Simulation 18, 281-293)."""
    t = np.linspace(0, until, steps + 1)
    h = t[1]
    F, middle = cdf(t), cdf(t[1:] - h / 2)  # middle[k] = F((k + 1/2) h)
    M = np.zeros(steps + 1)
    for i in range(1, steps + 1):
        steps_taken = np.diff(M[:i])
        past = steps_taken @ middle[1:i][::-1] if i > 1 else 0.0
        M[i] = (F[i] + past - M[i - 1] * middle[0]) / (1 - middle[0])
    return t, M


def renewals_by(cdf, until, steps=400):
    """M(until) to six digits: the rule's error goes with the square of the step, so two step widths
    take its first term away (Richardson)."""
    rough, fine = (renewal_function(cdf, until, n)[1][-1] for n in (steps, 2 * steps))
    return fine + (fine - rough) / 3


def poisson_binomial(chances):
    """Probability of 0..m events among independent ones: exact convolution."""
    pmf = np.array([1.0])
    for p in chances:
        pmf = np.append(pmf * (1 - p), 0.0) + np.append(0.0, pmf * p)
    return pmf
