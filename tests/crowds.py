"""Fleets of many boats, each with a row in every list, for tests of lists and of their cost.

Values repeat from boat to boat, so that every order has ties to break.
"""

import datetime as dt
from collections.abc import Iterable, Sequence

from fleet.models import Base, Boat, Fleet, Installation, Price, SeasonUse
from forecasting.models import BoatOutlook, BudgetFigure, ModelRun, PartOutlook, RefitJob
from forecasting.survival import rule_of_thumb
from inspections.models import Finding, Hold, InspectBy, Inspection, PartVerdict, Reminder
from tests import builders
from tests.builders import TODAY

BASES = ("Hollow", "Anchor", "Mill")
LEVELS = ("aloft", "deck", "mast_down")
VERDICTS = ("keep", "watch", "replace")
PEOPLE = ("Ann", "Bo")


def crowd(slug: str, boats: int) -> Fleet:
    """Return a fleet of so many boats; every second one is held, its jobs are one or two."""
    fleet = builders.empty_fleet(slug)
    bases = [builders.base(fleet, name) for name in BASES[: min(boats, 3)]]
    run = ModelRun.objects.create(
        fleet=fleet, kind="wire", as_of=TODAY, state="rule_of_thumb", in_force=True,
        sentence="Too little yet.", model=rule_of_thumb().to_dict(), fingerprint="f" * 64,
        code_version="v",
    )  # fmt: skip
    for number in range(boats):
        add_boat(fleet, bases[number % len(bases)], run, number)
    figures = ({}, *({"base": base} for base in bases))
    BudgetFigure.objects.bulk_create(money(fleet, scope) for scope in figures)
    return fleet


def add_boat(fleet: Fleet, base: Base, run: ModelRun, number: int) -> None:
    boat = builders.boat(fleet, f"Tern {number:02}", base=base)
    parts = [builders.wire(boat, side=side) for side in ("port", "starboard")]
    look = looked_at(boat, parts, number)
    forecast(boat, parts, run, number)
    planned(boat, parts, look, number)
    SeasonUse.objects.create(boat=boat, year=2026, ground=base.ground, miles=900, service="club")
    Price.objects.create(fleet=fleet, item="wire", diameter_mm=4 + number, price_minor=1000)
    money(fleet, {"base": base, "boat": boat}).save()
    builders.person(f"{fleet.slug}-{number}", fleet, "accountant")


def looked_at(boat: Boat, parts: Iterable[Installation], number: int) -> Inspection:
    look = Inspection.objects.create(
        boat=boat, on=TODAY - dt.timedelta(days=number % 4), level=LEVELS[number % 3],
        person=PEOPLE[number % 2], competence="rigger",
    )  # fmt: skip
    for part in parts:
        again = TODAY + dt.timedelta(days=number % 4)
        value = VERDICTS[number % 3]
        facts = {"spot": "lower", "reasons": ["seen"], "lower": "good", "run": "good"}
        PartVerdict.objects.create(
            inspection=look, installation=part, value=value, again_by=again, upper="good", **facts
        )
        found = Finding.objects.create(
            inspection=look, installation=part, place="lower", sign="split_pin_missing"
        )
        if number % 2 == 0:
            Hold.objects.create(
                boat=boat, installation=part, inspection=look, finding=found, since=look.on,
                cause=("make_good", "replace")[number % 4 // 2], reason="split pin missing",
            )  # fmt: skip
    return look


def forecast(boat: Boat, parts: Iterable[Installation], run: ModelRun, number: int) -> None:
    chance = 0.01 + 0.02 * (number % 4)
    for part in parts:
        PartOutlook.objects.create(
            boat=boat, installation=part, run=run, as_of=TODAY, age=12, chance_now=chance,
            chance_next=chance, next_level="deck", next_on=TODAY, chance_1y=chance,
            chance_1y_low=0, chance_1y_high=0.2, chance_5y=0.3, chance_5y_low=0, chance_5y_high=1,
        )  # fmt: skip
    BoatOutlook.objects.create(
        boat=boat, as_of=TODAY, parts=2, chance_now=chance, chance_now_low=0, chance_now_high=0.2,
        chance_1y=2 * chance, chance_5y=0.5, chance_failing=chance / 50,
        after_level={"aloft": chance / 2},
    )  # fmt: skip
    on = TODAY + dt.timedelta(days=30 * (number % 4) - 30)
    InspectBy.objects.create(
        boat=boat, date=on, level=LEVELS[number % 3], reason="Risk.", as_of=TODAY
    )


def planned(boat: Boat, parts: Sequence[Installation], look: Inspection, number: int) -> None:
    for part in parts[: 1 + number % 2]:
        RefitJob.objects.create(
            boat=boat, installation=part, season="2026/27", code="age", reason="Old.",
            must=number % 3 == 0, hours=1 + number % 3, cost_minor=10_000 * (1 + number % 4),
            put_off_minor=500 * (number % 5),
        )  # fmt: skip
    for kind in ("aloft", "deck"):
        Reminder.objects.create(
            boat=boat, kind=kind, due_on=look.on, days_before=0, to_email="a@example.org",
            send_on=look.on, to_name=PEOPLE[number % 2], reason="Due.",
            key=f"{boat.pk}/{kind}", state=("queued", "failed")[number % 2],
        )  # fmt: skip


def money(fleet: Fleet, scope: dict) -> BudgetFigure:
    return BudgetFigure(
        fleet=fleet, year=2027, mean_minor=61_250, planned_minor=50_000, p10_minor=0,
        p50_minor=60_000, p90_minor=130_000, renewals=1.2, **scope,
    )  # fmt: skip
