"""What drives a life, by when to look and why to renew, in words people act on."""

import datetime as dt
from collections.abc import Mapping, Sequence

import numpy as np

from fleet.models import CruisingGround
from fleet.templatetags.wording import day, percent
from inspections.models import Inspection

from ..life_data.covariates import FEWEST_MILES, REFERENCE_MILES, REFERENCE_SEVERITY
from ..planning.drivers import Driver, drivers
from ..survival import LifeModel

SHOWN = 3
SELDOM = 0.05  # of the off seasons with the mast down: as good as never
HARDLY = 0.03  # log life: a factor nearer to 1 than this is not worth a line
SHARE_WORDS = ((0.95, ""), (0.5, " most of the time"), (0.0, " some of the time"))


def spread_words(model: LifeModel) -> str:
    """Return by how much boats differ, one spread either way; nothing where they do not."""
    if model.boat_spread < HARDLY:
        return ""
    said = f"beside ground and use, boats differ: lives x/÷ {np.exp(model.boat_spread):.2f}"
    if not model.boat_spread_band:
        return said
    low, high = np.exp(model.boat_spread_band)
    return f"{said} from boat to boat ({low:.2f} to {high:.2f})"


def boat_words(life: Sequence[float], what: str = "this boat's wires") -> str:
    """Return how long a boat's parts last beside others of their kind: middle, low, high."""
    middle, low, high = life
    about = "as long as" if abs(np.log(middle)) < HARDLY else f"{middle:.2g} times as long as"
    return f"{what} last about {about} others of their kind, {low:.2g} to {high:.2g}"


def unit_drivers(model: LifeModel) -> dict[str, Driver]:
    """Return for each covariate what one unit of it does to life."""
    names = model.columns
    return {driver.column: driver for driver in drivers(model, names, np.ones(len(names)))}


def driver_words(values: Mapping[str, float], units: Mapping[str, Driver]) -> list[str]:
    """Return up to three sentences on what makes a part's life differ, the strongest first.

    values: covariate -> value of the part. Compared with the reference boat: C4, 3,000 miles a
    year, 1x19, swaged, mast up in the off season, private.
    """
    found = [
        (name, values[name], _raised(unit, values[name]))
        for name, unit in units.items()
        if values.get(name)
    ]
    found.sort(key=lambda each: -abs(np.log(each[2][1])))
    worth_it = [each for each in found if abs(np.log(each[2][1])) >= HARDLY]
    unstepped = values.get("unstepped", 0.0)
    causes = CAUSES | {"severity": lambda value: _ground(value, unstepped)}
    return [_sentence(causes[name](value), factors) for name, value, factors in worth_it[:SHOWN]]


def _raised(unit: Driver, value: float) -> tuple[float, float, float]:
    low, high = sorted((unit.low**value, unit.high**value))
    return low, unit.factor**value, high


def _sentence(cause: str, factors: Sequence[float]) -> str:
    low, middle, high = factors
    between = "by common practice" if high < 1.001 * low else f"{low:.2g} to {high:.2g}"
    return f"{cause}: lives {middle:.2g} times as long, {between}"


def _ground(value: float, unstepped: float = 0.0) -> str:
    categories = list(CruisingGround.Corrosivity)
    step = int(np.clip(round(value + REFERENCE_SEVERITY), 0, len(categories) - 1))
    winter = "kept up all winter on" if unstepped < SELDOM else "kept on"
    return f"{winter} {_with_article(categories[step].label.split(' ', 1)[1])}"


def _with_article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _miles(value: float) -> str:
    miles = REFERENCE_MILES * 2**value
    if miles <= FEWEST_MILES:
        return f"sails {FEWEST_MILES:,.0f} miles a year or fewer"
    return f"sails about {round(miles, -2):,.0f} miles a year"


def _share(value: float, words: str) -> str:
    return words + next(extra for least, extra in SHARE_WORDS if value >= least)


CAUSES = {
    "log2_miles": _miles,
    "rod": lambda value: "rod, not 1x19",
    "mechanical": lambda value: "mechanical lower terminal, not swaged",
    "unstepped": lambda value: _share(value, "mast down in the off season"),
    "charter": lambda value: _share(value, "in charter"),
}


LOOKS = {"deck": "deck check", "aloft": "look aloft", "mast_down": "look with the mast down"}


def level_words(level: str) -> str:
    return str(Inspection.Level(level).label)


LEAST_SAID = 0.0005  # Below, a share in percent with one decimal would print as nothing.


def look_by_risk(level: str, chance: float, after: float, limit: float, late: bool) -> str:
    """Return why a boat is to be looked at by the day its risk reaches the fleet's limit."""
    reached = (
        f"is {percent(chance)} already, past the fleet's limit of {percent(limit)}"
        if late
        else f"reaches the fleet's limit of {percent(limit)} that day"
    )
    left = f"leaves {percent(after)}" if after >= LEAST_SAID else "leaves nothing unseen"
    return (
        f"The chance that a part stands condemned, unseen, {reached}. "
        f"A {LOOKS[level]} that passes it {left}, that day."
    )


def look_by_rule(level: str, months: int, due: dt.date, chance: float) -> str:
    """Return why a boat is to be looked at by the fleet's own interval, before risk asks for it."""
    return (
        f"The fleet's rule: {level_words(level)} every {months} months, due {day(due)}. Today's "
        f"chance that a part stands condemned, unseen, is {percent(chance)}."
    )


def renew_words(
    rule_age: float,
    flat: tuple[float, float],
    oldest_watched: float,
    own_record: bool,
    age_known: bool,
    whose_rule: str = "the fleet's rule",
) -> str:
    """Return why a part is to be renewed by its date: the fleet's rule or what costs least.

    rule_age: years, inf for none. flat: ages between which the cost a year is within 2 % of the
    least. whose_rule: who asks for that age. own_record: the model is the fleet's own, which
    watched parts up to ``oldest_watched``.
    """
    if rule_age <= flat[1]:
        said = [f"{whose_rule}: {rule_age:g} years"]
    else:
        said = [f"costs least if renewed at {flat_words(flat)} years"]
        if not own_record:
            said.append("by rule of thumb")
        elif flat[1] > oldest_watched:
            said.append("beyond the ages on record")
    if not age_known:
        said.append("taken to be as old as it can be")
    return ", ".join(said)


def flat_words(flat: tuple[float, float]) -> str:
    return f"{flat[0]:.0f} to {flat[1]:.0f}"


def past_cost_age(age: float, flat: tuple[float, float]) -> str:
    """Return why a part past its flat band is on the refit list; ages in years."""
    return (
        f"{age:.1f} years old by the season's end: it costs least if renewed at "
        f"{flat_words(flat)}, and more from then on."
    )


def dear_to_keep(chance: float) -> str:
    """Return why a part is on the refit list that another season would make dear."""
    return (
        f"{percent(chance)} likely to be condemned by the season's end: keeping it another season "
        "costs clearly more than a year of a new part."
    )


def counted(number: float, one: str, many: str = "") -> str:
    """Return ``1 boat``, ``1,200 boats``."""
    return f"{number:,.0f} {one if number == 1 else many or one + 's'}"
