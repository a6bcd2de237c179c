"""Does a fit find the truth, and what does each shortcut cost? Simulated fleets, seeds 1 to n.

    python -m tests.studies fits [bias|cover|readings|sizes] [--fleets N] [--processes P]

bias      40 fleets of 250 boats that are alike: mean bias of log B10, shape and slopes
cover     200 fleets: cover of 95 % intervals; and of model errors where boats differ by .2
readings  200 fleets: what each naive reading of the same record costs
sizes     fleets of 15, 60 and 250 boats, alike and differing, by the model their deaths allow
Each ends with a line PASS or FAIL against the bars of the method, and exit code 1 if any failed.
"""

import argparse
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from forecasting.survival import COMMON_PRACTICE, LifeModel, Lives, fit
from forecasting.survival.by_deaths import log_b10_se, model_by_deaths

from .fleets import READINGS, SLOPES, World, lives, sail

NORMAL_95 = 1.959964
SPREAD = 0.2


@dataclass(frozen=True)
class Case:
    """One simulated fleet and how it is read and fitted."""

    seed: int
    boats: int = 250
    spread: float = 0.0
    reading: str = "right"
    boat_effect: bool = False
    by_deaths: bool = False


@dataclass(frozen=True)
class Answer:
    """What came of it; bands are 95 %. own: by the model's errors; clustered: by boat."""

    deaths: float
    shape: float
    b10: float
    median: float
    slopes: dict[str, float]
    own: dict[str, bool]
    clustered: dict[str, bool]


def answer(case: Case) -> Answer | None:
    """The fit of one case against its truth; None where it was refused."""
    world = World(boats=case.boats, spread=case.spread)
    record = lives(sail(world, case.seed), READINGS[case.reading])
    model = _model(record, case)
    if not isinstance(model, LifeModel):
        return None
    return Answer(
        deaths=model.deaths,
        shape=1 / model.sigma,
        b10=model.part_age(0.1),
        median=model.part_age(0.5),
        slopes={name: model.coefficients[name] for name in SLOPES},
        own=_covered(world, model, model.covariance),
        clustered=_covered(world, model, model.covariance_by_cluster),
    )


def _model(record: Lives, case: Case) -> object:
    if case.by_deaths:
        return model_by_deaths(record, COMMON_PRACTICE["wire"], seed=case.seed).outcome
    return fit(record, boat_effect=case.boat_effect)


def _covered(world: World, model: LifeModel, covariance: np.ndarray) -> dict[str, bool]:
    """Name -> whether the 95 % interval holds the truth; B10 by the sample where there is one."""
    truth, errors = world.parameters, np.sqrt(np.diag(covariance))
    inside = {
        name: bool(abs(model.coefficients[name] - truth[name]) <= NORMAL_95 * error)
        for name, error in zip(model.names, errors, strict=True)
        if name in truth and error > 0
    }
    if model.sample is not None:
        band = model.part_age_band(0.1, level=0.95, draws=len(model.sample))
        return inside | {"log_b10": bool(band.low <= world.b10 <= band.high)}
    off = np.log(model.part_age(0.1) / world.b10)
    return inside | {"log_b10": bool(abs(off) <= NORMAL_95 * log_b10_se(model, covariance))}


def answers(cases: list[Case], processes: int) -> Iterator[Answer | None]:
    """In order of the cases."""
    if processes == 1:
        yield from map(answer, cases)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(answer, cases, chunksize=2)


# -- the studies


def bias(fleets: int, processes: int) -> bool:
    found = _given(answers([Case(seed) for seed in range(1, fleets + 1)], processes))
    world = World()
    b10 = np.log([each.b10 for each in found]) - np.log(world.b10)
    shape = np.array([each.shape for each in found]) / world.shape - 1
    print(f"{len(found)} fleets of {world.boats} boats alike; deaths {_mean_deaths(found):,.0f}")
    good = _bar("mean bias of log B10", b10, 0.015)
    good &= _bar("mean bias of shape, relative", shape, 0.025)
    for name, truth in SLOPES.items():
        good &= _bar(f"mean bias of {name}", [e.slopes[name] - truth for e in found], 0.012)
    return good


def cover(fleets: int, processes: int) -> bool:
    seeds = range(1, fleets + 1)
    alike = _given(answers([Case(seed) for seed in seeds], processes))
    differ = _given(answers([Case(seed, spread=SPREAD) for seed in seeds], processes))
    told = [Case(seed, spread=SPREAD, boat_effect=True) for seed in seeds]
    with_boats = _given(answers(told, processes))
    good = _cover_bar("boats alike, model errors", [e.own for e in alike], 0.90, 0.98)
    good &= _cover_bar("boats alike, errors by boat", [e.clustered for e in alike], 0.90, 0.98)
    good &= _cover_bar("boats differ by .2, with boat effect", [e.own for e in with_boats],
                       0.90, 0.98)  # fmt: skip
    shares = _shares([e.own for e in differ])
    print(f"  boats differ by .2, boat effect left out: {_told(shares)}")
    seen = min(shares["intercept"], shares["log_b10"]) < 0.85
    print(f"    {'PASS' if seen else 'FAIL'}: model errors are seen to cover under .85")
    return good and seen


