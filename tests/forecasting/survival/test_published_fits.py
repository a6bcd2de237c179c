"""The fits agree with published answers and with those of independent programs.

"Computed" marks values on which at least two of R survival 3, icenReg, eha, lifelines, surpyval,
`reliability` and direct quadrature agree. Weibull scale = exp(intercept), shape = 1 / sigma.
"""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import LifeModel, fit

from . import published


def fitted(lives, family="weibull", **held):
    model = fit(lives, family, **held)
    assert isinstance(model, LifeModel), model
    return model


@pytest.mark.parametrize(
    ("lives", "shape", "scale", "log_likelihood"),
    [
        # NIST/SEMATECH e-Handbook 8.4.1.2 prints 1.7208 and 606.53.
        pytest.param(published.NIST, 1.7208, 606.528, -75.134618, id="NIST"),
        # J. Quality Technology 1997, doi 10.1080/00224065.1997.11979730.
        pytest.param(published.JQT, 2.7540, 67.9188, -59.182007, id="JQT"),
        # Meeker and Escobar 1998; computed.
        pytest.param(published.OCONNOR, 3.160470, 27718.72, -123.995361, id="shock absorbers"),
        # Nelson 1982, p. 415; computed.
        pytest.param(published.turbine_parts(), 1.485367, 71.690406, -309.668409, id="turbine"),
    ],
)
def test_a_weibull_fit_gives_the_published_shape_scale_and_likelihood(
    lives, shape, scale, log_likelihood
):
    model = fitted(lives)
    assert 1 / model.sigma == pytest.approx(shape, abs=1e-4)
    assert np.exp(model.estimate[0]) == pytest.approx(scale, rel=1e-6)
    assert model.log_likelihood == pytest.approx(log_likelihood, abs=1e-5)


def test_maximum_likelihood_is_not_the_rank_regression_of_the_handbook():
    # Abernethy's figure 2-5 draws 2.024 / 94.998 by median-rank regression; the maximum-likelihood
    # answer for the same data is 3.017019 / 87.95629 (computed).
    model = fitted(published.ABERNETHY)
    assert 1 / model.sigma == pytest.approx(3.017019, abs=1e-4)
    assert np.exp(model.estimate[0]) == pytest.approx(87.95629, abs=1e-4)


@pytest.mark.parametrize(
    ("family", "location", "sigma", "log_likelihood"),
    [("lognormal", 6.226015, 0.908914, -75.19627), ("loglogistic", 6.192880, 0.486287, -74.96671)],
)
def test_the_other_families_agree_on_the_nist_lives(family, location, sigma, log_likelihood):
    # NIST data as above; computed.
    model = fitted(published.NIST, family)
    assert model.estimate[0] == pytest.approx(location, abs=1e-4)
    assert model.sigma == pytest.approx(sigma, abs=1e-4)
    assert model.log_likelihood == pytest.approx(log_likelihood, abs=1e-5)


def test_the_error_of_the_nist_location_is_the_published_one():
    assert fitted(published.NIST).se[0] == pytest.approx(0.205944, abs=1e-5)  # computed


@pytest.mark.parametrize(
    ("family", "intercept", "slope", "sigma", "log_likelihood"),
    [
        ("weibull", 3.899276, -0.567551, 0.619340, -143.320827),
        ("lognormal", 3.547875, -0.421000, 0.882141, -146.622332),
        ("loglogistic", 3.609245, -0.487307, 0.499622, -145.585062),
    ],
)
def test_interval_lives_with_a_covariate(family, intercept, slope, sigma, log_likelihood):
    # Breast cosmesis, Finkelstein and Wolfe 1985 (R interval::bcos); computed.
    model = fitted(published.from_file("breast_cosmesis"), family)
    assert model.estimate[:2] == pytest.approx([intercept, slope], abs=1e-5)
    assert model.sigma == pytest.approx(sigma, abs=1e-5)
    assert model.log_likelihood == pytest.approx(log_likelihood, abs=1e-5)


def test_the_errors_of_the_cosmesis_fit():
    model = fitted(published.from_file("breast_cosmesis"))
    assert model.se[:2] == pytest.approx([0.140530, 0.175730], abs=1e-5)  # computed


def test_motorettes_on_the_raw_temperature_scale():
    # Nelson and Hahn 1972 (R survival::imotor), survreg(Surv(time, status) ~ temp).
    model = fitted(published.from_file("motorettes"))
    assert model.estimate == pytest.approx([16.31852, -0.04531, -1.09564], abs=1e-5)
    assert model.se == pytest.approx([0.62296, 0.00319, 0.21480], abs=1e-5)
    assert model.log_likelihood == pytest.approx(-147.365061, abs=1e-5)


def test_late_entry_counts_in_channing_house():
    # Hyde 1980 (R boot::channing, the 457 rows with exit after entry), eha::aftreg; computed.
    lives = published.from_file("channing_house")
    model = fitted(lives)
    assert model.estimate[:2] == pytest.approx([6.960720, -0.039987], abs=1e-5)
    assert 1 / model.sigma == pytest.approx(8.886925, abs=1e-4)
    assert model.log_likelihood == pytest.approx(-1077.493521, abs=1e-5)


def test_ignoring_late_entry_in_channing_house_would_overstate_the_shape():
    lives = published.from_file("channing_house")
    ignored = fitted(replace(lives, entry=np.zeros(len(lives))))
    assert 1 / ignored.sigma == pytest.approx(14.7, abs=0.05)  # computed


def test_errors_clustered_by_litter():
    # Mantel et al. 1977 (R survival::rats), survreg(~ rx + male, cluster = litter) with the factor
    # G / (G - 1); computed.
    model = fitted(published.from_file("rats"))
    assert model.estimate == pytest.approx([4.971433, -0.211706, 0.819654, -1.325645], abs=1e-5)
    assert model.se == pytest.approx([0.080024, 0.086230, 0.223266, 0.140664], abs=2e-6)
    assert model.se_by_cluster == pytest.approx([0.083809, 0.078720, 0.230376, 0.161010], abs=2e-6)
    assert model.clusters == 100
