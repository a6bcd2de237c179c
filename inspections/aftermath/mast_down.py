"""What can only be seen with the mast out, worked out for one boat from its rig and its record.

Common practice, no source: what comes apart and shows itself once the mast lies on trestles and the
chainplates are drawn. What the record says of a place stands beside it.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from fleet.models import Boat, Installation
from fleet.templatetags.wording import day

from ..criteria import DEFAULT
from ..followups import Recommendation
from ..judgement.history import NOT_SEEN, name_of
from ..judgement.standing_verdicts import of_parts
from ..models import Finding, Inspection, PartVerdict, SpotState, VerdictValue

Kind, Terminal = Installation.Kind, Installation.Terminal
Construction = Installation.Construction
ROD_YEARS = (5, 7)
OPENED = {
    Terminal.SWAGED: "Terminal off its pin: barrel all round, mouth and eye, loupe or penetrant",
    Terminal.MECHANICAL: "Terminal opened: cone and wires; a new cone on closing",
    Terminal.T_BALL: "T- or ball-end out of its plate: neck, seat and plug",
    Terminal.EYE: "Eye off its thimble or pin: chafe inside the eye, the throat",
}
OTHER_END = "Terminal off its pin and looked at all round"
ASKS = (VerdictValue.WATCH, VerdictValue.REFER, VerdictValue.NOT_ASSESSED)
ALOFT, MAST_DOWN = Inspection.Level.ALOFT, Inspection.Level.MAST_DOWN


@dataclass(frozen=True)
class Item:
    """One thing to see or open: what, where, and what the record says (blank: nothing)."""

    what: str
    where: str
    known: str = ""
    urgent: bool = False


@dataclass
class Group:
    """Items that are done together, under one heading."""

    title: str
    items: list[Item] = field(default_factory=list)

    @property
    def tasks(self) -> list[tuple[str, list[Item]]]:
        """Return what is done there, each once, with the places where."""
        by_what: dict[str, list[Item]] = {}
        for item in self.items:
            by_what.setdefault(item.what, []).append(item)
        return list(by_what.items())

    @property
    def each_once(self) -> bool:
        """Whether every item asks for something else: then what and where share a line."""
        return len(self.tasks) == len(self.items)


@dataclass
class Known:
    """What the record says of the boat's parts and places."""

    parts: list[Installation]
    opened: dict[tuple[int, str], dt.date]
    verdicts: dict[int, PartVerdict]
    places: dict[str, list[Finding]]
    advice: list[Recommendation]


def checklist(boat: Boat) -> list[Group]:
    """Return what to see with this boat's mast down, in the order in which it comes apart."""
    known = _known(boat)
    groups = [
        Group("Before it comes down", list(_before(known))),
        Group("Upper ends and upper pins", list(_upper(known))),
        Group("Wire inside the furler foil", list(_in_foil(known))),
        Group("Lower terminals opened", list(_lower(known))),
        Group("Rod heads and fibre", list(_rod_and_fibre(known))),
        Group("Turnbuckles and toggles apart", list(_turnbuckles(known))),
        Group("Chainplates drawn", list(_chainplates(known))),
        Group("Mast, tangs and spreaders", list(_mast(boat, known))),
        Group("Recommended by others", list(_recommended(known))),
    ]
    return [group for group in groups if group.items]


def _known(boat: Boat) -> Known:
    rows = Installation.objects.filter(stay__boat=boat).standing().select_related("stay")
    parts = sorted(rows, key=lambda part: (part.stay.mast, part.stay_id, part.kind, part.pk))
    keys = [part.pk for part in parts]
    return Known(
        parts,
        _last_opened(keys),
        of_parts(keys),
        _open_places(boat),
        list(Recommendation.objects.open().filter(report__boat=boat).select_related("report")),
    )


def _last_opened(keys: list[int]) -> dict[tuple[int, str], dt.date]:
    """Return (part, spot) -> the day a mast-down inspection last saw it good."""
    rows = PartVerdict.objects.filter(installation__in=keys, inspection__level=MAST_DOWN)
    opened = {}
    for row in rows.select_related("inspection").order_by("inspection__on", "pk"):
        for spot in ("lower", "run", "upper", "whole"):
            if getattr(row, spot) == SpotState.GOOD:
                opened[row.installation_id, spot] = row.inspection.on
    return opened


def _open_places(boat: Boat) -> dict[str, list[Finding]]:
    """Return place of the boat -> what was found there and not made good."""
    rows = Finding.objects.filter(
        inspection__boat=boat, holds__isnull=False, holds__lifted_on__isnull=True
    )
    found = defaultdict(list)
    for row in rows.exclude(sign=NOT_SEEN).select_related("inspection").distinct():
        found[row.place].append(row)
    return found


