"""The rig drawing on paper: the same lines as on the page, with their look inside the SVG."""

from collections.abc import Mapping

from django.template.loader import render_to_string

from fleet.models import Boat, Stay
from fleet.rig_drawing import RigStay, draw
from inspections.models import PartVerdict, SpotState, VerdictValue

NOTHING = "not looked at"


def rig_picture(boat: Boat, found: Mapping[int, PartVerdict]) -> str:
    """Return the rig as SVG. ``found``: stay -> what was said of its wire; dotted without."""
    stays = [drawn(stay, found.get(stay.pk)) for stay in Stay.objects.filter(boat=boat)]
    views = draw(
        stays, rig=boat.rig, fractional=boat.fractional, spreader_pairs=boat.spreader_pairs
    )
    return render_to_string("papers/rig.svg", {"views": views})


def drawn(stay: Stay, said: PartVerdict | None) -> RigStay:
    value = said.value if said else VerdictValue.NOT_SEEN.value
    return RigStay(
        name=stay.name,
        side=stay.side,
        mast=stay.mast,
        verdict=value,
        words=VerdictValue(value).label if said else NOTHING,
        href="",
        label=stay.label,
        top_seen=said is not None and said.upper in (SpotState.GOOD, SpotState.CONDEMNED),
    )


def in_words(found: Mapping[int, PartVerdict], stays: Mapping[int, str]) -> str:
    """Return what the drawing shows for who cannot see it."""
    told = [
        f"{stays[key]}: {VerdictValue(said.value).label}"
        for key, said in found.items()
        if key in stays
    ]
    return f"Drawing of the rig. {'; '.join(told)}." if told else "Drawing of the rig."
