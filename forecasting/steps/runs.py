"""Which model of each kind of part is in force, and the record of every attempt.

A refused fit leaves the last good model in force, with its date. A fleet that never had one gets
the labelled rule of thumb.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path

from fleet.models import Fleet

from ..life_data import LifeTable
from ..models import ModelRun
from ..practice import prior_in_force
from ..survival import FITTED, POSTERIOR, POSTERIOR_FROM, LifeModel, Prior
from ..survival.by_deaths import reached
from .fitting import Outcome, modelled, observed_ages, thumb

OWN_RECORD = (ModelRun.State.FITTED, ModelRun.State.POSTERIOR)
FITS = ("../survival/*.py", "../life_data/*.py", "fitting.py", "runs.py")
ENGINES = ("lifelines", "numpy", "scipy", "pandas")


@dataclass(frozen=True)
class Decision:
    """The run in force for one kind of part, and the runs that have yet to be saved, in order.

    ``in_force`` is among ``new`` unless an earlier run stays.
    """

    in_force: ModelRun
    new: tuple[ModelRun, ...] = ()

    @property
    def model(self) -> LifeModel:
        return LifeModel.from_dict(self.in_force.model)


class Superseded(Exception):
    """Other models were put in force meanwhile, by a refresh that planned by them."""

    def __init__(self) -> None:
        super().__init__(
            "Meanwhile the forecast was refreshed and its lists made by newer models, so nothing "
            "was written here."
        )


class NoModels(Exception):
    """No model of some kind of part is in force yet."""

    def __init__(self) -> None:
        super().__init__("No forecast has been made yet: refresh the forecast first.")


def in_force(fleet: Fleet, kinds: Iterable[str]) -> dict[str, Decision]:
    """Return kind -> the run in force, to be kept. Raises NoModels."""
    serving = {run.kind: run for run in ModelRun.objects.of(fleet).in_force()}
    if not serving.keys() >= set(kinds):
        raise NoModels
    return {kind: Decision(serving[kind]) for kind in kinds}


def must_be_in_force(decisions: dict[str, Decision]) -> None:
    """Raise Superseded where a run that was to stay in force no longer is."""
    kept = {each.in_force.pk for each in decisions.values()} - {None}
    if ModelRun.objects.in_force().filter(pk__in=kept).count() < len(kept):
        raise Superseded


def decide(
    fleet: Fleet,
    kind: str,
    table: LifeTable,
    as_of: dt.date,
    wires: LifeModel | None = None,
) -> Decision:
    """Return what is in force for a kind of part; the same data, day and program: what was.

    wires: the model of wires, whose slopes serve a kind with fewer than 5 deaths of its own.
    """
    runs = ModelRun.objects.of(fleet).filter(kind=kind)
    newest, in_force = runs.first(), runs.in_force().first()
    prior = prior_in_force(fleet, kind, as_of)
    slopes = slopes_to_share(table, wires)
    blank = ModelRun(
        fleet=fleet,
        kind=kind,
        as_of=as_of,
        fingerprint=fingerprint(table, prior, slopes),
        code_version=code_version(),
    )
    if newest and in_force and _same(newest, blank):
        return Decision(in_force)
    outcome = modelled(table, kind, prior, slopes)
    run = _filled(blank, outcome, table, prior)
    if outcome.state != ModelRun.State.REFUSED:
        return Decision(run, (run,))
    if in_force and in_force.state in OWN_RECORD:
        return Decision(in_force, (run,))
    instead = thumb(kind, prior, outcome.sentence)
    serving = _filled(_copy(blank), instead, table, prior)
    return Decision(serving, (serving, run))


def save(decisions: dict[str, Decision]) -> int:
    """Save the new runs, put them in force, and return how many; the caller's transaction."""
    new = [run for decision in decisions.values() for run in decision.new]
    for decision in decisions.values():
        serving = decision.in_force
        if serving.pk is None:
            ModelRun.objects.of(serving.fleet).filter(kind=serving.kind).update(in_force=False)
            serving.in_force = True
    for run in new:
        run.save()
    return len(new)


def slopes_to_share(table: LifeTable, wires: LifeModel | None) -> dict[str, float]:
    """Return column -> slope of the wires, where they have their own and this kind has not."""
    if wires is None or wires.standing not in (FITTED, POSTERIOR):
        return {}
    if reached(table.lives.deaths, POSTERIOR_FROM):
        return {}
    return {n: b for n, b in wires.coefficients.items() if n in table.lives.names}


def fingerprint(table: LifeTable, prior: Prior, slopes: Mapping[str, float] | None = None) -> str:
    """Return the SHA-256 of the rows, of what was left out, and of the common practice used."""
    text = table.fingerprint + json.dumps([prior.to_dict(), slopes or {}], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def code_version() -> str:
    """Return the SHA-256 of the program that fits, and of the libraries it fits with."""
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for path in sorted(path for pattern in FITS for path in here.glob(pattern)):
        digest.update(path.read_bytes())
    digest.update(" ".join(version(name) for name in ENGINES).encode())
    return digest.hexdigest()


def _same(newest: ModelRun, blank: ModelRun) -> bool:
    keys = ("as_of", "fingerprint", "code_version")
    return all(getattr(newest, key) == getattr(blank, key) for key in keys)


def _copy(blank: ModelRun) -> ModelRun:
    keys = ("fleet", "kind", "as_of", "fingerprint", "code_version")
    return ModelRun(**{key: getattr(blank, key) for key in keys})


def _filled(run: ModelRun, outcome: Outcome, table: LifeTable, prior: Prior) -> ModelRun:
    run.state, run.sentence = outcome.state, outcome.sentence
    run.lives = float(table.lives.weight.sum())
    run.deaths = table.lives.deaths
    run.left_out = dict(table.left_out)
    if table.broke_late:
        run.left_out["broke_after_the_last_inspection"] = float(table.broke_late)
    run.warnings = list(outcome.warnings)
    youngest, oldest = observed_ages(table)
    run.inputs = {
        "parts": int(table.rows["part"].nunique()),
        "boats": int(table.rows["boat"].nunique()),
        "youngest_age": youngest,
        "oldest_age": oldest,
        "columns": list(table.lives.names),
        "held": [name for name, _ in outcome.held],
        "common_practice": prior.to_dict(),
    }
    run.model = outcome.model.to_dict() if outcome.model else {}
    return run
