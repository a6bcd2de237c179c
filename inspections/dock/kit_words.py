"""The words and signs of a kit: what a phone shows and judges by, as plain data."""

from typing import Any

from ..criteria import CONSTRUCTIONS, KINDS, PLACES, SPOTS, STANDING, Criteria
from ..criteria.words import answers, limit, tools
from ..models import Inspection, SpotState, VerdictValue
from ..verdicts.facts import SPOT_WORDS
from ..verdicts.part import TOP_NEED_NOT_BE_SEEN
from ..verdicts.reading import HOLD_WORDS, VALUE_WORDS

# What each level sees, as the form asks for it.
LEVELS_SEE = {
    Inspection.Level.DECK: "lower ends, turnbuckles and the first metre, from the deck",
    Inspection.Level.ALOFT: "wire and both ends, except what is inside a furler foil",
    Inspection.Level.MAST_DOWN: "everything, opened; chainplates drawn",
}
CAUTIONS = {
    "aloft": "Nobody goes aloft on a condemned or shocked rig until it is shored with halyards.",
    "injury": "Going aloft and unstepping injure people: a qualified rigger, two independent "
    "lines, local rules. Never slacken a stay without a stand-in.",
    "gloves": "Broken wires cut through rag: gloves.",
    "replace": "A part judged replace is not loaded. It is not released by saying so: it is "
    "renewed, or judged anew by a second person with competence.",
    "not_seen": "Not seen is no evidence of health.",
    "survey": "A crew check is a visual check in place by a lay person, not a survey. Who signs "
    "answers for what they saw.",
    "standing": STANDING,
    "top": TOP_NEED_NOT_BE_SEEN,
}


def words() -> dict[str, Any]:
    """Return every word a phone needs and could not make up itself."""
    return {
        "verdicts": _choices(VerdictValue),
        "verdict_sentences": VALUE_WORDS,
        "hold_sentences": HOLD_WORDS,
        "spots": SPOT_WORDS,
        "spot_states": _choices(SpotState),
        "levels": _choices(Inspection.Level),
        "levels_see": {str(level): sees for level, sees in LEVELS_SEE.items()},
        "competences": _choices(Inspection.Competence),
        "methods": _choices(Inspection.Method),
        "places": {place: place.replace("_", " ") for place in PLACES},
        "cautions": CAUTIONS,
    }


def _choices(choices) -> dict[str, str]:
    return {str(value): str(label) for value, label in choices.choices}


def criteria(own: Criteria) -> dict[str, Any]:
    """Return a fleet's limits in force, every sign with its picture, tools and limit in words."""
    stored = own.to_dict()
    signs = [each | _shown(sign) for each, sign in zip(stored["signs"], own.signs, strict=True)]
    return {
        "version": own.version,
        "since": stored["since"],
        "reason": own.reason,
        "missed_limit": own.missed_limit,
        "assessed": assessed(own),
        "spots": {kind: list(spots) for kind, spots in SPOTS.items()},
        "signs": signs,
    }


def assessed(own: Criteria) -> dict[str, list[str]]:
    """Return kind -> the constructions with criteria enough; "" stands for one not on record."""
    known = ("", *CONSTRUCTIONS)
    return {kind: [each for each in known if own.assesses(kind, each)] for kind in KINDS}


def _shown(sign) -> dict[str, Any]:
    return {
        "picture": f"sign-{sign.code}",
        "tools": tools(sign),
        "limit_words": limit(sign.measure) if sign.measure and sign.rule == "measured" else "",
        "answers": [
            {"value": each.value, "when": each.when, "again_days": each.again_days}
            for each in answers(sign)
        ],
    }
