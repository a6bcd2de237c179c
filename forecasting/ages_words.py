"""Renewal ages and intervals of looks in the words of pages and files."""

from fleet.models import Fleet, Price
from fleet.templatetags.wording import about, day, figure, money

from .models import AgeGroup, LookCurve, ModelRun

SAME = 0.02  # costs within this are the same: the band is drawn by it
FAR = 100  # months: an interval beyond this is said as "or more"
LONG = 40  # years: beyond it, and what was watched, no age to plan by (common practice, no source)
KEEP = "inspect and keep"
SEEN_FROM = {"deck": "lower ends", "aloft": "wires and upper ends"}
LOOKS = {"deck": "Look from deck", "aloft": "Inspect aloft"}


def key(group: AgeGroup) -> str:
    """Return what names a group in an address; the same after a refresh."""
    sort = "-".join(filter(None, [group.kind, group.construction]))
    return f"{sort}-{group.service}-{group.base_id}"


def name(group: AgeGroup) -> str:
    """Return ``1x19 wires on charter boats at Port Carrow``."""
    sort = " ".join(filter(None, [group.get_construction_display(), group.kind]))
    return f"{sort}s on {group.get_service_display()} boats at {group.base.name}"


def sentence(group: AgeGroup) -> str:
    """Return what to do with the group, and what keeping every part until condemned costs."""
    found = group.own
    if found["age"] is None:
        said = f"Inspect and keep {name(group)}: no age is found at which renewing them all pays"
    elif too_far(group, found):
        said = (
            f"Inspect and keep {name(group)}: the age at which renewing them all would cost least "
            f"lies beyond {LONG} years, and none was watched beyond {years(group.oldest)}"
        )
    elif found["flat_until"] is None:
        said = (
            f"Renew {name(group)} from {years(found['flat_from'])} on, if not condemned before; "
            "keeping until condemned costs hardly more"
        )
    else:
        said = (
            f"Renew {name(group)} at {between(found)}, if not condemned before; keeping until "
            f"condemned costs {more(found['keep'], found)} a year"
        )
    return f"By rule of thumb: {said[0].lower()}{said[1:]}" if group.by_thumb else said


def between(found: dict) -> str:
    """Return the flat band in whole years, ``9 to 12 years``; ``none`` where no age is best."""
    if found["age"] is None:
        return KEEP
    if found["flat_until"] is None:
        return f"{found['flat_from']:.0f} years or later"
    first, last = round(found["flat_from"]), round(found["flat_until"])
    return years(first) if first >= last else f"{first} to {years(last)}"


def to_plan_by(group: AgeGroup, found: dict) -> dict:
    """Return what was found, without its ages where they lie too far off to plan by."""
    none = dict.fromkeys(("age", "flat_from", "flat_until"))
    return found | none if too_far(group, found) else found


def too_far(group: AgeGroup, found: dict) -> bool:
    """Return whether the whole band lies where nobody has watched any such part."""
    return found["age"] is not None and found["flat_from"] > max(group.oldest, LONG)


def years(age: float) -> str:
    return "1 year" if round(age) == 1 else f"{age:.0f} years"


def more(cost: int | None, found: dict) -> str:
    """Return by how much a cost a year is above the least, ``14% more``; blank for none."""
    if cost is None:
        return ""
    part = cost / max(found["least"], 1) - 1
    return "no more" if part < SAME / 4 else f"{part:.0%} more"


def told(group: AgeGroup) -> dict:
    """Return a row of the table of all groups."""
    found = group.own
    return {
        "key": key(group),
        "name": name(group)[0].upper() + name(group)[1:],
        "boats": group.boats,
        "parts": group.parts,
        "at": between(to_plan_by(group, found)),
        "beyond": beyond(group) and not too_far(group, found),
        "least": found["least"],
        "keep": more(found["keep"], found),
        "rule": more(found["rule"], found),
        "by_thumb": group.by_thumb,
    }


def columns(group: AgeGroup) -> list[dict]:
    """Return the answers for three costs of a failure, a column each."""
    return [
        {**found, "at": between(to_plan_by(group, found)), "dearer": more(found["keep"], found)}
        for found in group.by_cost
    ]


def look_columns(row: LookCurve) -> list[dict]:
    """Return the answers for three costs of a failure, a column each."""
    return [{**found, "every": look_band(found)} for found in row.by_cost]


def look_told(row: LookCurve) -> dict:
    """Return a row of the table of all bases and levels."""
    return {
        "key": look_key(row),
        "name": f"{LOOKS[row.level]} at {row.base.name}",
        "seen": SEEN_FROM[row.level],
        "boats": row.boats,
        "every": look_band(row.own),
        "rule": row.rule_months,
        "defects": row.defects,
        "cost": row.own["cost"],
        "at_rule": row.own["rule"],
    }


