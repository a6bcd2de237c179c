"""What a back-test found, as plain values for its row: by year, in groups, against rivals."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..survival.back_test import Predicted, Tally, Trials, gain, scores, tallies, tally
from .back_testing import Year
from .seen import GROUPINGS

AGE_BANDS = ((0, 5), (5, 10), (10, 15), (15, 20), (20, np.inf))


def result(years: Sequence[Year]) -> dict:
    """Return the test of one kind of part over its years; empty where none could be tested."""
    if not years:
        return {}
    trials = Trials.together([each.trials for each in years])
    predicted = Predicted.together([each.predicted for each in years])
    rows = pd.concat([each.rows for each in years], ignore_index=True)
    low, high = predicted.interval()
    return {
        "years": [_of_year(each) for each in years],
        "total": {
            **_told(tally(trials, predicted.chance, predicted.doubt)),
            "low": low,
            "high": high,
        },
        "groups": _groups(trials, predicted, rows),
        "rivals": _rivals(years, trials, predicted.chance),
    }


def _of_year(year: Year) -> dict:
    low, high = year.predicted.interval()
    return {
        "year": year.year,
        "known": year.known,
        "standing": year.standing,
        "low": low,
        "high": high,
        **_told(tally(year.trials, year.predicted.chance, year.predicted.doubt)),
    }


def _told(counted: Tally) -> dict:
    return {
        "looks": counted.looks,
        "boats": counted.boats,
        "expected": counted.expected,
        "observed": counted.observed,
        "error": counted.error,
        "z": counted.z,
        "power": counted.power,
    }


def _groups(trials: Trials, predicted: Predicted, rows: pd.DataFrame) -> dict[str, list[dict]]:
    """Return calibration: by age at the look, spot, ground, mast, construction."""
    place = {name: trials.X[:, j] for j, name in enumerate(trials.names)}
    frame = pd.DataFrame({**place, "spot": rows["spot"].to_numpy()})
    labels = {"age": _age_bands(trials.end)}
    labels |= {each.name: each.words(frame).to_numpy(dtype=str) for each in GROUPINGS}
    found = tallies(trials, predicted.chance, labels, predicted.doubt)
    return {
        name: [{"name": label.split("|")[-1], **_told(each)} for label, each in of.items()]
        for name, of in found.items()
        if len(of) > 1
    }


def _age_bands(ages: np.ndarray) -> np.ndarray:
    """Labels that sort by age: what stands before the bar is only for that."""
    index = np.searchsorted([band[1] for band in AGE_BANDS], ages, side="right")
    return np.array([f"{k}|{_band_words(*band)}" for k, band in enumerate(AGE_BANDS)])[index]


def _band_words(low: float, high: float) -> str:
    if not low:
        return f"under {high:g} years"
    return f"{low:g} to {high:g} years" if np.isfinite(high) else f"{low:g} years and over"


def _rivals(years: Sequence[Year], trials: Trials, chance: np.ndarray) -> list[dict]:
    own = scores(trials, chance)
    found = [{"name": "model", "expected": float(chance.sum()), **vars(own)}]
    for name in years[0].rivals:
        said = np.concatenate([each.rivals[name] for each in years])
        gained = gain(trials, chance, said)
        found.append(
            {
                "name": name,
                "expected": float(said.sum()),
                **vars(scores(trials, said)),
                "gain": gained.total,
                "error": gained.error,
                "verdict": gained.verdict,
            }
        )
    return found
