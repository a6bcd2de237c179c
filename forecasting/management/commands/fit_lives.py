"""Fit a life distribution to a CSV file of lives. Needs no database and no secret.

Exit codes: 0 fitted, 2 the file or an option is wrong, 3 refused (with the reason).
"""

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
from django.core.management.base import BaseCommand, CommandError

from forecasting.survival import FAMILIES, LifeModel, Lives, Refusal, fit
from forecasting.survival.lives_file import FaultyFile, read_lives

WRONG_INPUT = 2
REFUSED = 3


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
        parser.add_argument("--family", choices=tuple(FAMILIES), default="weibull")
        parser.add_argument("--json", action="store_true", help="one JSON object on stdout")
        parser.add_argument(
            "--rule-of-thumb",
            choices=("off",),
            default="off",
            help="off: plain maximum likelihood, nothing but the file (the only choice)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            lives = read_lives(options["lives"])
        except OSError as wrong:
            raise CommandError(
                f"{options['lives']}: cannot be read ({wrong.strerror}).", returncode=WRONG_INPUT
            ) from wrong
        except FaultyFile as wrong:
            raise CommandError(f"{options['lives']}:\n{wrong}", returncode=WRONG_INPUT) from wrong
        outcome = fit(lives, options["family"])
        refused = isinstance(outcome, Refusal)
        report = refused_report(outcome, options["family"], lives) if refused else fitted(outcome)
        self.stdout.write(
            json.dumps(report, allow_nan=False) if options["json"] else as_text(report)
        )
        if refused:
            raise CommandError(f"Refused. {outcome.sentence}", returncode=REFUSED)


def fitted(model: LifeModel) -> dict[str, Any]:
    """The model as the JSON object of the command; errors that cannot be given are null."""
    columns = zip(model.names, model.estimate, model.se, model.se_by_cluster, strict=True)
    return {
        "status": "fitted",
        "reason": None,
        "warnings": list(model.warnings),
        "family": model.family,
        "log_likelihood": model.log_likelihood,
        "aic": model.aic,
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
            }
            for name, estimate, se, by in columns
        ],
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
    }


def as_text(report: dict[str, Any]) -> str:
    """The report for a person: counts, coefficients, warnings."""
    lines = [f"{report['family']}: {report['status']}"]
    lines += [f"lives {report['lives']:g}, deaths {report['deaths']:g}"]
    lines += [f"left out: {reason} {weight:g}" for reason, weight in report["left_out"].items()]
    if report["status"] == "refused":
        return "\n".join([*lines, report["reason"]])
    lines += [f"log-likelihood {report['log_likelihood']:.6f}, AIC {report['aic']:.4f}"]
    lines += ["log T = intercept + sum(b x) + sigma * z;  sigma " + f"{report['sigma']:.6g}", ""]
    width = max(len(row["name"]) for row in report["coefficients"])
    lines += [f"{'':{width}}  {'estimate':>12}  {'se':>12}  {'se by boat':>12}"]
    for row in report["coefficients"]:
        numbers = (row["estimate"], row["se"], row["se_by_boat"])
        cells = "  ".join(f"{'-' if n is None else format(n, '.6g'):>12}" for n in numbers)
        lines.append(f"{row['name']:{width}}  {cells}")
    return "\n".join([*lines, *(f"Warning: {warning}" for warning in report["warnings"])])


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
