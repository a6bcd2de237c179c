"""A plan of off seasons as a paper: what is renewed when on which boat, and why."""

import math
from collections import defaultdict
from itertools import groupby

from fleet import chart_picture
from fleet.templatetags.wording import exact_money, percent

from .. import season_charts, season_reads
from ..models import ScenarioJob, SeasonScenario
from ..orders.sources import MUST
from . import part_words
from .masthead import WORK, masthead
from .press import press
from .refit_list import SET_UP
from .season_sheet import NOT_WORKED_OUT, Plan, notes, plan_of

WIDTH, HEIGHT = 690, 120
MOST_BOATS = 105  # that the map of one page holds
MAP_NOTE = (
    "A number is how many parts are renewed; on dark ground the mast is down; framed, something "
    "there is condemned and cannot wait. Last column: put off beyond these seasons."
)


def season_paper(scenario: SeasonScenario) -> bytes:
    """Return the PDF."""
    return press("season-plan", contents(scenario), scenario.fleet.today())


def contents(scenario: SeasonScenario) -> dict:
    """Return what the paper says, as words, and its chart as SVG."""
    plan, fleet = plan_of(scenario), scenario.fleet
    if not scenario.planned_at:
        return masthead(fleet, scenario.name, NOT_WORKED_OUT) | {"seasons": []}
    found = season_reads.by_season(scenario)
    return masthead(fleet, f"Plan: {scenario.name}", answer(plan)) | {
        "cautions": list(WORK),
        "seasons": season_rows(found, fleet),
        "labels": short(plan.labels),
        "total": exact_money(sum(season["cost"] for season in found), fleet.currency),
        "map": season_map(plan),
        "map_note": MAP_NOTE,
        "jobs": [of_season(plan, name, list(own)) for name, own in groupby(plan.jobs, plan.season)],
        "notes": notes(plan),
        **picture(found, fleet, WIDTH, HEIGHT),
    }


def picture(found: list[dict], fleet, width: int, height: int) -> dict:
    """Return the chart of the seasons as SVG, blank where there is nothing to draw."""
    title = season_charts.seasons_title(found, fleet)
    spec = season_charts.seasons(found, fleet, title)
    drawn = chart_picture.svg(spec, width, height) if spec else ""
    return {"season_chart": drawn, "season_title": title}


def answer(plan: Plan) -> str:
    found, currency = plan.scenario.found, plan.fleet.currency
    put_off = sum(job.season is None for job in plan.jobs)
    waits = f" {put_off} part{'' if put_off == 1 else 's'} put off beyond them." if put_off else ""
    return (
        f"{exact_money(found['work'], currency)} {currency} of work over five off seasons; what "
        f"waits is expected to cost {exact_money(found['put_off'], currency)} {currency} meanwhile."
        f"{waits}"
    )


def season_rows(found: list[dict], fleet) -> list[dict]:
    """Return each season with a row a base and its sum."""
    return [
        {
            "label": season["label"],
            "bases": [
                [at.base, str(len(at.boats)), str(at.parts), _of(at.masts, at.has_masts),
                 _of(at.hours, at.has_hours), exact_money(at.cost, fleet.currency)]
                for at in season["bases"]
            ],
            "parts": str(season["parts"]),
            "cost": exact_money(season["cost"], fleet.currency),
            "limit": exact_money(round(season["limit"]), fleet.currency)
            if season["limit"] is not None else "",
        }
        for season in found
    ]  # fmt: skip


def _of(used: float, there: float | None) -> str:
    return f"{used:.0f}" if there is None else f"{used:.0f} of {there:.0f}"


def season_map(plan: Plan) -> list[dict]:
    """Return bases by name, each with a row a boat: season by season how many parts, mast, must.

    Of more boats than a page holds, a row a base.
    """
    by_boat: dict[tuple[str, str, int], list[ScenarioJob]] = defaultdict(list)
    for job in plan.jobs:
        by_boat[job.boat.base.name, job.boat.name, job.boat_id].append(job)
    rows = sorted(by_boat.items())
    if len(rows) > MOST_BOATS:
        return [{"name": "Base by base", "boats": _by_base(plan)}]
    return [
        {"name": name, "boats": [
            _map_row(key[1], jobs, plan) for key, jobs in own
        ]}
        for name, own in groupby(rows, key=lambda row: row[0][0])
    ]  # fmt: skip


def _by_base(plan: Plan) -> list[dict]:
    jobs = sorted(plan.jobs, key=lambda job: job.boat.base.name)
    bases = groupby(jobs, key=lambda job: job.boat.base.name)
    return [_map_row(name, list(own), plan) for name, own in bases]


def short(labels: list[str]) -> list[str]:
    """Return 26/27 for 2026/27: the map's columns are narrow."""
    return [label[2:] if "/" in label else label for label in labels]


def _map_row(name: str, jobs: list[ScenarioJob], plan: Plan) -> dict:
    return {
        "name": name,
        "cells": [_cell(jobs, y) for y in range(len(plan.labels))],
        "later": str(sum(job.season is None for job in jobs) or ""),
    }


def _cell(jobs: list[ScenarioJob], season: int) -> dict:
    own = [job for job in jobs if job.season == season]
    parts = [job for job in own if job.installation_id]
    return {
        "parts": str(len(parts) or ""),
        "down": any(job.mast_down for job in own),
        "must": any(job.code in MUST for job in parts),
    }


def of_season(plan: Plan, name: str, jobs: list[ScenarioJob]) -> dict:
    put_off = jobs[0].season is None
    currency = plan.fleet.currency
    return {
        "name": "Put off beyond these seasons" if put_off else f"Off season {name}",
        "bases": [
            {"name": base, "rows": [row(plan, job) for job in own]}
            for base, own in groupby(jobs, key=lambda job: job.boat.base.name)
        ],
        "hours": "" if put_off else f"{math.fsum(job.hours for job in jobs):,.1f}",
        "cost": "" if put_off else exact_money(sum(job.cost_minor for job in jobs), currency),
        "later": exact_money(sum(job.put_off_minor or 0 for job in jobs), currency),
    }


def later(job: ScenarioJob, currency: str) -> str:
    """Return what a season later costs, whether a rule lets it wait or not; blank of no part."""
    if not job.installation_id:
        return ""
    if job.put_off_minor is None:
        return "may not wait"
    return exact_money(job.put_off_minor, currency)


def why(job: ScenarioJob) -> str:
    told = job.put_off_minor is not None and job.held_to
    return f"{job.reason} It may not wait." if told else job.reason


def row(plan: Plan, job: ScenarioJob) -> list[str]:
    """Return boat, part, why, hours, cost, what a season later costs, chance."""
    part, put_off, currency = job.installation, job.season is None, plan.fleet.currency
    mast = ", mast down" if part and job.mast_down and not put_off else ""
    return [
        job.boat.name, f"{part_words.name(part)}{mast}" if part else SET_UP,
        why(job), "" if put_off else f"{job.hours:.1f}",
        "" if put_off else exact_money(job.cost_minor, currency), later(job, currency),
        percent(job.chance) if part else "",
    ]  # fmt: skip
