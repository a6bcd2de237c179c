"""A work order with its number: the boat's paper made of the order's own lines, to be signed."""

import math

from fleet.templatetags.wording import day, exact_money

from ..models import WorkOrder, WorkOrderLine
from ..orders import steps
from ..yard_told import yard_words
from . import part_words, work_order
from .press import press

NOT_KNOWN = "not said yet"


def order_paper(order: WorkOrder) -> bytes:
    """Return the PDF."""
    return press("work-order", contents(order), order.fleet.today())


def contents(order: WorkOrder) -> dict:
    """Return what the paper says, as words."""
    boat, fleet = order.boat, order.fleet
    lines = list(order.lines.select_related("installation__stay", "renewed").order_by("pk"))
    asked = [line for line in lines if not line.not_done]
    renewed = {line.installation_id for line in asked if line.installation_id}
    down = boat.mast_down_off_season or any(line.installation_id is None for line in asked)
    title = f"Work order {order.label}: {boat.name}"
    return work_order.around(boat, title, answer(order, asked), renewed, down) | {
        "boat": facts(order),
        "jobs": [row(line) for line in lines],
        "hours": f"{math.fsum(line.hours for line in asked):.1f}",
        "cost": exact_money(sum(line.price_minor for line in asked), fleet.currency),
        "signatures": signatures(order),
        "supplies": [
            [each.supplier, each.number, day(each.on)]
            for each in order.supplies.all()
            if not each.struck
        ],
    }


def answer(order: WorkOrder, asked: list[WorkOrderLine]) -> str:
    parts = [line for line in asked if line.installation_id]
    must = sum(line.must for line in parts)
    mast = "mast down" if len(parts) < len(asked) else "mast as it stands"
    whom = f"Given to {order.given_to}" if order.given_to else "Not given out yet"
    due = f", to be done by {day(order.due_by)}" if order.due_by else ""
    waits = f" {must} cannot wait: the boat is held until it is done." if must else ""
    void = " WITHDRAWN: not to be worked by." if order.state == order.State.WITHDRAWN else ""
    return f"{whom}{due}. {work_order.count(len(parts))} to renew, {mast}.{waits}{void}"


def facts(order: WorkOrder) -> list[list[str]]:
    boat, reached = order.boat, steps.days(order)
    planned = f"week of {day(order.week)}" if order.week else yard_words(boat)
    return [
        ["Number", f"{order.label}, {order.get_state_display()}"],
        *work_order.boat_facts(boat),
        ["Off season", order.season or NOT_KNOWN],
        ["From", f"{order.source}, drawn up on {day(reached[order.State.DRAWN_UP])}"],
        ["In the yard", planned or NOT_KNOWN],
    ]


def row(line: WorkOrderLine) -> dict:
    """Return a line as the paper shows it: sizes of the part that comes off, as on record now."""
    part = line.installation
    said = line.reason if not line.rests_on else f"{line.reason} {line.rests_on}"
    shared = {
        "name": line.what,
        "reason": said,
        "must": line.must,
        "hours": f"{line.hours:.1f}",
        "cost": exact_money(line.price_minor, line.order.fleet.currency),
        "done": came_of(line),
    }
    if part is None:
        return shared | {"size": None, "note": ""}
    foil = "inside the furler foil" if part.stay.in_foil and part.kind == part.Kind.WIRE else ""
    sizes = dict.fromkeys(work_order.OF_A_WIRE, "") | part_words.size(part)
    if line.done_on or line.not_done:
        sizes["open"] = ""  # Nothing is ordered by it any more.
    return shared | {"size": sizes, "note": foil}


def came_of(line: WorkOrderLine) -> str:
    if line.not_done:
        return f"Not done: {line.not_done}"
    if line.done_on is None:
        return ""
    by = f"; released by {line.released_by}" if line.released_by else ""
    return f"{day(line.done_on)}, {line.fitted_by}{by}"


def signatures(order: WorkOrder) -> list[dict]:
    """Return who signs where, with what is on record already."""
    standing = {step.state: step for step in steps.stack(order.steps.all())}
    places = (
        ("Ordered by, date", order.State.DRAWN_UP),
        ("Accepted by the yard or contractor, date", None),
        ("Work done and checked by, date", order.State.DONE),
        ("Released and handed back to, date", None),
    )
    return [
        {"words": words, "known": f"{standing[state].by_name}, {day(standing[state].on)}"
         if state in standing else ""}
        for words, state in places
    ]  # fmt: skip