def readings(fleets: int, processes: int) -> bool:
    """Bias in percent, and cover of 95 % intervals for B10, of each way to read the record."""
    world = World()
    rows = {}
    print(f"{'reading':<30}{'shape %':>9}{'median %':>10}{'B10 %':>8}{'cover':>7}{'slopes x':>10}")
    for name in READINGS:
        cases = [Case(seed, reading=name) for seed in range(1, fleets + 1)]
        found = _given(answers(cases, processes))
        truth_slopes = np.array([b for b in SLOPES.values() if b])
        ratio = np.mean([[e.slopes[n] for n, b in SLOPES.items() if b] for e in found], axis=0)
        rows[name] = tuple(
            100 * (np.mean([getattr(e, what) for e in found]) / true - 1)
            for what, true in (("shape", 3.0), ("median", _median(world)), ("b10", world.b10))
        )
        share = np.mean([e.own["log_b10"] for e in found])
        pull = float(ratio @ truth_slopes / (truth_slopes @ truth_slopes))
        shape, median, b10 = rows[name]
        print(f"{name:<30}{shape:>9.1f}{median:>10.1f}{b10:>8.1f}{share:>7.2f}{pull:>10.2f}")
    right = max(abs(value) for value in rows["right"])
    worst = max(abs(rows["right"][2]), 1.5)
    naive = ("found on the day", "truncation ignored", "deck check as whole sight")
    good = right < 2.5 and all(abs(rows[name][2]) > worst for name in naive)
    print(f"  {'PASS' if good else 'FAIL'}: the right reading is, the shortcuts are not")
    return good


def sizes(fleets: int, processes: int) -> bool:
    good = True
    for boats in (15, 60, 250):
        for spread in (0.0, SPREAD):
            cases = [
                Case(seed, boats=boats, spread=spread, by_deaths=True)
                for seed in range(1, fleets + 1)
            ]
            found = _given(answers(cases, processes))
            b10 = np.log([e.b10 for e in found]) - np.log(9.0)
            share = np.mean([e.own["log_b10"] for e in found])
            inside = 0.90 <= share <= 1.0
            good &= inside and len(found) == fleets
            print(
                f"  {boats:>3} boats, spread {spread:.1f}: deaths {_mean_deaths(found):>6.0f}, "
                f"bias of log B10 {b10.mean():+.3f}, its sd {b10.std(ddof=1):.3f}, cover of 95 % "
                f"for B10 {share:.2f}, fitted {len(found)} of {fleets}  "
                f"{'PASS' if inside else 'FAIL'}"
            )
    return good


STUDIES: dict[str, tuple[Callable[[int, int], bool], int]] = {
    "bias": (bias, 40),
    "cover": (cover, 200),
    "readings": (readings, 200),
    "sizes": (sizes, 100),
}


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.studies fits", description=__doc__)
    parser.add_argument("studies", nargs="*", metavar="STUDY", help=", ".join(STUDIES))
    parser.add_argument("--fleets", type=int, help="fewer or more than the bars ask for")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    given = parser.parse_args(arguments)
    unknown = set(given.studies) - set(STUDIES)
    if unknown:
        parser.error(f"no study is called {', '.join(sorted(unknown))}")
    good = True
    for name in given.studies or STUDIES:
        study, usual = STUDIES[name]
        print(f"{name}: seeds 1 to {given.fleets or usual}")
        good &= study(given.fleets or usual, given.processes)
    return 0 if good else 1


# -- telling


def _given(found: Iterator[Answer | None]) -> list[Answer]:
    return [each for each in found if each is not None]


def _mean_deaths(found: list[Answer]) -> float:
    return float(np.mean([each.deaths for each in found]))


def _median(world: World) -> float:
    return float(world.b10 * (np.log(2) / -np.log(0.9)) ** (1 / world.shape))


def _bar(what: str, values: object, bar: float) -> bool:
    values = np.asarray(values)
    mean, error = values.mean(), values.std(ddof=1) / np.sqrt(len(values))
    good = abs(mean) < bar
    verdict = "PASS" if good else "FAIL"
    print(f"  {what:<32} {mean:+.4f} (error {error:.4f}), bar {bar}: {verdict}")
    return bool(good)


def _shares(inside: list[dict[str, bool]]) -> dict[str, float]:
    return {name: float(np.mean([each[name] for each in inside])) for name in inside[0]}


def _told(shares: dict[str, float]) -> str:
    return ", ".join(f"{name} {share:.3f}" for name, share in shares.items())


def _cover_bar(what: str, inside: list[dict[str, bool]], low: float, high: float) -> bool:
    shares = _shares(inside)
    good = all(low <= share <= high for share in shares.values())
    print(f"  {what}: {_told(shares)}")
    print(f"    {'PASS' if good else 'FAIL'}: every cover within {low} to {high}")
    return good
