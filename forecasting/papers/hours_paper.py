"""What an hour buys as a paper to pin to the wall and tick off."""

from fleet.models import Fleet
from fleet.templatetags.wording import one_in

from ..hours_list import BoatLook, HoursList, answer, what_it_buys
from .masthead import WORK, masthead
from .press import press


def hours_paper(fleet: Fleet, found: HoursList) -> bytes:
    """Return the PDF."""
    return press("hours", contents(fleet, found), fleet.today())


def contents(fleet: Fleet, found: HoursList) -> dict:
    """Return what the paper says, as words."""
    return masthead(fleet, answer(found), what_it_buys(found)) | {
        "cautions": list(WORK[:1]),
        "looks": [row(look) for look in found.looks],
        "hours": f"{found.plan.hours:.1f}",
    }


def row(look: BoatLook) -> dict[str, str]:
    return {
        "place": str(look.place),
        "boat": look.boat,
        "base": look.base,
        "look": look.look,
        "held": "held" if look.held else "",
        "hours": f"{look.hours:.1f}",
        "before": one_in(look.before),
        "after": one_in(look.after),
        "left": f"{look.left:.2f}",
    }
