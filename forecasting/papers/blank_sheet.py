"""A sheet to take along where no phone goes: every spot that a look can see, with room to write."""

from fleet.models import Boat, Installation
from fleet.templatetags.wording import SPOT_WORDS, day
from inspections.criteria import STANDING
from inspections.dock.kit import BOTTOM_UP, place_in_round
from inspections.models import Inspection
from inspections.verdicts import reach

from . import looking, part_words
from .inspection_report import CAUTION, SEES
from .masthead import WORK
from .press import press

ORDER_OF_WORK = (
    "Sail off the stay first. From the bow round clockwise, from the deck up: water collects at "
    "the bottom, and most go there first. What the bottom condemns need not be looked at higher "
    "up; its tang, pin and mast wall still are when someone goes aloft. Tick only what was seen."
)


def blank_sheet(boat: Boat, level: str) -> bytes:
    """Return the PDF for a look of that level."""
    return press("blank-sheet", contents(boat, level), boat.fleet.today())


def contents(boat: Boat, level: str) -> dict:
    """Return what the paper says, as words."""
    parts = sorted(part_words.parts_of(boat), key=in_order)
    within = [part for part in parts if reach(level, part.kind, part.stay.in_foil)]
    criteria = looking.criteria_of(boat.fleet)
    return {
        "title": f"{Inspection.Level(level).label.capitalize()}: {boat.name}",
        "answer": f"{len(within)} parts to look at. {SEES[level]}",
        "fleet": boat.fleet.name,
        "as_of": day(boat.fleet.today()),
        "standing": STANDING,
        "order": ORDER_OF_WORK,
        "caution": CAUTION,
        "cautions": list(WORK) if level != Inspection.Level.DECK else list(WORK[:1]),
        "rows": [row(part, level) for part in within],
        "signs": looking.sign_groups(criteria, within) + looking.place_groups(criteria, level),
    }


def in_order(part: Installation) -> tuple:
    return *place_in_round(part.stay), BOTTOM_UP.index(part.kind)


def row(part: Installation, level: str) -> dict:
    seen = looking.look_at(part, level)
    within = reach(level, part.kind, part.stay.in_foil)
    spots = [SPOT_WORDS[spot] for spot in part_words.SPOTS[part.kind] if spot in within]
    condemned = f"Condemned {day(part.condemned_on)}: not loaded." if part.condemned_on else ""
    return seen | {"spots": spots, "notes": [condemned] if condemned else seen["notes"]}
