"""What findings at places that are no part mean for the boat: holds, events, consumables."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from inspections.criteria import Criteria, Sign
from inspections.verdicts.facts import FindingFacts
from inspections.verdicts.reading import again_by, amount, sentence

EVENT_SENTENCE = "Earlier results are void: the boat is held until its rig is inspected."


@dataclass(frozen=True)
class BoatResult:
    """What findings at places of the boat mean for it.

    `voids_earlier`: an event; no earlier inspection of the rig counts. `consumables`: pieces to
    renew, by sign code; a finding that was not counted is one. `hold_reasons`: one sentence for
    each finding that holds the boat. `again_by`: the earliest date by which a rigger has to look.
    """

    holds: bool
    hold_reasons: tuple[str, ...]
    reasons: tuple[str, ...]
    again_by: dt.date | None = None
    voids_earlier: bool = False
    consumables: Mapping[str, int] = field(default_factory=dict)
    version: str = ""


def boat_level(findings: Sequence[FindingFacts], criteria: Criteria, on: dt.date) -> BoatResult:
    """Judge what was found on spreader, tang, mast wall, bulkhead, foil, hanks or the whole rig.

    `spot` of such a finding is free words ("port, upper"). Raises ValueError for a sign that
    belongs to a part (see `judge`) or is not in the criteria.
    """
    signs = sorted(
        ((_of_the_boat(each, criteria), each) for each in set(findings)),
        key=lambda pair: (not pair[0].hold, pair[0].code, pair[1].spot, str(pair[1])),
    )
    told = [(sign, _told(sign, each, on)) for sign, each in signs]
    due = [again_by(sign.outcome, sign, each.on or on) for sign, each in signs]
    return BoatResult(
        holds=any(sign.hold for sign, _ in signs),
        hold_reasons=tuple(words for sign, words in told if sign.hold),
        reasons=tuple(words for _, words in told),
        again_by=min((each for each in due if each), default=None),
        voids_earlier=any(sign.voids for sign, _ in signs),
        consumables=_consumables(signs),
        version=criteria.version,
    )


def _of_the_boat(finding: FindingFacts, criteria: Criteria) -> Sign:
    sign = criteria.sign(finding.sign)
    if not sign.places:
        raise ValueError(f"Sign '{sign.code}' belongs to a part of a stay: record it at that part.")
    return sign


def _told(sign: Sign, finding: FindingFacts, on: dt.date) -> str:
    where = f"{finding.spot}: " if finding.spot else ""
    count = "" if finding.measure is None else f", {amount(finding.measure, _unit(sign))}"
    due = again_by(sign.outcome, sign, finding.on or on)
    words = sentence(f"{where}{sign.label}{count}", sign.outcome, due, sign)
    return f"{words} {EVENT_SENTENCE}" if sign.voids else words


def _unit(sign: Sign) -> str:
    return sign.measure.unit if sign.measure else ""


def _consumables(signs: Sequence[tuple[Sign, FindingFacts]]) -> dict[str, int]:
    pieces: Counter[str] = Counter()
    for sign, finding in signs:
        if sign.consumable:
            pieces[sign.code] += 1 if finding.measure is None else round(finding.measure)
    return dict(pieces)
