"""Fleets of many boats, each with a row in every list, for tests of lists and of their cost.

Values repeat from boat to boat, so that every order has ties to break. Rows go in by the table, not
one by one: a thousand boats take a second or two.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence

from django.contrib.auth import get_user_model
from django.db.models import Model
from django.utils import timezone

from fleet.models import (
    Base,
    Boat,
    Change,
    Fleet,
    ImportRecord,
    Installation,
    Membership,
    Price,
    SeasonUse,
    Stay,
    WorkRow,
)  # fmt: skip
from forecasting.models import BoatOutlook, BudgetFigure, ModelRun, PartOutlook, RefitJob
from forecasting.survival import rule_of_thumb
from inspections.models import (
    Finding,
    HandIn,
    Hold,
    InspectBy,
    Inspection,
    PartVerdict,
    Reminder,
)  # fmt: skip
from tests import builders
from tests.builders import TODAY

BASES = ("Hollow", "Anchor", "Mill")
LEVELS = ("aloft", "deck", "mast_down")
VERDICTS = ("keep", "watch", "replace")
PEOPLE = ("Ann", "Bo")
SIDES = ("port", "starboard")
NOTHING_NEW = {"model": "fleet.Boat", "new": {}, "changed": {}}


class Rows(defaultdict):
    """Rows to be put in, by table, in the order in which the tables were first named."""

    def __init__(self) -> None:
        super().__init__(list)

    def add(self, row: Model) -> Model:
        self[type(row)].append(row)
        return row

    def save(self) -> None:
        for model, rows in self.items():
            model._default_manager.bulk_create(rows, batch_size=500)
        self.clear()


def crowd(slug: str, boats: int) -> Fleet:
    """Return a fleet of so many boats; every second one is held, its jobs are one or two."""
    fleet = builders.empty_fleet(slug)
    bases = [builders.base(fleet, name) for name in BASES[: min(boats, 3)]]
    run = ModelRun.objects.create(
        fleet=fleet, kind="wire", as_of=TODAY, state="rule_of_thumb", in_force=True,
        sentence="Too little yet.", model=rule_of_thumb().to_dict(), fingerprint="f" * 64,
        code_version="v",
    )  # fmt: skip
    rows = Rows()
    made = [new_boat(rows, fleet, bases[n % len(bases)], n) for n in range(boats)]
    people = [
        rows.add(get_user_model()(username=f"{slug}-{n}", password="!")) for n in range(boats)
    ]
    rows.save()
    for number, (boat, parts) in enumerate(made):
        rows.add(Membership(fleet=fleet, user=people[number], role="accountant"))
        add_history(rows, boat, parts, run, number)
    for scope in ({}, *({"base": base} for base in bases)):
        rows.add(money(fleet, scope))
    rows.save()
    return fleet


def new_boat(rows: Rows, fleet: Fleet, base: Base, number: int) -> tuple[Boat, list[Installation]]:
    boat = Boat(
        fleet=fleet, name=f"Tern {number:02}", base=base, length_m=12, build_year=2014,
        joined=dt.date(2014, 4, 1), history_complete_since=dt.date(2014, 4, 1), service="private",
    )  # fmt: skip
    rows.add(boat)
    stays = [rows.add(Stay(boat=boat, name="cap_shroud", side=side)) for side in SIDES]
    facts = {
        "kind": "wire", "construction": "1x19", "diameter_mm": 8, "length_mm": 14000,
        "lower_terminal": "swaged", "upper_terminal": "t_ball",
        "fitted_on": dt.date(2014, 4, 1), "fitted_certainty": "day",
    }  # fmt: skip
    return boat, [rows.add(Installation(stay=stay, **facts)) for stay in stays]


def add_history(
    rows: Rows, boat: Boat, parts: Sequence[Installation], run: ModelRun, number: int
) -> None:
    look = looked_at(rows, boat, parts, number)
    forecast(rows, boat, parts, run, number)
    planned(rows, boat, parts, look, number)
    asked = timezone.now() - dt.timedelta(hours=number)
    rows.add(SeasonUse(boat=boat, year=2026, ground=boat.base.ground, miles=900, service="club"))
    rows.add(Price(fleet=boat.fleet, item="wire", diameter_mm=4 + number / 2, price_minor=1000))
    rows.add(HandIn(boat=boat, on=look.on + dt.timedelta(days=1), note="A kink in the backstay."))
    rows.add(Change(fleet=boat.fleet, boat=boat, what="Invoice of the backstay."))
    rows.add(
        ImportRecord(fleet=boat.fleet, files="fleet.xlsx", new=1, changed=0, rows=[NOTHING_NEW])
    )
    rows.add(WorkRow(fleet=boat.fleet, kind="refresh", asked_at=asked, state="done", outcome="Ok."))
    rows.add(money(boat.fleet, {"base": boat.base, "boat": boat}))


def looked_at(rows: Rows, boat: Boat, parts: Sequence[Installation], number: int) -> Inspection:
    look = Inspection(
        boat=boat, on=TODAY - dt.timedelta(days=number % 4), level=LEVELS[number % 3],
        person=PEOPLE[number % 2], competence="rigger",
    )  # fmt: skip
    rows.add(look)
    for part in parts:
        again = TODAY + dt.timedelta(days=number % 4)
        value = VERDICTS[number % 3]
        facts = {"spot": "lower", "reasons": ["seen"], "lower": "good", "run": "good"}
        rows.add(
            PartVerdict(
                inspection=look, installation=part, value=value, again_by=again, upper="good",
                **facts,
            )
        )  # fmt: skip
        found = Finding(inspection=look, installation=part, place="lower", sign="split_pin_missing")
        rows.add(found)
        if number % 2 == 0:
            rows.add(
                Hold(
                    boat=boat, installation=part, inspection=look, finding=found, since=look.on,
                    cause=("make_good", "replace")[number % 4 // 2], reason="split pin missing",
                )
            )  # fmt: skip
    return look


def forecast(
    rows: Rows, boat: Boat, parts: Sequence[Installation], run: ModelRun, number: int
) -> None:
    chance = 0.01 + 0.02 * (number % 4)
    for part in parts:
        rows.add(
            PartOutlook(
                boat=boat, installation=part, run=run, as_of=TODAY, age=12, chance_now=chance,
                chance_next=chance, next_level="deck", next_on=TODAY, chance_1y=chance,
                chance_1y_low=0, chance_1y_high=0.2, chance_5y=0.3, chance_5y_low=0,
                chance_5y_high=1,
            )
        )  # fmt: skip
    rows.add(
        BoatOutlook(
            boat=boat, as_of=TODAY, parts=2, chance_now=chance, chance_now_low=0,
            chance_now_high=0.2, chance_1y=2 * chance, chance_5y=0.5, chance_failing=chance / 50,
            after_level={"aloft": chance / 2},
        )
    )  # fmt: skip
    on = TODAY + dt.timedelta(days=30 * (number % 4) - 30)
    rows.add(InspectBy(boat=boat, date=on, level=LEVELS[number % 3], reason="Risk.", as_of=TODAY))


def planned(
    rows: Rows, boat: Boat, parts: Sequence[Installation], look: Inspection, number: int
) -> None:
    for part in parts[: 1 + number % 2]:
        rows.add(
            RefitJob(
                boat=boat, installation=part, season="2026/27", code="age", reason="Old.",
                must=number % 3 == 0, hours=1 + number % 3, cost_minor=10_000 * (1 + number % 4),
                put_off_minor=500 * (number % 5),
            )
        )  # fmt: skip
    for kind in ("aloft", "deck"):
        rows.add(
            Reminder(
                boat=boat, kind=kind, due_on=look.on, days_before=0, to_email="a@example.org",
                send_on=look.on, to_name=PEOPLE[number % 2], reason="Due.",
                key=f"{boat.pk}/{kind}", state=("queued", "failed")[number % 2],
            )
        )  # fmt: skip


def money(fleet: Fleet, scope: dict) -> BudgetFigure:
    return BudgetFigure(
        fleet=fleet, year=2027, mean_minor=61_250, planned_minor=50_000, p10_minor=0,
        p50_minor=60_000, p90_minor=130_000, renewals=1.2, **scope,
    )  # fmt: skip
