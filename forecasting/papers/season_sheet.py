"""A plan of off seasons as a workbook whose sums are formulas, and as CSV."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.models import Fleet
from fleet.templatetags.wording import day, exact_money, share

from .. import season_planning, season_reads
from ..models import ScenarioJob, SeasonScenario
from . import part_words
from .csv_rows import csv_of
from .refit_list import SET_UP
from .refit_sheet import sizes
from .reserve_sheet import money
from .workbook import Book, made, rows_of, units, written

JOBS, SEASONS, LIMITS = "Jobs", "By season", "Limits"
PUT_OFF = "put off"
MOST_LIMITS = 8  # in a sentence; the sheet has them all
COLUMNS = (
    ("off season", 11, "plain"), ("base", 16, "plain"), ("boat", 20, "plain"),
    ("part", 28, "plain"), ("construction", 14, "plain"), ("diameter mm", 10, "plain"),
    ("pin to pin mm", 10, "plain"), ("mast", 8, "plain"), ("why", 60, "plain"),
    ("moved by hand", 9, "plain"), ("hours", 8, "hours"), ("cost", 13, "money"),
    ("a season later costs", 13, "money"), ("may wait", 8, "plain"),
    ("chance condemned in that season", 14, "chance"), ("last season a rule leaves", 12, "plain"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
SEASON, BASE, HOURS, COST, LATER = (
    HEADERS.index(name) for name in ("off season", "base", "hours", "cost", "a season later costs")
)
EMPTY = "Nothing is renewed or put off in these seasons."
NOT_WORKED_OUT = "This plan is not worked out yet."


@dataclass(frozen=True)
class Plan:
    """A plan as its files say it. jobs: as on its page, put off last; money in minor units."""

    scenario: SeasonScenario
    labels: list[str]
    jobs: list[ScenarioJob]
    moved: set[int]

    @property
    def fleet(self) -> Fleet:
        return self.scenario.fleet

    def season(self, job: ScenarioJob) -> str:
        return PUT_OFF if job.season is None else self.labels[job.season]

    def where(self, base: int) -> str:
        names = {row.base_id: row.base.name for row in self.scenario.bases.all()}
        return names.get(base, "the whole fleet")


def plan_of(scenario: SeasonScenario) -> Plan:
    rows = season_reads.jobs(scenario).order_by(
        "season", "boat__base__name", "boat__name", "-put_off_minor", "pk"
    )
    jobs = sorted(rows, key=lambda job: job.season is None)
    moved = set(scenario.moves.values_list("installation_id", flat=True))
    return Plan(scenario, scenario.found.get("labels", []), jobs, moved)


def notes(plan: Plan) -> list[str]:
    """Return what every file of a plan says of itself."""
    scenario, found, currency = plan.scenario, plan.scenario.found, plan.fleet.currency
    if not scenario.planned_at:
        return [NOT_WORKED_OUT]
    behind = " Limits, moves, rules or prices changed since: work it out anew." if (
        season_planning.is_behind(scenario)
    ) else ""  # fmt: skip
    waits = ["What is condemned cannot all be renewed in the first season within these limits: "
             "those boats do not sail until theirs is done."] if found["waits"] else []  # fmt: skip
    return [
        f"Plan {scenario.name}, worked out as of {day(scenario.as_of)}. Not frozen.{behind}",
        f"All told, in money of today: {exact_money(found['cost'], currency)} {currency}; work "
        f"{exact_money(found['work'], currency)}, what waits is expected to cost "
        f"{exact_money(found['put_off'], currency)}.",
        f"Any other plan with the same limits would save at most {share(found['gap'])} of that: "
        "proven.",
        *waits,
        *limits_words(plan),
        "Sums are formulas. Chances do not add. A season later: unplanned work and a rig that lets "
        "go, expected, whether a rule lets it wait or not; empty where the part or its pair is "
        "condemned.",
    ]


def limits_words(plan: Plan) -> list[str]:
    """Return a sentence on the limits no plan keeps, else on those that bind."""
    rows = [f"{season}, {where}: {said}" for season, where, _, _, said, _ in limit_rows(plan)]
    if not rows:
        return ["No limit binds."]
    if len(rows) > MOST_LIMITS:
        rows = [*rows[:MOST_LIMITS], f"and {len(rows) - MOST_LIMITS} more"]
    lacking = bool(plan.scenario.found.get("excess"))
    first = "No plan keeps all limits; opened the cheapest way" if lacking else "Limits that bind"
    return [f"{first}: {'; '.join(rows)}."]


def limit_rows(plan: Plan) -> list[tuple]:
    """Return season, where, what, limit, in words, and what one more of it would save."""
    currency = plan.fleet.currency
    lacking = season_reads.said_limits(plan.scenario, "excess")
    rows = []
    for each in lacking or season_reads.said_limits(plan.scenario, "binding"):
        is_money = each["money"]
        limit = units(round(each["limit"]), plan.fleet) if is_money else round(each["limit"], 2)
        what = currency if is_money else each["words"]
        said = f"{limit:,} {what}"
        if lacking:
            over = units(round(each["over"]), plan.fleet) if is_money else round(each["over"], 2)
            said = f"{over:,} more than {said}"
        rows.append((each["label"], each["where"], what, limit, said, _saves(plan, each)))
    return rows


def _saves(plan: Plan, each: dict):
    """Return what one more saves, in whole currency; of money, of one more unit of it."""
    if "worth" not in each:
        return None
    return round(each["worth"], 2) if each["money"] else units(round(each["worth"]), plan.fleet)


def cells(plan: Plan, job: ScenarioJob, amount) -> tuple:
    """Return one job; amount: of minor units, as the file shows money."""
    part, put_off = job.installation, job.season is None
    construction, diameter, length = sizes(part)[:3]
    latest = plan.labels[job.latest] if job.latest is not None else ""
    return (
        plan.season(job), job.boat.base.name, job.boat.name,
        part_words.name(part) if part else SET_UP, construction, diameter, length,
        "" if put_off else "down" if job.mast_down else "up", job.reason,
        "yes" if job.installation_id in plan.moved else "",
        None if put_off else round(job.hours, 2), None if put_off else amount(job.cost_minor),
        None if job.put_off_minor is None or not part else amount(job.put_off_minor),
        ("yes" if job.may_wait else "no") if part else "",
        round(job.chance, 4) if part else None, latest,
    )  # fmt: skip


def season_workbook(scenario: SeasonScenario) -> bytes:
    """Return the plan as XLSX: jobs with their sums, seasons and bases by formulas, limits."""
    plan = plan_of(scenario)
    rows = [cells(plan, job, lambda minor: units(minor, plan.fleet)) for job in plan.jobs]
    with made(plan.fleet, f"{scenario.name}: five off seasons", notes(plan)) as book:
        page = written(book, JOBS, COLUMNS, rows, EMPTY)
        if rows:
            total = len(rows) + 2  # A row apart, so that sorting leaves it alone.
            book.write(page, total, 0, "Together", "words")
            for column in (HOURS, COST, LATER):
                style = "sum" if column == HOURS else "total"
                summed = rows_of(column, 1, len(rows))
                book.add(page, total, column, summed, _sum(rows, column), style)
        _season_sheet(book, plan, rows)
        limits = (("off season", 12, "plain"), ("where", 18, "plain"), ("what", 26, "plain"),
                  ("limit", 14, "plain"), ("in words", 40, "plain"),
                  ("one more saves", 14, "money"))  # fmt: skip
        written(book, LIMITS, limits, limit_rows(plan), "No limit binds.")
    return book.content


def _sum(rows: Iterable[tuple], column: int):
    return sum(row[column] or 0 for row in rows)


def _season_sheet(book: Book, plan: Plan, rows: list[tuple]) -> None:
    """Write a row a season and base, then the seasons; both hold however the jobs are sorted."""
    headers = ("off season", "base", "boats", "hours", "cost", "money there is")
    page = book.sheet(SEASONS, headers, (12, 20, 9, 12, 15, 15))
    number, last = 0, len(rows)
    names, bases = (rows_of(column, 1, last, JOBS) for column in (SEASON, BASE))
    for season in season_reads.by_season(plan.scenario):
        for at in season["bases"]:
            number += 1
            book.write(page, number, 0, season["label"])
            book.write(page, number, 1, at.base)
            book.write(page, number, 2, len(at.boats))
            both = f"EXACT({names},$A{number + 1})*EXACT({bases},$B{number + 1})"
            of = [row for row in rows if (row[SEASON], row[BASE]) == (season["label"], at.base)]
            _summed(book, page, number, both, of, last)
        number += 1
        book.write(page, number, 0, season["label"], "words")
        book.write(page, number, 1, "all bases", "words")
        if last:
            of = [row for row in rows if row[SEASON] == season["label"]]
            _summed(book, page, number, f"EXACT({names},$A{number + 1})", of, last)
        if season["limit"] is not None:
            book.write(page, number, 5, units(round(season["limit"]), plan.fleet), "money")


def _summed(book: Book, page, number: int, asked: str, of: list[tuple], last: int) -> None:
    for place, column, style in ((3, HOURS, "hours"), (4, COST, "money")):
        formula = f"SUMPRODUCT({asked}*{rows_of(column, 1, last, JOBS)})"
        book.add(page, number, place, formula, _sum(of, column), style)


def season_rows_csv(scenario: SeasonScenario) -> bytes:
    """Return the jobs as CSV (RFC 4180, UTF-8), notes at the end."""
    plan = plan_of(scenario)
    rows = [cells(plan, job, lambda minor: money(minor, plan.fleet)) for job in plan.jobs]
    empty = ("",) * (len(HEADERS) - 1)
    return csv_of(plan.fleet, HEADERS, [*rows, *((note, *empty) for note in notes(plan))])
