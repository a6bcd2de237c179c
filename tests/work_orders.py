"""Work orders as rows, for tests."""

from fleet.models import Boat, Installation
from forecasting.models import SupplierOrder, WorkOrder
from forecasting.orders import drawing_up, steps, ticking
from forecasting.orders.sources import Job

WHO = {"by": None, "by_name": "Mona"}


def job(part: Installation | None, price: int = 80_000, **facts) -> Job:
    usual = {"code": "rule_age", "reason": "Past the age rule.", "must": False, "hours": 3.5}
    return Job(part, price=price, **(usual | facts))


def drawn_up(boat: Boat, *jobs: Job) -> WorkOrder:
    today = boat.fleet.today()
    facts = {"season": "2026/27", "source": f"refit list of {boat.fleet.slug}"}
    return drawing_up.draw_up(boat, jobs, on=today, **facts, **WHO)


def given(boat: Boat, *jobs: Job) -> WorkOrder:
    today = boat.fleet.today()
    plan = {"given_to": f"{boat.fleet.slug} yard", "due_by": today, "week": None}
    return steps.give(drawn_up(boat, *jobs), plan, today, **WHO)


def ordered(boat: Boat, part: Installation) -> dict:
    """Return an order given out, its line, and what was ordered for it, by name."""
    order = given(boat, job(part))
    supply = SupplierOrder.objects.create(
        order=order, supplier=f"{boat.fleet.slug} wire", number="S-1", on=boat.fleet.today()
    )
    return {"order": order, "order_line": order.lines.get(), "supply": supply}


def finish(order: WorkOrder) -> WorkOrder:
    """Say of the line that waits why it is not done, then the work is."""
    order.refresh_from_db()
    ticking.not_done(order.lines.get(done_on=None), "not delivered", None)
    return steps.take(order, "done", order.fleet.today(), **WHO)
