"""What becomes of a watch: read from the fleet's own watches, or refused with its reason."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import numpy as np

from fleet.models import Fleet

from ..condition.interval import TRIED, Costs, Ends, Stakes, band_of
from ..condition.outlook import fate
from ..condition.panel import Panel
from ..condition.posterior import Condition, Prior, fit
from ..life_data import LifeTable, Records
from ..models import ConditionRun, FailingRate, LookInterval
from ..planning.failing import PRIOR_BREAKAGES, PRIOR_SEASONS
from ..planning.lifetimes import draw_lives
from ..survival import LifeModel, Refusal
from ..survival.model import log_survival
from .prospects import SEED, Prospects
from .schedule import look_hours
from .watches import WIRE, panel_of_lives, spots_of

YEARS = np.array([0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 24, 30, 36, 48, 60, 84, 120]) / 12
INTERVAL_DRAWS = 60
SEEN_FROM = {"deck": ("lower",), "aloft": ("run", "upper")}  # what a look of each level is for
MONTHS = 12
State = ConditionRun.State


@dataclass(frozen=True)
class ConditionDecision:
    """The run of this refresh, saved already where nothing changed, and the one in force."""

    run: ConditionRun
    in_force: ConditionRun | None

    @property
    def condition(self) -> Condition | None:
        return self.in_force and Condition.from_dict(self.in_force.result["condition"])


def decide(
    fleet: Fleet, records: Records, table: LifeTable, model: LifeModel, as_of: dt.date
) -> ConditionDecision:
    """Return what is in force for the fleet's watches; the same data, day and program: what was."""
    found = panel_of_lives(records, table, model)
    runs = ConditionRun.objects.of(fleet)
    newest, in_force = runs.first(), runs.in_force().first()
    run = ConditionRun(
        fleet=fleet,
        as_of=as_of,
        fingerprint=_fingerprint(found, fleet.watches_needed),
        code_version=code_version(),
    )
    same = ("as_of", "fingerprint", "code_version")
    if newest and all(getattr(newest, key) == getattr(run, key) for key in same):
        return ConditionDecision(newest, in_force)
    _fill(run, found, fit(found, needed=fleet.watches_needed, seed=SEED))
    return ConditionDecision(run, run if run.state == State.FITTED else in_force)


def _fill(run: ConditionRun, found: Panel, outcome: Condition | Refusal) -> None:
    run.watches = found.watches
    run.followed, run.went = int(found.followed.sum()), int(found.went.sum())
    if isinstance(outcome, Refusal):
        run.state, run.sentence = State.REFUSED, outcome.sentence
        return
    told = fate(outcome, found, YEARS)
    run.state = State.FITTED
    run.sentence = (
        f"{run.watches} spots were judged watch; {run.followed} were looked at again or condemned "
        f"since, {run.went} of them condemned."
    )
    run.result = {
        "condition": outcome.to_dict(),
        "months": (YEARS * MONTHS).round().astype(int).tolist(),
        "chance": told.chance.round(4).tolist(),
        "quarter": _months(told.when(0.25)),
        "common_practice": asdict(Prior()),
    }


def _months(years: tuple[float, ...]) -> list[float | None]:
    return [round(each * MONTHS, 1) if np.isfinite(each) else None for each in years]


def _fingerprint(found: Panel, needed: int) -> str:
    text = found.fingerprint + json.dumps([needed, asdict(Prior())], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def code_version() -> str:
    """Return the SHA-256 of the program that reads the watches."""
    digest, here = hashlib.sha256(), Path(__file__).parent
    paths = [*sorted((here.parent / "condition").glob("*.py")), here / "watches.py", Path(__file__)]
    for path in paths:
        digest.update(path.read_bytes())
    return digest.hexdigest()


@dataclass(frozen=True, eq=False)
class Looked:
    """What looks of one level at one base are for: how defects end by their interval, and costs."""

    base: int
    level: str
    boats: int
    defects: float
    ends: Ends
    costs: Costs


def looked(prospects: Prospects, condition: Condition | None) -> Iterator[Looked]:
    """Yield what there is to weigh, for each base and level; nothing without evidence.

    A deck check is weighed by the lower ends of the wires, a look aloft by the rest of them.
    """
    if condition is None or WIRE not in prospects.afloat.table.kind:
        return
    for base in np.unique(prospects.afloat.table.boat_bases).tolist():
        for level, spots in SEEN_FROM.items():
            if found := _of_group(prospects, condition, base, level, spots):
                yield found


def interval_row(prospects: Prospects, found: Looked) -> LookInterval:
    """Return the interval that costs least at one base from one level."""
    interval = band_of(found.ends, found.costs)
    names = ("low", "middle", "high", "flat_from", "flat_until")
    return LookInterval(
        fleet=prospects.fleet,
        base_id=found.base,
        level=found.level,
        bounded=interval.bounded,
        defects=found.defects,
        cost_minor=round(interval.cost),
        **{name: round(getattr(interval, name) * MONTHS, 2) for name in names},
    )


def _of_group(
    prospects: Prospects, condition: Condition, base: int, level: str, spots: tuple[str, ...]
) -> Looked | None:
    table = prospects.afloat.table
    rows = (table.kind == WIRE) & (table.base == base) & ~table.condemned
    rows &= spots_of(table)["spot"].isin(spots).to_numpy()
    rows &= table.seen_by[level]
    if not rows.any():
        return None
    boats = int((table.boat_bases == base).sum())
    arrivals = _arrivals(prospects, rows) / boats
    breaking = prospects.breakage.draws(INTERVAL_DRAWS, np.random.default_rng(SEED))
    draws = [
        Stakes(float(rate), 1 / at.delay, at.detection, float(breaks))
        for rate, at, breaks in zip(
            arrivals, condition.thinned(INTERVAL_DRAWS), breaking, strict=False
        )
    ]
    costs, defects = _costs(prospects, rows, level), float(arrivals.mean())
    return Looked(base, level, boats, defects, Ends.of(TRIED, *draws), costs)


def _arrivals(prospects: Prospects, rows: np.ndarray) -> np.ndarray:
    """(D,) spots among `rows` expected to become condemnable in the coming year, per draw.

    Given that each is good today: what looks find in a year is what begins in one, on the long run.
    """
    table = prospects.afloat.table.take(rows)
    life = draw_lives({WIRE: prospects.models[WIRE]}, INTERVAL_DRAWS, SEED)[WIRE]
    location = life.location(table)
    now = log_survival(life.family, table.age[:, None], location, life.sigma)
    later = log_survival(life.family, table.age[:, None] + 1, location, life.sigma)
    return -np.expm1(later - now).sum(axis=0)


def _costs(prospects: Prospects, rows: np.ndarray, level: str) -> Costs:
    prices, table = prospects.prices, prospects.afloat.table
    parts = np.unique(table.part_of_row[rows])
    down = np.ones(table.parts.size, dtype=bool)
    late = float(prices.in_season()[parts].mean())
    return Costs(
        look=look_hours(prospects.fleet)[level] * prices.hour,
        planned=float(prices.planned(down)[parts].mean()),
        late=late,
        failure=late + prices.failure,
    )


def failing_rows(prospects: Prospects) -> Iterator[FailingRate]:
    """Yield how often what stands condemned breaks, and the mean chance of a boat."""
    rate = prospects.breakage
    yield FailingRate(
        fleet=prospects.fleet,
        breakages=rate.breakages - PRIOR_BREAKAGES,
        seasons=rate.seasons - PRIOR_SEASONS,
        rate=rate.mean,
        chance=float(np.mean(prospects.failing_boats)),
    )