def look_key(row: LookCurve) -> str:
    return f"{row.level}-{row.base_id}"


def lead_words(group: AgeGroup) -> str:
    """Return what stands under the answer: how flat the cost is, and what was never watched."""
    if group.own["age"] is None:
        return (
            "Either such parts do not wear out by what is known, or a planned renewal saves too "
            "little over one found condemned: no age costs clearly less than keeping them."
        )
    if too_far(group, group.own):
        return (
            f"No such part was watched beyond {years(group.oldest)}; a curve drawn on so far names "
            "no age to plan by. Until then the yearly cost falls with every year a part is kept."
        )
    said = ["At any of those ages the yearly cost is within 2% of the least."]
    if beyond(group):
        said.append(
            f"No such part was watched beyond {years(group.oldest)}: the age is read off a curve "
            "drawn on."
        )
    return " ".join(said)


def failure_words(fleet: Fleet, group: AgeGroup) -> str:
    """Return whose price of a failure in service was taken."""
    if Price.objects.of(fleet).filter(item=Price.Item.FAILURE).exists():
        return "A failure in service is priced by the fleet's own list."
    taken = about(group.own["failure"], fleet.currency)
    return f"The fleet lists no price of a failure in service: {taken} is taken, from memory."


def curve_title(group: AgeGroup, fleet: Fleet) -> str:
    """Return the sentence the cost curve says: what a part costs a year by the age chosen."""
    found, unit = group.own, fleet.currency
    if too_far(group, found):
        return f"Kept until condemned, such a part costs {money(found['keep'], unit)} a year"
    if found["age"] is None:
        return f"Whatever the age, such a part costs {money(found['keep'], unit)} a year or more"
    said = [f"Renewed at {years(found['age'])}, such a part costs {money(found['least'], unit)} a "
            "year"]  # fmt: skip
    if found["rule"] is not None:
        said.append(f"at {years(group.rule_age)}, as the rule asks, {figure(found['rule'], unit)}")
    return "; ".join([*said, f"kept until condemned, {figure(found['keep'], unit)}"])


def rests_on(group: AgeGroup) -> str:
    """Return what an answer rests on, in a few words."""
    if group.by_thumb:
        return "common practice"
    return "own record" if not beyond(group) else f"own record to {group.oldest:.0f} years"


def standing(group: AgeGroup, run: ModelRun | None) -> str:
    """Return in a sentence what the life of such parts rests on."""
    if run is None or group.by_thumb:
        return f"Common practice alone says how long {group.kind}s last: too few were condemned."
    own = f"From {run.deaths:.0f} times that a {group.kind} was condemned, to {day(run.as_of)}"
    together = run.state == ModelRun.State.POSTERIOR
    return own + (", weighed together with common practice." if together else ".")


def beyond(group: AgeGroup) -> bool:
    """Return whether the age lies beyond the oldest at which such parts were watched."""
    return group.own["age"] is not None and group.own["age"] > group.oldest


def saved(group: AgeGroup) -> int:
    """Return what the age saves a year over keeping until condemned, all parts together."""
    return group.parts * (group.own["keep"] - group.own["least"])


def lead(groups: list[AgeGroup]) -> AgeGroup | None:
    """Return the group at which most money is at stake, one told by the own record if there is."""
    own = [group for group in groups if not group.by_thumb]
    return max(own or groups, key=lambda group: (saved(group), -group.pk), default=None)


def look_sentence(row: LookCurve) -> str:
    """Return how often to look by cost alone, and what the fleet's own rule costs beside it."""
    found, rule = row.own, row.rule_months
    often = f"{LOOKS[row.level]} at {row.base.name} every {look_band(found)}"
    extra = found["rule"] / max(found["cost"], 1) - 1
    costs = "cost the same" if extra < SAME else f"cost {extra:.0%} more"
    sooner = " and find more in time" if extra >= SAME and rule < found["best"] else ""
    return f"{often}, by cost alone; your {rule} months {costs}{sooner}"


def look_band(found: dict) -> str:
    """Return the intervals within 2 % of the least, ``5 to 9 months``."""
    low, high = max(round(found["flat_from"]), 1), round(found["flat_until"])
    if found["best"] < 1:
        return "month or less"
    if not found["bounded"] or high > FAR:
        return f"{low} months or more"
    if high <= low:
        return "month" if low == 1 else f"{low} months"
    return f"{low} to {high} months"


def look_title(row: LookCurve, fleet: Fleet) -> str:
    """Return the sentence of the curve: what looking and not looking cost, a boat and year."""
    found = row.own
    return (
        f"Every {found['best']:.0f} months, looks and what they find cost "
        f"{money(found['cost'], fleet.currency)} a boat and year; every {row.rule_months}, by your "
        f"rule, {figure(found['rule'], fleet.currency)}"
    )
