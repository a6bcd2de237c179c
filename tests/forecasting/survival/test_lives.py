"""Lives are checked at the door: what cannot be true of a part is refused with its row."""

import numpy as np
import pytest

from forecasting.survival import Life, Lives


def test_the_constructors_name_what_is_known_of_the_end():
    lives = Lives.of(
        [
            Life.good_until(6.0, entry=2.0, cluster="Petrel", covariates={"rod": 0.0}),
            Life.condemned_between(4.0, 6.0, cluster="Petrel", covariates={"rod": 1.0}),
            Life.failed_at(7.5, entry=1.0, weight=0.5, cluster="Fulmar", covariates={"rod": 1.0}),
        ]
    )
    assert lives.names == ("rod",)
    assert lives.died.tolist() == [False, True, True]
    assert lives.between.tolist() == [False, True, False]
    assert lives.exact.tolist() == [False, False, True]
    assert lives.good.tolist() == [6.0, 4.0, 1.0]
    assert lives.deaths == 1.5
    assert lives.cluster[0] == lives.cluster[1] != lives.cluster[2]
    assert lives.X.ravel().tolist() == [0.0, 1.0, 1.0]


def test_lives_without_a_boat_are_each_their_own_cluster():
    assert len(np.unique(Lives.of([Life.good_until(1.0), Life.good_until(2.0)]).cluster)) == 2
    assert Lives(np.zeros(3), np.ones(3)).cluster.tolist() == [0, 1, 2]


def test_boats_may_be_labelled_with_anything_hashable():
    labels = np.array([("club", 1), ("base", 2), ("club", 1)], dtype=object)
    labelled = np.empty(3, dtype=object)
    labelled[:] = [tuple(label) for label in labels]
    assert Lives(np.zeros(3), np.ones(3), cluster=labelled).cluster.tolist() == [0, 1, 0]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"entry": -1.0, "good": 1.0}, "entry age"),
        ({"entry": np.nan, "good": 1.0}, "entry age"),
        ({"entry": 2.0, "good": 1.0}, "before its entry age"),
        ({"entry": 0.0, "good": np.inf}, "before its entry age"),
        ({"entry": 0.0, "good": 3.0, "condemned": 3.0}, "condemned at or before"),
        ({"entry": 0.0, "good": 3.0, "condemned": np.nan}, "condemned at or before"),
        ({"entry": 0.0, "good": 1.0, "condemned": 3.0, "failed": 2.0}, "both condemned and failed"),
        ({"entry": 0.0, "good": 3.0, "failed": 2.0}, "failed before"),
        ({"entry": 0.0, "good": 0.0, "failed": 0.0}, "failed before"),
        ({"entry": 0.0, "good": 1.0, "failed": np.inf}, "not finite"),
        ({"entry": 0.0, "good": 1.0, "weight": 0.0}, "weight"),
        ({"entry": 0.0, "good": 1.0, "weight": np.nan}, "weight"),
    ],
)
def test_a_life_that_cannot_be_is_refused_with_its_row(row, says):
    columns = {name: np.array([1.0 if name == "good" else 0.0, v]) for name, v in row.items()}
    columns["condemned"] = np.array([np.inf, row.get("condemned", np.inf)])
    columns["failed"] = np.array([np.nan, row.get("failed", np.nan)])
    columns["weight"] = np.array([1.0, row.get("weight", 1.0)])
    with pytest.raises(ValueError, match=rf"Life 1 .*{says}"):
        Lives(**columns)


def test_covariates_must_be_there_named_and_numbers():
    with pytest.raises(ValueError, match="X has shape"):
        Lives([0.0], [1.0], X=[[1.0, 2.0]], names=("rod",))
    with pytest.raises(ValueError, match="same name"):
        Lives([0.0], [1.0], X=[[1.0, 2.0]], names=("rod", "rod"))
    with pytest.raises(ValueError, match="log_sigma"):
        Lives([0.0], [1.0], X=[[1.0]], names=("log_sigma",))
    with pytest.raises(ValueError, match="covariate is blank"):
        Lives([0.0], [1.0], X=[[np.nan]], names=("rod",))


def test_lives_cannot_be_changed_behind_the_models_back():
    lives = Lives([0.0], [1.0])
    with pytest.raises(ValueError, match="read-only"):
        lives.good[0] = 2.0


def test_columns_can_be_kept_and_rows_taken():
    lives = Lives(np.zeros(3), np.arange(1.0, 4.0), X=np.arange(6).reshape(3, 2), names=("a", "b"))
    kept = lives.keep(["b"]).take(np.array([True, False, True]))
    assert kept.names == ("b",)
    assert kept.X.ravel().tolist() == [1.0, 5.0]
    assert kept.good.tolist() == [1.0, 3.0]
