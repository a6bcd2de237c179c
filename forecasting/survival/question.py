"""What is asked of a fit on the command line, read and checked: ages, a condition, covariates."""

import math
from collections.abc import Sequence
from dataclasses import dataclass


class Unclear(ValueError):
    """A question that cannot be answered; its text says what would be right."""


@dataclass(frozen=True)
class Question:
    """Survival to each of the ages, given survival to `given`, at covariates x (0 if not named)."""

    ages: tuple[float, ...] = ()
    given: float = 0.0
    x: tuple[tuple[str, float], ...] = ()

    @classmethod
    def read(
        cls, ages: str | None, given: str | None, covariates: str | None, names: Sequence[str]
    ) -> "Question":
        """From the words of the options. names: the file's covariates. Raises Unclear."""
        if ages is None:
            if given is not None or covariates is not None:
                raise Unclear("--given and --covariates say nothing without --survival-at AGES.")
            return cls()
        asked = tuple(_age(word, "--survival-at") for word in ages.split(","))
        start = 0.0 if given is None else _age(given, "--given")
        early = [age for age in asked if age < start]
        if early:
            raise Unclear(
                f"--survival-at {early[0]:g} lies before --given {start:g}: ask for ages from "
                "there on."
            )
        return cls(asked, start, _values(covariates, names))


def within_asked(word: str | None, boats_differ: bool) -> float | None:
    """The age of --expected-within, or None. Raises Unclear."""
    if word is None:
        return None
    if boats_differ:
        raise Unclear("--expected-within takes boats as alike: leave --boat-effect off.")
    within = _age(word, "--expected-within")
    if within <= 0:
        raise Unclear("--expected-within: give an age above 0.")
    return within


def _age(word: str, option: str) -> float:
    age = number(word)
    if not 0 <= age < math.inf:
        raise Unclear(f"{option}: {word.strip()!r} is not an age; give numbers of 0 or more.")
    return age


def _values(covariates: str | None, names: Sequence[str]) -> tuple[tuple[str, float], ...]:
    found: dict[str, float] = {}
    for pair in (covariates or "").split(",") if covariates is not None else ():
        name, given, word = (part.strip() for part in pair.partition("="))
        value = number(word)
        if not given or not math.isfinite(value):
            raise Unclear(f"--covariates: {pair.strip()!r} is not of the form name=number.")
        if name not in names:
            there = f"has {', '.join(names)}" if names else "has none"
            raise Unclear(f"--covariates: the file has no covariate {name!r}; it {there}.")
        if name in found:
            raise Unclear(f"--covariates: {name} is given twice.")
        found[name] = value
    return tuple(found.items())


def number(word: str) -> float:
    """The number, nan for anything else; only what a person would write as one."""
    try:
        return float(word) if word.strip().isascii() and "_" not in word else math.nan
    except ValueError:
        return math.nan
