"""Fit a life distribution to a CSV file of lives. Needs no database and no secret.

Exit codes: 0 fitted, 2 the file or an option is wrong, 3 refused (with the reason).
"""

import argparse
import json
import math
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
from django.core.management.base import BaseCommand, CommandError

from forecasting.survival import FAMILIES, LifeModel, Lives, Refusal, fit
from forecasting.survival.by_deaths import AUTO
from forecasting.survival.choice import choose_family
from forecasting.survival.conditional import survival_given
from forecasting.survival.counts import predicted_count
from forecasting.survival.intervals import coefficient_intervals
from forecasting.survival.lives_file import FaultyFile, read_lives
from forecasting.survival.question import Question, Unclear, number, within_asked
from forecasting.survival.rule_given import fit_with_rule
from forecasting.survival.thin_ages import said_of_thin_ages

WRONG_INPUT = 2
REFUSED = 3
OFF, ON = "off", "on"
NO_ENDS = (math.nan, math.nan)  # of a coefficient that was held


class Command(BaseCommand):
    help = "Fit how long parts last to a CSV file of lives (columns: see README)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument(
            "lives",
            type=Path,
            help="CSV: boat, entry_age, good_at, condemned_at, "
            "failed_at, weight; any other column is a covariate",
        )
        parser.add_argument(
            "--family",
            choices=(*FAMILIES, AUTO),
            default="weibull",
            help="auto: weibull, unless over 150 deaths another foretells boats left out better",
        )
        parser.add_argument("--json", action="store_true", help="one JSON object on stdout")
        parser.add_argument(
            "--rule-of-thumb",
            type=rule_of_thumb,
            default=OFF,
            metavar="B10",
            help="age by which one in ten is condemned by common practice, in the file's unit: "
            "weighed together with the lives. off: plain maximum likelihood, nothing but the file",
        )
        parser.add_argument(
            "--boat-effect",
            choices=(ON, OFF),
            default=OFF,
            help="on: lives of one boat have something in common; its size is boat_spread",
        )
        parser.add_argument("--survival-at", metavar="AGES", help="ages, separated by commas")
        parser.add_argument("--given", metavar="AGE", help="survived so far (default 0)")
        parser.add_argument("--covariates", metavar="K=V,...", help="0 for those not named")

        parser.add_argument(
            "--expected-within",
            metavar="AGE",
            help="how many of the lives still good end within that much more age, with its 90 %% "
            "interval; boats are taken as alike",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        lives = read(options["lives"])
        try:
            question = Question.read(
                options["survival_at"], options["given"], options["covariates"], lives.names
            )
            within = within_asked(options["expected_within"], options["boat_effect"] == ON)
        except Unclear as wrong:
            raise CommandError(str(wrong), returncode=WRONG_INPUT) from wrong
        outcome = fitted_as_asked(lives, options)
        count = None
        if within is not None and isinstance(outcome, LifeModel):
            count = predicted_count(outcome, lives, within)
            outcome = count if isinstance(count, Refusal) else outcome
        refused = isinstance(outcome, Refusal)
        if refused:
            report = refused_report(outcome, options["family"], lives)
        else:
            report = fitted(outcome, lives, question, options["boat_effect"] == ON)
            report["expected"] = asdict(count) if count else None
        self.stdout.write(
            json.dumps(report, allow_nan=False) if options["json"] else as_text(report)
        )
        if refused:
            raise CommandError(f"Refused. {outcome.sentence}", returncode=REFUSED)


def rule_of_thumb(word: str) -> str | float:
    """The option's value: off, or an age above 0. Raises ArgumentTypeError."""
    if word == OFF:
        return OFF
    b10 = number(word)
    if not 0 < b10 < math.inf:
        raise argparse.ArgumentTypeError(f"{word!r} is neither off nor an age above 0.")
    return b10


def read(path: Path) -> Lives:
    try:
        return read_lives(path)
    except OSError as wrong:
        raise CommandError(
            f"{path}: cannot be read ({wrong.strerror}).", returncode=WRONG_INPUT
        ) from wrong
    except FaultyFile as wrong:
        raise CommandError(f"{path}:\n{wrong}", returncode=WRONG_INPUT) from wrong


def fitted_as_asked(lives: Lives, options: dict[str, Any]) -> LifeModel | Refusal:
    family, effect = options["family"], options["boat_effect"] == ON
    if options["rule_of_thumb"] != OFF:
        return fit_with_rule(
            lives, float(options["rule_of_thumb"]), family=family, boat_effect=effect
        )
    if family != AUTO:
        return fit(lives, family, boat_effect=effect)
    family, why = choose_family(lives, effect)
    model = fit(lives, family, boat_effect=effect)
    if isinstance(model, Refusal):
        return model
    return replace(model, warnings=(*model.warnings, why))


def fitted(model: LifeModel, lives: Lives, question: Question, boat_effect: bool) -> dict[str, Any]:
    """The model as the JSON object of the command; what cannot be given is null."""
    columns = zip(model.names, model.estimate, model.se, model.se_by_cluster, strict=True)
    differ = boat_effect and model.boat_spread_band is not None
    ends, by_what = coefficient_intervals(lives, model)
    points = survival_given(model, question.ages, question.given, dict(question.x))
    thin = said_of_thin_ages(lives, question.ages, question.given) if question.ages else []
    return {
        "status": "fitted",
        "reason": None,
        "warnings": [*model.warnings, *thin],
        "family": model.family,
        "log_likelihood": _finite(model.log_likelihood),
        "aic": _finite(model.aic),
        "lives": model.lives,
        "deaths": model.deaths,
        "left_out": dict(model.left_out),
        "sigma": model.sigma,
        "coefficients": [
            {
                "name": name,
                "estimate": float(estimate),
                "se": _finite(se),
                "se_by_boat": _finite(by),
                "lower": _finite(ends.get(name, NO_ENDS)[0]),
                "upper": _finite(ends.get(name, NO_ENDS)[1]),
            }
            for name, estimate, se, by in columns
        ],
        "intervals": by_what,
        "boat_spread": model.boat_spread if boat_effect else None,
        "boat_spread_band": list(model.boat_spread_band) if differ else None,
        "standing": model.standing,
        "rule_of_thumb": rested_on(model),
        "survival": [asdict(point) for point in points],
    }


def rested_on(model: LifeModel) -> dict[str, Any] | None:
    """B10 before and after the lives (5, 50, 95 %), where a rule of thumb was given.

    With it what another rule (divided and multiplied by 1.5) would have made of it, and the same
    lives as log-normal, where there are deaths enough to look at one.
    """
    rested = model.evidence
    if rested is None:
        return None
    return {
        "b10_before": list(rested.prior_b10),
        "b10_after": list(rested.b10),
        "share_of_own_data": rested.own_share,
        "effective_sample_size": rested.ess,
        "b10_with_another_rule": None if rested.centres is None else list(rested.centres),
        "leans_on_rule": rested.leans_on_centre,
        "b10_lognormal": None if rested.lognormal is None else rested.lognormal["b10"],
    }


def refused_report(refusal: Refusal, family: str, lives: Lives) -> dict[str, Any]:
    """The same keys for a refusal, with its reason."""
    counted = lives.take(~lives.never_seen)
    return {
        "status": "refused",
        "reason": refusal.sentence,
        "warnings": [],
        "family": family,
        "log_likelihood": None,
        "aic": None,
        "lives": float(counted.weight.sum()),
        "deaths": counted.deaths,
        "left_out": dict(refusal.left_out),
        "sigma": None,
        "coefficients": [],
        "intervals": None,
        "boat_spread": None,
        "boat_spread_band": None,
        "standing": None,
        "rule_of_thumb": None,
        "survival": [],
        "expected": None,
    }


def as_text(report: dict[str, Any]) -> str:
    """The report for a person: counts, coefficients, warnings."""
    lines = [f"{report['family']}: {report['status']}"]
    lines += [f"lives {report['lives']:g}, deaths {report['deaths']:g}"]
    lines += [f"left out: {reason} {weight:g}" for reason, weight in report["left_out"].items()]
    if report["status"] == "refused":
        return "\n".join([*lines, report["reason"]])
    aic = "" if report["aic"] is None else f", AIC {report['aic']:.4f}"
    if report["log_likelihood"] is not None:
        lines += [f"log-likelihood {report['log_likelihood']:.6f}{aic}"]
    lines += ["log T = intercept + sum(b x) + sigma * z;  sigma " + f"{report['sigma']:.6g}", ""]
    width = max(len(row["name"]) for row in report["coefficients"])
    heads = ("estimate", "se", "se by boat", "95 % from", "to")
    lines += [f"{'':{width}}  " + "  ".join(f"{head:>12}" for head in heads)]
    for row in report["coefficients"]:
        numbers = (row[key] for key in ("estimate", "se", "se_by_boat", "lower", "upper"))
        cells = "  ".join(f"{'-' if n is None else format(n, '.6g'):>12}" for n in numbers)
        lines.append(f"{row['name']:{width}}  {cells}")
    lines += [f"Intervals: {report['intervals']}.", *more_lines(report)]
    return "\n".join([*lines, *(f"Warning: {warning}" for warning in report["warnings"])])


def more_lines(report: dict[str, Any]) -> list[str]:
    """What was asked for beside the fit: boats, rule of thumb, survival."""
    lines = []
    if report["boat_spread"] is not None:
        low, high = report["boat_spread_band"] or (0.0, 0.0)
        reach = f" ({math.exp(low):.3g} to {math.exp(high):.3g})" if high else ""
        lines.append(f"boats differ by x/÷ {math.exp(report['boat_spread']):.3g}{reach}")
    if rule := report["rule_of_thumb"]:
        low, middle, high = rule["b10_after"]
        lines.append(
            f"B10 {middle:.4g} ({low:.4g} to {high:.4g}); by rule of thumb "
            f"{rule['b10_before'][1]:.4g}; {rule['share_of_own_data']:.0%} from these lives"
        )
        if rule["leans_on_rule"]:
            low, high = rule["b10_with_another_rule"]
            lines.append(f"with the rule of thumb 1.5 times lower or higher: {low:.4g}, {high:.4g}")
        if rule["b10_lognormal"]:
            lines.append(f"B10 if lives were log-normal: {rule['b10_lognormal']:.4g}")
    survival = (
        f"survives {point['age']:g}: {point['estimate']:.4f} "
        f"({point['lower']:.4f} to {point['upper']:.4f})"
        for point in report["survival"]
    )
    if count := report["expected"]:
        lines.append(
            f"of {count['standing']:g} still good {count['mean']:.4g} are expected to go within "
            f"{count['within']:g} ({count['lower']} to {count['upper']}, {count['level']:.0%})"
        )
    return [*lines, *survival]


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
