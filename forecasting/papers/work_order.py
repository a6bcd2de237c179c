"""The work order of one boat: what to renew, of what size, and what to look at meanwhile."""

import math
from collections.abc import Container

from fleet.models import Boat, Fleet
from fleet.templatetags.wording import day, exact_money
from inspections.aftermath.mast_down import checklist as mast_out_checklist
from inspections.criteria import STANDING
from inspections.models import Hold, Inspection

from .. import reads
from ..models import RefitJob
from ..yard_told import yard_words
from . import looking, part_words
from .masthead import WORK, masthead
from .press import press

SET_UP = "mast_down"
OF_A_WIRE = ("construction", "length", "lower", "upper", "screw", "mast_end", "adjuster",
             "open")  # fmt: skip
SIGNED = ("Ordered by, date", "Work done by, date", "Handed back to, date")
AS_IF = "No mast-down is planned; what to see if it comes down all the same is below."


def work_order(boat: Boat, *, mast_out: bool = False) -> bytes:
    """Return the PDF; ``mast_out``: as if the mast came down, whatever is planned."""
    return press("work-order", contents(boat, mast_out=mast_out), boat.fleet.today())


def contents(boat: Boat, *, mast_out: bool = False) -> dict:
    """Return what the paper says, as words."""
    jobs = list(reads.refit_jobs(boat.fleet).filter(boat=boat))
    down = mast_out or mast_down(boat, jobs)
    said = answer(boat, jobs)
    if down and not mast_down(boat, jobs):
        said += f" {AS_IF}"
    renewed = {job.installation_id for job in jobs}
    return around(boat, f"Work order: {boat.name}", said, renewed, down) | {
        "boat": facts(boat, jobs),
        "jobs": [row(job, boat.fleet) for job in jobs],
        "hours": f"{math.fsum(job.hours for job in jobs):.1f}",
        "cost": exact_money(sum(job.cost_minor for job in jobs), boat.fleet.currency),
        "signatures": [{"words": words, "known": ""} for words in SIGNED],
        "supplies": [],
    }


def around(boat: Boat, title: str, said: str, renewed: Container[int], down: bool) -> dict:
    """Return what every work order says beside its jobs: head, holds, cautions, what to look at.

    renewed: ids of the parts that come off; down: whether the mast is out.
    """
    staying = [part for part in part_words.parts_of(boat) if part.pk not in renewed]
    level = Inspection.Level.MAST_DOWN if down else Inspection.Level.ALOFT
    return masthead(boat.fleet, title, said) | {
        "holds": holds(boat),
        "cautions": list(WORK),
        "looks": looking.rounds(boat, staying, level),
        "rule": STANDING,
        "measure": part_words.MEASURE,
        "mast_down": checklist(boat) if down else [],
    }


def checklist(boat: Boat) -> list[dict]:
    """Return what can only be seen with the mast out, by what is done together."""
    return [
        {
            "title": group.title,
            "each_once": group.each_once,
            "tasks": [
                {"what": what, "items": [vars(item) for item in items]}
                for what, items in group.tasks
            ],
        }
        for group in mast_out_checklist(boat)
    ]


def mast_down(boat: Boat, jobs: list[RefitJob]) -> bool:
    """Whether the mast comes down: for these jobs, or every off season anyway."""
    return boat.mast_down_off_season or any(job.code == SET_UP for job in jobs)


def answer(boat: Boat, jobs: list[RefitJob]) -> str:
    parts = [job for job in jobs if job.installation_id]
    if not parts:
        return "Nothing has to be renewed on this boat in the coming off season."
    must = sum(job.must for job in parts)
    mast = "mast down" if mast_down(boat, jobs) else "mast up"
    they = "they are" if must > 1 else "it is"
    waits = f" {must} cannot wait: the boat is held until {they} renewed." if must else ""
    return f"Off season {parts[0].season}: {count(len(parts))} to renew, {mast}.{waits}"


def count(parts: int) -> str:
    return f"{parts} part{'' if parts == 1 else 's'}"


def facts(boat: Boat, jobs: list[RefitJob]) -> list[list[str]]:
    about = boat_facts(boat)
    when = [
        ["Off season", jobs[0].season if jobs else "nothing planned"],
        ["In the yard", yard_words(boat) or "no week yet"],
    ]
    return [*about[:-1], *when, about[-1]]


def boat_facts(boat: Boat) -> list[list[str]]:
    payer = boat.get_paid_by_display() or boat.fleet.get_rigging_paid_by_display()
    return [
        ["Boat", f"{boat.name}, {boat.design}" if boat.design else boat.name],
        ["Rig", f"{boat.get_rig_display()}, {boat.length_m:.1f} m, built {boat.build_year}"],
        ["Base", boat.base.name],
        ["Rigging paid by", payer],
    ]


def holds(boat: Boat) -> list[str]:
    standing = Hold.objects.filter(boat=boat).standing()
    return [f"{hold.reason} (since {day(hold.since)})" for hold in standing]


def row(job: RefitJob, fleet: Fleet) -> dict:
    part = job.installation
    shared = {
        "reason": job.reason,
        "must": job.must,
        "hours": f"{job.hours:.1f}",
        "cost": exact_money(job.cost_minor, fleet.currency),
        "done": "",
    }
    if part is None:
        return shared | {"name": "Mast down and up again", "size": None, "note": ""}
    foil = "inside the furler foil" if part.stay.in_foil and part.kind == part.Kind.WIRE else ""
    sizes = dict.fromkeys(OF_A_WIRE, "") | part_words.size(part)
    return shared | {"name": part_words.name(part), "size": sizes, "note": foil}
