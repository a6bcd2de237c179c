"""Forecast each of the last years from the record as it was, and set it against what was found.

Each year is forecast as of the evening before it: the model is the one its deaths decided then, by
the same rule as a refresh's, from rows dated up to that evening. Looks of that year are the trials.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

from fleet.models import Fleet, Installation

from .. import life_data
from ..life_data.trials import between
from ..models import ModelRun
from ..practice import prior_in_force
from ..survival import LifeModel, Prior, rule_of_thumb
from ..survival.back_test import Predicted, Record, Trials, predict
from ..survival.rivals import age_alone, hazards
from .fitting import modelled, thumb
from .runs import code_version, slopes_to_share

YEARS = 6
DRAWS, SEED = 200, 5
PROGRAM = ("back_testing.py", "verdict_of_past.py", "seen.py")
KINDS = tuple(str(kind) for kind in Installation.Kind.values)
WIRE = KINDS[0]
Say = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Year:
    """One kind of part in one year: the looks, the forecast, and what simpler ones said of it.

    rows: frame of the looks (``life_data.looks``). rivals: name -> chance of each look. known:
    condemned or failed on record when the forecast was made; standing: of its model.
    """

    year: int
    rows: pd.DataFrame
    trials: Trials
    predicted: Predicted
    rivals: dict[str, np.ndarray]
    known: float
    standing: str


def years_of(
    fleet: Fleet, today: dt.date, records: life_data.Records, say: Say = lambda text: None
) -> dict[str, list[Year]]:
    """Return kind of part -> the years that can be tested, oldest first.

    A year counts where its boats had been looked at before it and were looked at in it.
    """
    rows = {kind: life_data.looks(records, kind) for kind in KINDS}
    found: dict[str, list[Year]] = {kind: [] for kind in KINDS}
    before: dict[str, LifeModel] = {}
    for year in range(today.year - YEARS + 1, today.year + 1):
        for kind, tested in tested_year(fleet, year, today, rows, before):
            found[kind].append(tested)
        said = sum(len(each.trials) for of in found.values() for each in of if each.year == year)
        say(f"{year}: {said:,} looks forecast as of 31 Dec {year - 1}")
    return found


def tested_year(
    fleet: Fleet,
    year: int,
    today: dt.date,
    rows: dict[str, pd.DataFrame],
    before: dict[str, LifeModel],
) -> Iterator[tuple[str, Year]]:
    """Yield each kind with a year's looks. ``before``: last model of each kind, kept up to date."""
    origin, until = dt.date(year - 1, 12, 31), min(dt.date(year, 12, 31), today)
    window = {kind: between(rows[kind], origin, until) for kind in KINDS}
    then = life_data.read(fleet, origin)
    if then.looks.empty or not any(len(each) for each in window.values()):
        return
    for kind in KINDS:
        table = life_data.lives(fleet, kind, origin, then)
        prior = prior_in_force(fleet, kind, origin)
        before[kind] = model_then(table, kind, prior, before)
        if len(window[kind]):
            trials = life_data.foretold(window[kind], then, kind)
            yield kind, _year(year, kind, window[kind], trials, table, prior, before[kind], fleet)


def model_then(
    table: life_data.LifeTable, kind: str, prior: Prior, before: dict[str, LifeModel]
) -> LifeModel:
    """Return the model in force that evening: a refused fit leaves the one before it."""
    slopes = slopes_to_share(table, before.get(WIRE) if kind != WIRE else None)
    outcome = modelled(table, kind, prior, slopes)
    return outcome.model or before.get(kind) or thumb(kind, prior, outcome.sentence).model


def _year(
    year: int,
    kind: str,
    rows: pd.DataFrame,
    trials: Trials,
    table: life_data.LifeTable,
    prior: Prior,
    model: LifeModel,
    fleet: Fleet,
) -> Year:
    record = Record(table.lives, table.rows["boat"].to_numpy())
    return Year(
        year=year,
        rows=rows,
        trials=trials,
        predicted=predict(model, trials, record, draws=DRAWS, seed=SEED),
        rivals=rivals(table, trials, prior, kind, fleet),
        known=table.lives.deaths,
        standing=model.standing,
    )


def rivals(
    table: life_data.LifeTable, trials: Trials, prior: Prior, kind: str, fleet: Fleet
) -> dict[str, np.ndarray]:
    """Return what simpler forecasts, learnt from the same rows, say of the same looks."""
    common = rule_of_thumb(prior, kind)
    alone = age_alone(table.lives, common)
    said = {
        "age_alone": predict(alone, trials, draws=DRAWS, seed=SEED).chance,
        "common_practice": predict(common, trials, draws=DRAWS, seed=SEED).chance,
        "constant": hazards(table.lives).chance(trials),
    }
    if fleet.age_rule_years:
        said["age_rule"] = hazards(table.lives, fleet.age_rule_years).chance(trials)
    return said


def fingerprint(
    fleet: Fleet,
    today: dt.date,
    tables: dict[str, life_data.LifeTable],
    in_force: dict[str, ModelRun],
) -> str:
    """Return the SHA-256 of what the test reads: rows, models, common practice, rule and years."""
    parts = [str(today.year), str(fleet.age_rule_years), program()]
    for kind in KINDS:
        prior = prior_in_force(fleet, kind, today)
        run = in_force.get(kind)
        parts += [tables[kind].fingerprint, json.dumps(prior.to_dict(), sort_keys=True)]
        parts.append(run.fingerprint if run else "")
    return hashlib.sha256("".join(parts).encode()).hexdigest()


@cache
def program() -> str:
    """Return the SHA-256 of the program that tests, with that of the one that fits."""
    here = Path(__file__).parent
    written = [(here / name).read_bytes() for name in PROGRAM]
    return hashlib.sha256(b"".join([code_version().encode(), *written])).hexdigest()
