"""Words bosuns put above columns and into cells, beside our own. Common practice, no source.

A word that people use for two things is left out on purpose ("replaced" may be the day a part
went up or the day it came off; "lower" may be forward or aft): it is asked.
"""

from collections.abc import Iterable

from ..sheets import Layout
from .stay_words import tokens

HEADERS: dict[str, dict[str, tuple[str, ...]]] = {
    "parts": {
        "boat": ("yacht", "vessel", "name", "boat name", "yacht name", "name of boat"),
        "mast": ("spar", "which mast"),
        "stay": (
            "shroud",
            "stay or shroud",
            "shroud or stay",
            "stay shroud",
            "item",
            "location",
            "position",
            "standing rigging",
            "which stay",
            "where",
        ),
        "side": ("p s", "port stbd", "port starboard", "hand", "port or starboard"),
        "part": ("kind", "kind of part", "component"),
        "inside foil": ("in foil", "furler", "furled", "roller furling", "on furler", "foil"),
        "construction": ("wire type", "lay", "type of wire", "wire construction"),
        "alloy": ("grade", "material", "steel", "wire grade"),
        "diameter mm": (
            "diameter",
            "dia",
            "diam",
            "size",
            "wire size",
            "wire dia",
            "gauge",
            "wire diameter",
            "thickness",
            "wire",
        ),
        "pin to pin mm": ("pin to pin", "length", "wire length", "cut length", "pin pin"),
        "lower terminal": (
            "bottom terminal",
            "lower end",
            "bottom end",
            "lower fitting",
            "bottom fitting",
            "terminal below",
            "deck end",
        ),
        "upper terminal": (
            "top terminal",
            "upper end",
            "top end",
            "upper fitting",
            "top fitting",
            "terminal above",
            "mast end",
        ),
        "pin mm": ("pin", "pin size", "clevis pin", "pin dia", "pin diameter", "clevis"),
        "thread": ("thread size", "stud thread", "thread dia"),
        "thread hand": ("handed", "thread direction", "left or right hand thread"),
        "mast end fitting": ("mast fitting", "fitting at mast", "tang or plate"),
        "adjuster setting": ("turnbuckle setting", "rigging screw setting", "screw setting"),
        "fitted": (
            "date fitted",
            "installed",
            "date installed",
            "fitted on",
            "date",
            "year",
            "year fitted",
            "when fitted",
            "last renewed",
            "last replaced",
            "renewed",
            "in service since",
            "rigged",
            "rigged in",
            "rig renewed",
            "rig date",
            "dated",
        ),
        "date certainty": ("certainty", "how known", "how sure", "proof of date"),
        "invoice": ("invoice no", "invoice number", "bill", "receipt", "bill no"),
        "batch": ("batch no", "lot", "heat no"),
        "fitter": ("rigger", "fitted by", "installed by", "done by"),
        "removed": ("taken off", "date removed", "came off", "scrapped", "removed on", "off"),
        "removal reason": ("reason", "why removed", "reason removed", "why off", "why"),
        "place": ("where failed", "failed at", "place of failure"),
    },
    "boats": {
        "boat": ("yacht", "vessel", "name", "boat name", "yacht name", "name of boat"),
        "base": ("marina", "harbour", "home port", "berthed at"),
        "design": ("class", "model", "make and model", "boat type"),
        "rig": ("rig type", "type of rig"),
        "fractional": ("fractional rig",),
        "spreader pairs": ("spreaders", "pairs of spreaders", "no of spreaders"),
        "length m": ("length", "loa", "length overall", "hull length"),
        "build year": ("built", "year built", "year of build", "year"),
        "joined": ("in fleet since", "bought", "purchased", "acquired", "joined fleet"),
        "left": ("sold", "left fleet"),
        "service": ("used for",),
        "mast down in off season": ("mast down", "mast out in winter", "mast down in winter"),
        "owner": ("owner name", "name of owner"),
        "owner email": ("email", "e mail", "owner e mail", "mail"),
    },
    "use": {
        "boat": ("yacht", "vessel", "name", "boat name"),
        "season": ("year", "sailing year"),
        "ground": ("waters", "area", "sailing area"),
        "miles": ("nm", "distance", "miles sailed", "nautical miles", "log"),
        "mast down": ("mast out", "unstepped"),
    },
    "inspections": {
        "boat": ("yacht", "vessel", "name", "boat name"),
        "date": ("day", "inspected", "inspected on", "checked", "checked on", "date of check"),
        "level": ("kind of check", "type of check", "how far", "check"),
        "person": ("inspector", "by", "who", "checked by", "inspected by"),
        "competence": ("qualification",),
        "note": ("notes", "remarks", "comment", "comments"),
    },
    "findings": {
        "boat": ("yacht", "vessel", "name", "boat name"),
        "date": ("day", "found on", "inspected on"),
        "sign": ("finding", "defect", "what was found"),
        "note": ("notes", "remarks", "comment", "comments"),
        "made good on": ("put right", "repaired on", "fixed on"),
        "made good by": ("repaired by", "fixed by", "put right by"),
    },
}

