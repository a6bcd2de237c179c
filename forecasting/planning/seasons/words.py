"""Why a job is where it is, from codes to sentences; and names of the limits."""

CONDEMNED, WITH_CONDEMNED, HELD, PINNED, WITH_MAST, PAYS, LATER, KEEP, EARLIER = (
    "condemned",
    "with_condemned",
    "due",
    "pinned",
    "with_mast",
    "pays",
    "later",
    "keep",
    "earlier",
)
DUE = {
    "rule_age": "the fleet's age rule",
    "insurer": "the insurer's age",
    "demand": "a demand on record",
}
LIMITS = {
    "money": "money",
    "hours": "riggers' hours",
    "crane": "crane lifts",
    "yard": "yard slots",
    "": "limits",
}


def reason(code: str, due: str = "", limit: str = "") -> str:
    """One sentence for a code; due: whose deadline; limit: the kind that is short."""
    whose, short = DUE.get(due, due or "a deadline"), LIMITS[limit]
    return {
        CONDEMNED: "Condemned: the boat does not sail until it is renewed.",
        WITH_CONDEMNED: "The other side of its pair is condemned; both go together.",
        HELD: f"Due by {whose}.",
        PINNED: "Moved here by hand.",
        WITH_MAST: "Pays because the mast is down anyway: it shares that set-up.",
        PAYS: "Waiting is expected to cost more than renewing it now.",
        LATER: f"Would be earlier; put off for lack of {short}.",
        EARLIER: f"Brought forward for lack of {short} in the season it would be in.",
        KEEP: "Keeping it is expected to cost less than renewing it in these seasons.",
    }[code]
