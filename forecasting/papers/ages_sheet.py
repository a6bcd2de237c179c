"""Renewal ages and intervals of looks as rows: a workbook and CSV."""

from collections.abc import Iterator

from fleet.models import Fleet

from .. import ages_words
from ..models import AgeGroup, LookCurve
from .csv_rows import csv_of
from .workbook import made, units, written

# Header, width, and how the cells are shown. One row a group and cost of a failure.
AGES = (
    ("group", 44, "plain"), ("boats", 8, "plain"), ("parts", 8, "plain"),
    ("a failure costs", 14, "money"), ("age of least cost", 10, "hours"),
    ("within 2% from", 10, "hours"), ("within 2% to", 10, "hours"),
    ("a part and year at that age", 14, "money"), ("kept until condemned", 14, "money"),
    ("age by the rules", 10, "hours"), ("at that age", 14, "money"), ("rests on", 24, "plain"),
)  # fmt: skip
LOOKS = (
    ("base", 20, "plain"), ("level", 14, "plain"), ("boats", 8, "plain"),
    ("a failure costs", 14, "money"), ("months of least cost", 10, "hours"),
    ("within 2% from", 10, "hours"), ("within 2% to", 10, "hours"),
    ("a boat and year", 14, "money"), ("months by the rule", 10, "plain"),
    ("a boat and year by the rule", 14, "money"), ("defects a boat and year", 10, "hours"),
)  # fmt: skip
CURVE = (
    ("group", 44, "plain"), ("renewed at, years", 10, "hours"), ("failure at a third", 14, "money"),
    ("failure as priced", 14, "money"), ("failure three times", 14, "money"),
)  # fmt: skip
NOTES = (
    "Cost of renewing at an age, or when condemned before, in the long run; the boat's mast coming "
    "down is not in it. Where no age is given: inspect and keep.",
    "By cost alone. No life is priced in it.",
)
NO_AGES = "No group of parts is forecast yet: refresh the forecast."
NO_LOOKS = "Not said until the record tells what becomes of a watch."


def age_rows(fleet: Fleet) -> Iterator[tuple]:
    """Yield a row a group and cost of a failure; amounts in whole units of the currency."""
    for group in AgeGroup.objects.of(fleet).select_related("base"):
        for found in (ages_words.to_plan_by(group, each) for each in group.by_cost):
            money = [_units(found[name], fleet) for name in ("failure", "least", "keep", "rule")]
            yield (
                ages_words.name(group), group.boats, group.parts, money[0], found["age"],
                found["flat_from"], found["flat_until"], money[1], money[2], group.rule_age,
                money[3], ages_words.rests_on(group),
            )  # fmt: skip


def look_rows(fleet: Fleet) -> Iterator[tuple]:
    """Yield a row a base, level and cost of a failure."""
    for row in LookCurve.objects.of(fleet).select_related("base"):
        for found in row.by_cost:
            failure, cost, rule = (
                _units(found[name], fleet) for name in ("failure", "cost", "rule")
            )
            until = found["flat_until"] if found["bounded"] else None
            yield (
                row.base.name, row.get_level_display(), row.boats, failure, found["best"],
                found["flat_from"], until, cost, row.rule_months, rule, round(row.defects, 3),
            )  # fmt: skip


def curve_rows(fleet: Fleet) -> Iterator[tuple]:
    """Yield the points of every group's cost curve."""
    for group in AgeGroup.objects.of(fleet).select_related("base"):
        for age, *costs in group.curve:
            yield (ages_words.name(group), age, *(_units(cost, fleet) for cost in costs))


def _units(minor: int | None, fleet: Fleet):
    return None if minor is None else units(minor, fleet)


def ages_workbook(fleet: Fleet) -> bytes:
    """Return ages, their curves and intervals of looks as XLSX."""
    with made(fleet, f"Renewal ages and intervals of looks, {fleet.name}", NOTES) as book:
        written(book, "Ages", AGES, list(age_rows(fleet)), NO_AGES)
        written(book, "Curves", CURVE, list(curve_rows(fleet)), NO_AGES)
        written(book, "Looks", LOOKS, list(look_rows(fleet)), NO_LOOKS)
    return book.content


def ages_csv(fleet: Fleet) -> bytes:
    return csv_of(fleet, [header for header, _, _ in AGES], _blanks(age_rows(fleet)))


def looks_csv(fleet: Fleet) -> bytes:
    return csv_of(fleet, [header for header, _, _ in LOOKS], _blanks(look_rows(fleet)))


def _blanks(rows: Iterator[tuple]) -> Iterator[tuple]:
    return (tuple("" if value is None else value for value in row) for row in rows)
