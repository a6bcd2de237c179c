"""The refit list of the coming off season as a paper, one base after the other."""

import math
from itertools import groupby

from fleet.models import Boat, Fleet
from fleet.templatetags.wording import exact_money

from .. import reads
from ..models import RefitJob
from . import part_words
from .masthead import WORK, masthead
from .press import press

SET_UP = "Mast down and up again"


def refit_list(fleet: Fleet) -> bytes:
    """Return the PDF."""
    return press("refit-list", contents(fleet), fleet.today())


def contents(fleet: Fleet) -> dict:
    """Return what the paper says, as words."""
    jobs = list(reads.refit_jobs(fleet))
    title = f"Refit list {seasons(jobs)}".strip()
    return masthead(fleet, title, answer(fleet, jobs)) | {
        "cautions": list(WORK),
        "bases": [
            of_base(name, list(own), fleet)
            for name, own in groupby(jobs, key=lambda job: job.boat.base.name)
        ],
        "total": sums(jobs, fleet),
        "musts": [row(job, fleet) | {"boat": job.boat.name} for job in jobs if job.must],
    }


def seasons(jobs: list[RefitJob]) -> str:
    """Return the off seasons in words: bases need not share one."""
    return " and ".join(sorted({job.season for job in jobs}))


def answer(fleet: Fleet, jobs: list[RefitJob]) -> str:
    if not reads.has_outlook(fleet):
        return "No refit list yet: the fleet has not been forecast."
    if not jobs:
        return (
            "Nothing on the refit list: no part is condemned, due by a rule, or past the age at "
            "which waiting pays."
        )
    total = sums(jobs, fleet)
    must = f" {total['must']} cannot wait." if total["must"] != "0" else ""
    return (
        f"{total['parts']} parts on {total['boats']} boats, {total['hours']} hours, "
        f"{total['cost']} {fleet.currency}.{must}"
    )


def sums(jobs: list[RefitJob], fleet: Fleet) -> dict[str, str]:
    return {
        "boats": str(len({job.boat_id for job in jobs})),
        "parts": str(sum(job.installation_id is not None for job in jobs)),
        "must": str(sum(job.must for job in jobs)),
        "hours": f"{math.fsum(job.hours for job in jobs):,.1f}",
        "cost": exact_money(sum(job.cost_minor for job in jobs), fleet.currency),
        "put_off": exact_money(sum(job.put_off_minor for job in jobs), fleet.currency),
    }


def of_base(name: str, jobs: list[RefitJob], fleet: Fleet) -> dict:
    boats = [of_boat(boat, list(own), fleet) for boat, own in groupby(jobs, lambda job: job.boat)]
    return {"name": name, "season": seasons(jobs), "total": sums(jobs, fleet), "boats": boats}


def of_boat(boat: Boat, jobs: list[RefitJob], fleet: Fleet) -> dict:
    return {
        "name": boat.name,
        "design": boat.design,
        "total": sums(jobs, fleet),
        "jobs": [row(job, fleet) for job in jobs],
    }


def row(job: RefitJob, fleet: Fleet) -> dict:
    part = job.installation
    return {
        "name": part_words.name(part) if part else SET_UP,
        "what": part.description if part else "",
        "reason": job.reason,
        "must": job.must,
        "hours": f"{job.hours:.1f}",
        "cost": exact_money(job.cost_minor, fleet.currency),
        "put_off": "boat stays held" if job.must else put_off(job, fleet),
    }


def put_off(job: RefitJob, fleet: Fleet) -> str:
    return exact_money(job.put_off_minor, fleet.currency) if job.put_off_minor else ""