def _wires(known: Known) -> Iterator[Installation]:
    return (part for part in known.parts if part.kind == Kind.WIRE)


def _item(known: Known, part: Installation, spot: str, what: str) -> Item:
    return Item(what, name_of(part), *_of_record(known, part, spot))


def _of_record(known: Known, part: Installation, spot: str) -> tuple[str, bool]:
    """Return what the record says of a spot, and whether that asks for it."""
    last = known.opened.get((part.pk, spot))
    words = [f"last opened {day(last)}" if last else "never opened on record"]
    verdict = known.verdicts.get(part.pk)
    asked = False
    if part.condemned_on:
        words, asked = [f"condemned {day(part.condemned_on)}: renew, do not refit"], True
    elif verdict and verdict.value in ASKS and verdict.spot in (spot, ""):
        on = day(verdict.inspection.on)
        words.append(f"{verdict.get_value_display()} since {on}: {' '.join(verdict.reasons)}")
        asked = True
    return "; ".join(words), asked


def _before(known: Known) -> Iterator[Item]:
    screws = sum(part.kind == Kind.TURNBUCKLE for part in known.parts)
    if screws:
        yield Item("Adjuster settings measured and written down, slack taken up evenly",
                   f"{screws} turnbuckle{'' if screws == 1 else 's'}")  # fmt: skip


def _upper(known: Known) -> Iterator[Item]:
    for part in _wires(known):
        what = OPENED.get(part.upper_terminal, OTHER_END)
        yield _item(known, part, "upper", f"{what}; its pin, tang and split pin")


def _in_foil(known: Known) -> Iterator[Item]:
    for part in _wires(known):
        if part.stay.in_foil:
            yield _item(known, part, "run",
                        "Foil drawn off or opened: the whole wire, and where the foil chafes it; "
                        "top swivel and halyard lead")  # fmt: skip


def _lower(known: Known) -> Iterator[Item]:
    for part in _wires(known):
        yield _item(known, part, "lower", OPENED.get(part.lower_terminal, OTHER_END))


def _rod_and_fibre(known: Known) -> Iterator[Item]:
    low, high = ROD_YEARS
    for part in _wires(known):
        if part.construction == Construction.ROD:
            what = (
                f"Heads out of their seats, penetrant; heads are opened every {low} to {high} years"
            )
            yield _item(known, part, "upper", what)
        if part.construction == Construction.FIBRE:
            yield _item(
                known, part, "run", "Cover drawn back at both ends: core, glazing, stiffness"
            )


def _turnbuckles(known: Known) -> Iterator[Item]:
    for part in known.parts:
        if part.kind == Kind.TURNBUCKLE:
            what = "Screws out: threads over their whole length, body inside, toggle off its pin"
            yield _item(known, part, "whole", what)


def _chainplates(known: Known) -> Iterator[Item]:
    for part in known.parts:
        if part.kind == Kind.CHAINPLATE:
            what = ("Drawn: the part hidden in the deck, pin hole, bolts and their holes; bulkhead "
                    "or knee behind it probed; bedded anew")  # fmt: skip
            yield _item(known, part, "whole", what)


def _mast(boat: Boat, known: Known) -> Iterator[Item]:
    pairs = boat.spreader_pairs
    masts = ["Main mast"]
    masts += ["Mizzen mast"] if any(p.stay.mast == "mizzen" for p in known.parts) else []
    for mast in masts:
        yield _place(known, "mast_wall", "Wall round tangs, mast plates, exits and the gooseneck: "
                     "cracks, corrosion under fittings", mast)  # fmt: skip
        yield Item("Foot and step: corrosion, drain holes; collar at the partners", mast)
        yield Item("Masthead: sheaves, crane, pins; wiring and aerials", mast)
        yield _place(known, "tang", "Tangs off or bare: bends and pin holes, through-bolt drawn",
                     mast)  # fmt: skip
    if pairs:
        where = f"{pairs} pair{'' if pairs == 1 else 's'}"
        yield _place(known, "spreader", "Roots off the mast, tips out of their boots", where)
    if any(part.stay.in_foil for part in known.parts):
        yield _place(known, "furler_foil", "Joints, bearings, drum and top swivel", "Furler")


def _place(known: Known, place: str, what: str, where: str) -> Item:
    found = known.places.get(place, [])
    words = [f"{label_of(f.sign)}, found {day(f.inspection.on)}" for f in found]
    return Item(what, where, "; ".join(words), bool(found))


def label_of(sign: str) -> str:
    return DEFAULT[sign].label if sign in DEFAULT else sign.replace("_", " ")


def _recommended(known: Known) -> Iterator[Item]:
    for row in known.advice:
        by = f"by {day(row.by_when)}, {row.report.author}, {day(row.report.on)}"
        where = name_of(row.installation) if row.installation else "Boat"
        yield Item(row.text, where, by, True)
