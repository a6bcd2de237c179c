"""Names of stays as bosuns write them: "Caps P", "stbd fwd lower", "Mizzen cap shrouds"."""

import re
import unicodedata
from dataclasses import dataclass

PAIRED = (
    "running_backstay",
    "cap_shroud",
    "intermediate",
    "lower_forward",
    "lower_aft",
    "diamond",
)
UNKNOWN = "?"

SIDES = {
    "port": ("port", "p", "pt"),
    "starboard": ("starboard", "stbd", "stb", "s", "sb"),
    "both": ("both", "pair", "ps"),
}
SIDE_OF = {word: side for side, words in SIDES.items() for word in words}
MASTS = {"mizzen": "mizzen", "mizz": "mizzen", "main": "main", "mainmast": "main"}
STAYS = {
    "inner_forestay": ("inner forestay", "inner fore stay", "inner stay", "baby stay", "babystay",
                       "staysail stay", "cutter stay", "inner"),
    "forestay": ("forestay", "fore stay", "headstay", "head stay"),
    "running_backstay": ("running backstay", "running back stay", "runner"),
    "backstay": ("backstay", "back stay"),
    "cap_shroud": ("cap shroud", "cap", "upper shroud", "upper"),
    "intermediate": ("intermediate shroud", "intermediate", "inter shroud", "inter"),
    "lower_forward": ("forward lower shroud", "fwd lower shroud", "forward lower", "fwd lower",
                      "fore lower", "lower forward", "lower fwd", "lower shroud forward"),
    "lower_aft": ("aft lower shroud", "aft lower", "lower aft", "lower shroud aft"),
    "diamond": ("diamond shroud", "diamond stay", "diamond"),
    UNKNOWN: ("lower shroud", "lower", "shroud", "stay"),
}  # fmt: skip
PARTS = {
    "turnbuckle": ("turnbuckle", "rigging screw", "bottlescrew", "bottle screw"),
    "chainplate": ("chainplate", "chain plate"),
}
PHRASES = sorted(
    ((tuple(phrase.split()), stay) for stay, phrases in STAYS.items() for phrase in phrases),
    key=lambda entry: -len(entry[0]),
)


@dataclass(frozen=True)
class Found:
    """A stay found in words. ``stay`` is "?" where it may be several; ``rest`` is what is left."""

    mast: str
    stay: str
    side: str
    rest: str

    @property
    def code(self) -> str:
        return UNKNOWN if self.stay == UNKNOWN else f"{self.mast}/{self.stay}/{self.side}"


def tokens(text: str) -> list[str]:
    """Return the words of a label, without case and punctuation."""
    text = unicodedata.normalize("NFKC", text).casefold().replace("_", " ")
    return re.findall(r"[^\W_]+", text)


def singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def stays_in(text: str) -> list[Found]:
    """Return each way in which the words name a stay, the longest name first."""
    words = tokens(text)
    plain = [singular(word) for word in words]
    return [
        found(words, plain, start, len(phrase), stay)
        for phrase, stay in PHRASES
        for start in range(len(words) - len(phrase) + 1)
        if tuple(plain[start : start + len(phrase)]) == phrase
    ]


def found(words: list[str], plain: list[str], start: int, count: int, stay: str) -> Found:
    name, others = words[start : start + count], words[:start] + words[start + count :]
    sides = {SIDE_OF[word] for word in others if word in SIDE_OF}
    masts = {MASTS[word] for word in others if word in MASTS}
    plural = name != plain[start : start + count]
    side = sides.pop() if len(sides) == 1 else "both" if sides or plural else ""
    rest = [word for word in others if word not in SIDE_OF and word not in MASTS]
    return Found(
        masts.pop() if len(masts) == 1 else "main", stay, side if stay in PAIRED else "",
        " ".join(rest),
    )  # fmt: skip


def part_in(text: str) -> tuple[str, str]:
    """Return the fitting that the words name ("" for none), and the words without it."""
    words = tokens(text)
    plain = [singular(word) for word in words]
    for part, phrases in PARTS.items():
        for phrase in map(str.split, phrases):
            for start in range(len(words) - len(phrase) + 1):
                if plain[start : start + len(phrase)] == phrase:
                    return part, " ".join(words[:start] + words[start + len(phrase) :])
    return "", text


def stay_called(word: str) -> str:
    """Return the code of the stay a cell names, or "" where it names none or may be several.

    "Cap shroud turnbuckle, port" names the fitting as well: main/cap_shroud/port/turnbuckle.
    """
    for way in stays_in(word)[:1]:
        part, rest = part_in(way.rest)
        if not rest and way.code != UNKNOWN:
            return f"{way.code}/{part}" if part else way.code
    return ""
