"""The words on the sheets, as on screen. A test holds them to the tables' own labels."""

STAYS = {
    "forestay": "forestay",
    "inner_forestay": "inner forestay",
    "backstay": "backstay",
    "running_backstay": "running backstay",
    "cap_shroud": "cap shroud",
    "intermediate": "intermediate",
    "lower_forward": "lower forward",
    "lower_aft": "lower aft",
}
CONSTRUCTIONS = {
    "1x19": "1x19",
    "compacted": "compacted strand",
    "rod": "rod",
    "fibre": "fibre",
    "galvanised": "galvanised",
    "": "",
}
TERMINALS = {
    "swaged": "swaged",
    "mechanical": "mechanical",
    "t_ball": "T- or ball-end",
    "eye": "eye",
    "other": "other",
    "": "",
}
CERTAINTIES = {
    "day": "invoice or log",
    "year": "known to the year",
    "estimated": "estimated, two years either way",
    "unknown": "unknown",
}
REMOVALS = {
    "condemned": "condemned at inspection",
    "failed_in_service": "failed in service",
    "looked_poor": "renewed early, looked poor",
    "age_rule": "age rule",
    "with_set": "renewed with its set",
    "damage": "damage",
    "re_terminated": "re-terminated",
    "boat_left": "boat left",
    "unknown": "unknown",
    "": "",
}
PLACES = {
    "lower": "lower end",
    "run": "wire",
    "upper": "upper end",
    "whole": "whole part",
    "": "",
}
LEVELS = {"deck": "deck check", "aloft": "aloft", "mast_down": "mast-down, opened"}


def place(code: str) -> str:
    """A spot of a part, or a place of the boat, in words."""
    return PLACES.get(code, code.replace("_", " "))


def stay(key: tuple[str, str, str]) -> str:
    """One stay as a list of stays names it: ``mizzen cap shroud port``."""
    mast, name, side = key
    words = ("mizzen" if mast == "mizzen" else "", STAYS[name], side)
    return " ".join(word for word in words if word)
