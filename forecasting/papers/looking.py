"""What to look at while the rigger is there: the parts that stay up, and the fleet's own signs."""

import datetime as dt

from fleet.models import Boat, Fleet, Installation
from fleet.templatetags.wording import SPOT_WORDS, day
from inspections.criteria import DEFAULT, Criteria, Sign
from inspections.criteria.words import meaning
from inspections.models import CriteriaVersion, Inspection, VerdictValue
from inspections.verdicts import reach

from . import part_words

PLACES = {
    "mast_wall": "Mast wall and mast plates",
    "tang": "Tangs",
    "spreader": "Spreaders",
    "bulkhead": "Bulkheads, knees and tie rods behind the chainplates",
    "furler_foil": "Furler foil",
    "hanks": "Hanks and lashings",
}
BELOW_DECK_OR_FOIL = ("bulkhead", "furler_foil")  # Looked at whether or not anyone goes aloft.
UNCERTAIN = "not_sure"


def criteria_of(fleet: Fleet) -> Criteria:
    """Return the criteria in force in the fleet today."""
    stored = CriteriaVersion.objects.filter(fleet=fleet, since__lte=fleet.today())
    newest = stored.order_by("-since", "-pk").first()
    return Criteria.from_dict(newest.data).completed_by(DEFAULT) if newest else DEFAULT


def rounds(boat: Boat, staying: list[Installation], level: str) -> dict:
    """Return parts to look at (longest unseen first), and signs by group, for a look of a level."""
    criteria = criteria_of(boat.fleet)
    within = [part for part in staying if reach(level, part.kind, part.stay.in_foil)]
    return {
        "level": Inspection.Level(level).label,
        "parts": [look_at(part, level) for part in sorted(within, key=longest_unseen)],
        "signs": sign_groups(criteria, within) + place_groups(criteria, level),
    }


def longest_unseen(part: Installation) -> tuple:
    """Order parts: never seen whole first, then by the day the whole of it was last seen good."""
    days = [part.good.get(spot) for spot in part_words.SPOTS[part.kind]]
    return (None not in days, min(filter(None, days), default=dt.date.min), part.pk)


def look_at(part: Installation, level: str) -> dict:
    seen = reach(level, part.kind, part.stay.in_foil)
    spots = [SPOT_WORDS[spot] for spot in part_words.SPOTS[part.kind] if spot in seen]
    verdict = part.verdict
    notes = list(verdict.reasons) if verdict and verdict.value != VerdictValue.KEEP else []
    if verdict and verdict.again_by:
        notes.append(f"Look again by {day(verdict.again_by)}.")
    return {
        "name": part_words.name(part),
        "what": part.description,
        "spots": ", ".join(spots),
        "seen": part_words.seen_words(part),
        "notes": [str(note) for note in notes],
    }


def sign_groups(criteria: Criteria, parts: list[Installation]) -> list[dict]:
    """Return the signs that fit the parts on this boat, by where they show."""
    fitting = {
        sign.code
        for part in parts
        for sign in criteria.for_part(
            part.kind, part.construction, (part.lower_terminal, part.upper_terminal)
        )
    }
    return grouped([sign for sign in criteria.values() if sign.code in fitting])


def place_groups(criteria: Criteria, level: str) -> list[dict]:
    """Return the signs at places that are no part."""
    places = PLACES if level != Inspection.Level.DECK else BELOW_DECK_OR_FOIL
    return [
        {"where": PLACES[place], "signs": signs}
        for place in places
        if (signs := [words(sign) for sign in criteria.for_place(place) if telling(sign)])
    ]


def grouped(signs: list[Sign]) -> list[dict]:
    groups: dict[str, list[dict]] = {}
    for sign in filter(telling, signs):
        groups.setdefault(sign.where, []).append(words(sign))
    return [
        {"where": where[:1].upper() + where[1:], "signs": found} for where, found in groups.items()
    ]


def telling(sign: Sign) -> bool:
    """Whether the sign asks for something: what is kept anyway needs no line on a paper."""
    return sign.outcome != VerdictValue.KEEP and sign.code != UNCERTAIN


def words(sign: Sign) -> dict:
    return {
        "label": sign.label,
        "look": sign.look,
        "means": meaning(sign),
        "hold": bool(sign.hold) or sign.outcome in (VerdictValue.REPLACE, VerdictValue.MAKE_GOOD),
    }
