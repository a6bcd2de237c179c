"""What a test of past forecasts says, in sentences."""

from collections.abc import Mapping, Sequence

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
BEYOND_CHANCE = 2.0  # standard errors
# Of steps that stray nowhere farther from the truth, 95 in 100: Nair 1984, Technometrics 26, equal
# precision bands (from memory: 2.9 to 3.1 by the share of the curve that is looked at).
BEYOND_CHANCE_ANYWHERE = 3.0
ENOUGH_POWER = 0.8
CLOSE = 0.05
RIVALS = {
    "model": "This forecast",
    "age_rule": "The fleet's age rule",
    "age_alone": "Age alone, without ground and use",
    "common_practice": "Common practice, without your record",
    "constant": "The same chance at any age",
}
VERDICTS = {
    "better": "this forecast tells clearly more",
    "worse": "this forecast tells clearly less",
    "no telling": "cannot be told apart on this record",
}


def summary(result: Mapping) -> str:
    """Return the headline: what was expected, and what was found."""
    if not result:
        return "nothing to test yet: no year was both inspected and inspected before."
    years, total = len(result["years"]), result["total"]
    over = "Over the last year" if years == 1 else f"Over the last {in_words(years)} years"
    was = "was" if total["observed"] == 1 else "were"
    return f"{over} it expected {total['expected']:.0f} condemned; {total['observed']:.0f} {was}"


def judgement(result: Mapping) -> str:
    """Return whether that is right, wrong, or too little to tell."""
    total = result["total"]
    expected, observed, power = total["expected"], total["observed"], total["power"]
    if abs(total["z"]) > BEYOND_CHANCE:
        if observed > expected:
            return (
                f"More than chance would explain: it expected too few, {observed / expected:.1f} "
                "times as many were found. Parts go sooner than it says: look earlier than its "
                "dates."
            )
        return (
            f"Fewer than chance would explain: {observed / expected:.1f} times as many as expected "
            "were found. Its dates err on the early side."
        )
    within = "The difference is within what chance does."
    if power >= ENOUGH_POWER:
        return f"{within} A forecast wrong by a fifth would have shown itself."
    return (
        f"{within} But {total['boats']} boats are too few to tell: with so many, a forecast wrong "
        f"by a fifth would have shown itself only {round(100 * power)} times in 100."
    )


def against_rule(result: Mapping, rule_years: float | None) -> str:
    """Return whether it does better than the fleet's own age rule; blank without a rule."""
    found = [row for row in result["rivals"] if row["name"] == "age_rule"]
    if not found or not rule_years:
        return ""
    rule = f"the fleet's age rule of {rule_years:g} years"
    verdict = found[0]["verdict"]
    if verdict == "better":
        return f"It tells what will be found better than {rule} does."
    if verdict == "worse":
        return f"It tells what will be found worse than {rule} does: go by the rule until it mends."
    return f"It does not beat {rule}: on this record the two cannot be told apart."


def years_title(years: Sequence[Mapping]) -> str:
    inside = sum(row["low"] <= row["observed"] <= row["high"] for row in years)
    if len(years) == 1:
        return f"{years[0]['year']}: {year_words(years[0])}"
    if inside == len(years):
        return f"In each of {in_words(len(years))} years the count fell where it was expected"
    missed = [str(row["year"]) for row in years if not row["low"] <= row["observed"] <= row["high"]]
    return (
        f"In {in_words(inside)} of {in_words(len(years))} years the count fell where it was "
        f"expected; not in {listed(missed)}"
    )


def year_words(row: Mapping) -> str:
    if row["observed"] > row["high"]:
        return "more than expected"
    return "fewer than expected" if row["observed"] < row["low"] else "as expected"


def ages_title(rows: Sequence[Mapping]) -> str:
    """Return the sentence of the chart by age band."""
    off = [row for row in rows if abs(row["z"]) > BEYOND_CHANCE]
    if not off:
        return "At every age about as many were found as expected"
    worst = max(off, key=lambda row: abs(row["z"]))
    more = "more" if worst["observed"] > worst["expected"] else "fewer"
    return (
        f"At {worst['name']} {more} were found than expected: {worst['observed']:.0f}, "
        f"not {worst['expected']:.0f}"
    )


def group_words(row: Mapping) -> str:
    """Return how one group fared, for the last column of its row."""
    if row["expected"] < 1 and row["observed"] < 1:
        return "hardly any expected, none found"
    if abs(row["z"]) <= BEYOND_CHANCE:
        return "within chance"
    return "more than expected" if row["observed"] > row["expected"] else "fewer than expected"


def curve_title(group: Mapping) -> str:
    """Return the sentence of a curve beside what was seen; its gap in points of a hundred."""
    points = 100 * group["gap"]
    name = group["name"][0].upper() + group["name"][1:]
    if points < 1:
        return f"{name}: the curve follows what was seen, nowhere a point apart"
    if group["gap"] <= max(CLOSE, BEYOND_CHANCE_ANYWHERE * group["error"]):
        return (
            f"{name}: the curve follows what was seen, nowhere more than {points:.0f} points apart"
        )
    side = "above" if group["above"] else "below"
    return (
        f"{name}: at {group['at']:.0f} years the curve stands {points:.0f} points {side} what was "
        "seen"
    )


def residuals_title(residuals: Mapping) -> str:
    points = 100 * residuals["gap"]
    if residuals["gap"] <= max(CLOSE, BEYOND_CHANCE_ANYWHERE * residuals["error"]):
        return (
            "Put on one scale, all lives together follow the forecast: nowhere more than "
            f"{max(points, 1):.0f} points apart"
        )
    return (
        f"Put on one scale, all lives together leave the forecast by up to {points:.0f} points: "
        "it does not describe them well there"
    )


def in_words(number: int) -> str:
    return NUMBERS[number] if number < len(NUMBERS) else str(number)


def listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
