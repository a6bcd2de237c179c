"""A boat with a mechanical backstay, and the form by which a manager changes a limit."""

import datetime as dt
import html

from fleet.models import Boat
from inspections.limits import versions
from inspections.models import Inspection
from tests import builders
from tests.inspections.docks import address, inspect, part, rigged_boat, saw

TODAY = builders.TODAY


def rigged_with_backstay() -> Boat:
    boat = rigged_boat()
    builders.wire(boat, "backstay", "", lower_terminal="mechanical", upper_terminal="mechanical")
    return boat


def backstay(boat):
    return part(boat, "", stay="backstay")


def drawn_out(boat, on: dt.date, mm: float | None) -> Inspection:
    return inspect(boat, on, saw(backstay(boat), "wire_drawn_out", measure=mm))


def ask(manager, boat, code: str, step: str = "write", **given):
    """Post the form of one sign with what it would send untouched, and what is given."""
    usual = {"since": TODAY.isoformat(), "reason": "agreed with our rigger", "step": step}
    sign = versions.newest(boat.fleet)[code]
    if sign.rule == "measured" and sign.measure.limit is not None:
        usual["limit"] = f"{sign.measure.limit:g}"
    if sign.again_days:
        usual["again_days"] = str(sign.again_days)
    usual["outcome"] = sign.outcome
    url = f"{address(boat, 'sign_change')}?sign={code}"
    return manager.post(url, usual | given)


def words_of(response) -> str:
    return " ".join(html.unescape(response.content.decode()).split())