CODES: dict[str, dict[str, tuple[str, ...]]] = {
    "mast": {"main": ("main", "mainmast"), "mizzen": ("mizzen", "mizz")},
    "side": {
        "port": ("p", "pt", "left"),
        "starboard": ("s", "stbd", "stb", "sb", "right"),
        "both": ("p s", "ps", "p and s", "pair", "port and starboard"),
    },
    "part": {
        "wire": ("stay", "shroud"),
        "turnbuckle": ("rigging screw", "bottlescrew", "bottle screw", "turnbuckles"),
        "chainplate": ("chain plate", "chainplates"),
    },
    "construction": {
        "1x19": ("1 x 19", "1 19", "1x19 ss", "1x19 wire", "1x19 stainless", "1x19 316", "19 strand"),  # noqa: E501
        "7x7": ("7 x 7", "7 7", "7x7 wire", "7x7 stainless"),
        "7x19": ("7 x 19", "7 19", "7x19 wire", "7x19 stainless"),
        "compacted": ("compact", "compacted strand"),
        "rod": ("nitronic rod", "solid rod"),
        "fibre": ("fiber", "hmpe", "rope"),
        "galvanised": ("galvanized", "galv", "galvo"),
    },
    "lower terminal": {
        "swaged": ("swage", "swaged", "roll swage", "swg", "swaged fork", "swage fork",
                   "swaged eye", "swage eye"),
        "mechanical": ("mech", "cone", "cone terminal", "screw terminal", "mechanical cone"),
        "t_ball": ("t ball", "tee ball", "t terminal", "ball", "ball end", "t end", "lollipop"),
        "eye": ("spliced eye", "soft eye", "splice", "talurit eye"),
    },
    "date certainty": {
        "day": ("invoice", "log", "sure"),
        "year": ("year", "year known", "to the year"),
        "estimated": ("guess", "estimate", "approx", "about"),
        "unknown": ("not known", "n k", "no idea"),
    },
    "removal reason": {
        "failed_in_service": ("broke", "broken", "parted", "failed", "broke in use"),
        "condemned": ("failed inspection", "condemned", "rigger condemned it"),
        "age_rule": ("age", "old age", "10 year rule", "time expired"),
        "with_set": ("with the rest", "whole set", "set", "as a set", "re rig", "rerig"),
        "damage": ("accident", "collision", "dismasting", "dismasted", "bent"),
    },
    "level": {
        "deck": ("deck", "from deck", "on deck"),
        "aloft": ("up the mast", "bosuns chair", "aloft check"),
        "mast_down": ("mast out", "unstepped", "mast down"),
    },
    "competence": {"crew": ("skipper", "own crew", "bosun"), "surveyor": ("survey",)},
}  # fmt: skip
CODES["upper terminal"] = CODES["lower terminal"]

YES = ("yes", "y", "true", "1", "✓", "✔", "ja", "oui", "si", "sí")
NO = ("no", "n", "false", "0", "nein", "non", "✗", "✘")
NOTHING = ("-", "–", "—", "--", "n/a", "none", "nil", "not fitted")
NOT_KNOWN = ("?", "??", "unknown", "not known", "n/k", "tbc", "no record", "no idea")

UNIT_WORDS = {
    "mm": "mm", "millimetres": "mm", "in": "in", "ins": "in", "inch": "in", "inches": "in",
    "cm": "cm", "m": "m", "metres": "m", "ft": "ft", "feet": "ft",
}  # fmt: skip


def words_of(text: str) -> str:
    return " ".join(tokens(text.replace("×", "x")))


def unit_in(label: str) -> tuple[str, str]:
    """Return a label without its unit, and the unit it states ("" for none)."""
    words = tokens(label.replace('"', " in ").replace("″", " in "))
    units = [UNIT_WORDS[word] for word in words[1:] if word in UNIT_WORDS]
    if len(set(units)) != 1:
        return " ".join(words), ""
    return " ".join(w for n, w in enumerate(words) if n == 0 or w not in UNIT_WORDS), units[0]


def known_headers(layout: Layout) -> dict[str, str]:
    """Return every word that stands for a header of ours; ours go before all."""
    known = {}
    for header, words in HEADERS.get(layout.name, {}).items():
        known |= dict.fromkeys(words, header)
    for header in layout.headers:
        known[words_of(header)] = header
        known.setdefault(unit_in(header)[0], header)
    return known


def code_for(header: str, word: str) -> str:
    """Return our code for their word under that header, or "" where it is not known for sure."""
    wanted = words_of(word)
    codes = CODES.get(header, {})
    return next((code for code, words in codes.items() if wanted and wanted in words), "")


def yes_or_no(word: str) -> str:
    text = word.strip().casefold()
    return "yes" if text in YES else "no" if text in NO else ""


def said_nothing(words: Iterable[str]) -> tuple[str, ...]:
    """Return those words that mean an empty cell."""
    return tuple(sorted({word for word in words if word in NOTHING}))
