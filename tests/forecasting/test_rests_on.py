"""What a model rests on, in words: shares, what would move it, what boats differ by."""

from dataclasses import replace

import numpy as np

from forecasting import curves, rests_on
from forecasting.survival import LifeModel, Prior, model_by_deaths
from tests.forecasting.survival.fleets import good_wires, wires


def weighed(boats: int = 12, seed: int = 1) -> LifeModel:
    return model_by_deaths(wires(np.random.default_rng(seed), boats), Prior()).outcome


def test_few_deaths_say_what_is_common_practices_and_show_no_slopes():
    model = model_by_deaths(good_wires(30, 9.0), Prior()).outcome
    said = " ".join(rests_on.words(model, "wire"))
    assert "of what is known of a wire's life comes from your own record" in said
    assert "It leans on common practice" in said
    assert not rests_on.slopes_shown(model)
    assert "with your boats so far" in rests_on.title(model, "wire")


def test_more_deaths_show_slopes_with_their_share_of_own_record_and_the_log_normal():
    model = weighed(30)
    assert model.deaths >= 30
    said = " ".join(rests_on.words(model, "wire"))
    assert "another law of wear (log-normal)" in said
    assert "Boats differ" in said
    assert rests_on.slopes_shown(model)
    own = {row["name"]: row["own"] for row in curves.factors(model)}
    assert all(0 <= share < 1 for share in own.values())
    assert own["severity"] > 0.1
    picture = rests_on.picture(model, "wire")
    assert {"age", "practice", "own"} == set(picture["data"]["values"][0])
    assert max(row["own"] for row in picture["data"]["values"]) == 1


def test_a_share_beyond_twenty_percent_is_what_makes_it_lean():
    model = weighed()
    b10 = model.evidence.b10[1]
    for low, high, leans in ((0.79, 1.1, True), (0.81, 1.19, False), (0.9, 1.21, True)):
        evidence = replace(model.evidence, centres=(low * b10, high * b10))
        assert evidence.leans_on_centre == leans


def test_maximum_likelihood_says_that_the_record_decides():
    lives = wires(np.random.default_rng(1), 60)
    heavy = replace(lives, weight=lives.weight * 160 / lives.deaths)
    model = model_by_deaths(heavy, Prior(), boat_effect=False).outcome
    assert "Your own record decides" in rests_on.words(model, "wire")[0]
    assert rests_on.picture(model, "wire")["description"].count("years") == 2
