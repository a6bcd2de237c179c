"""What a manager may put in the place of common practice, in the words people think in."""

import math
from typing import Any

from django import forms

from fleet.models import Installation
from fleet.templatetags.wording import column_words

from .survival import Prior
from .survival.prior import LEAST_B10_LOG_SD, NORMAL_90, SLOPES, SPOTS

LEAST_FACTOR = math.exp(NORMAL_90 * LEAST_B10_LOG_SD)
SLOPE_FIELD = "factor_"
SHARE_FIELD = "share_"
ROUNDING = 0.011  # three shares given to two decimals may miss 1 by a hundredth


class PracticeForm(forms.Form):
    """B10, its doubt, the shape, how boats and spots differ, factors on life, and the reason."""

    kind = forms.ChoiceField(choices=Installation.Kind.choices, widget=forms.HiddenInput)
    b10 = forms.FloatField(
        label="One in ten condemned by, years",
        min_value=0.5,
        max_value=100,
        help_text="On the reference boat: temperate coast, 3,000 miles a year, 1x19 with swaged "
        "terminals, mast up all winter, private. A rule-of-thumb age for renewal is such an early "
        "age, not the middle of life.",
    )
    doubt = forms.FloatField(
        label="Nine times in ten right within a factor of",
        min_value=1.9,
        max_value=10,
        help_text="2.3 means from less than half as long to over twice as long. Never below 1.93: "
        "nobody knows it better, and a sure but wrong belief misleads the forecast.",
    )
    shape = forms.FloatField(
        label="Weibull shape",
        min_value=0.5,
        max_value=10,
        help_text="1: no wear, as likely to go new as old. 3: common practice. Higher: all at "
        "about the same age.",
    )
    spread = forms.FloatField(
        label="Boats differ by a factor of up to about",
        min_value=1.02,
        max_value=3,
        help_text="How much longer or shorter parts last on one boat than on another of the same "
        "use, for reasons nobody recorded: believed to be less than this two times in three, the "
        "rest is for your record to tell. 1.02: hardly at all.",
    )
    reason = forms.CharField(
        label="Reason",
        max_length=200,
        help_text="What you know that common practice does not: kept with your name and the day.",
    )

    def __init__(self, *args: Any, prior: Prior, usual: Prior, kind: str, **kwargs: Any) -> None:
        """``prior``: what is believed now; ``usual``: common practice, said beside each field."""
        super().__init__(*args, initial={"kind": kind, **as_words(prior, kind)}, **kwargs)
        self.prior = prior
        factors = {
            SLOPE_FIELD + name: forms.FloatField(
                label=f"{column_words(name)}: lives times as long", min_value=0.2, max_value=5
            )
            for name in SLOPES
        }
        self.fields = {**self.fields, **_share_fields(kind), **factors}
        self.order_fields([name for name in self.fields if name != "reason"] + ["reason"])
        for name, value in as_words(usual, kind).items():
            field = self.fields[name]
            field.help_text = f"{field.help_text} Common practice: {value:g}.".strip()

    def clean_doubt(self) -> float:
        doubt = self.cleaned_data["doubt"]
        if doubt < LEAST_FACTOR - 0.005:
            raise forms.ValidationError(f"Not below {LEAST_FACTOR:.2f}: nobody knows it better.")
        return max(doubt, LEAST_FACTOR)

    def clean(self) -> dict[str, Any]:
        """Refuse shares that do not make a whole, each of them being a number."""
        found = super().clean()
        given = [found.get(SHARE_FIELD + spot) for spot in SPOTS]
        if None not in given and abs(sum(given) - 1) > ROUNDING:
            said = " + ".join(f"{share:g}" for share in given)
            self.add_error(
                SHARE_FIELD + SPOTS[0],
                f"Lower end, run and upper end must sum to 1: {said} is {sum(given):.4g}.",
            )
        return found

    def data_of_prior(self) -> dict[str, Any]:
        """Return the fields of a Prior as decided; of a valid form."""
        found = self.cleaned_data
        slopes = {name: math.log(found[SLOPE_FIELD + name]) for name in SLOPES}
        decided = {
            "b10": found["b10"],
            "b10_log_sd": max(LEAST_B10_LOG_SD, math.log(found["doubt"]) / NORMAL_90),
            "shape": found["shape"],
            "spread_sd": math.log(found["spread"]),
            "slopes": slopes,
        }
        shares = [found[SHARE_FIELD + spot] for spot in SPOTS if SHARE_FIELD + spot in found]
        return decided | ({"shares": [share / sum(shares) for share in shares]} if shares else {})


def _share_fields(kind: str) -> dict[str, forms.Field]:
    """The shares of the spots: only a wire has more than one."""
    if kind != Installation.Kind.WIRE:
        return {}
    fields = {
        SHARE_FIELD + spot: forms.FloatField(
            label=f"Share that goes at the {words}", min_value=0.01, max_value=0.98
        )
        for spot, words in zip(SPOTS, ("lower end", "run", "upper end"), strict=True)
    }
    fields[SHARE_FIELD + SPOTS[0]].help_text = (
        "Of the hazard of a wire whose three spots are equally old. Also where one went of which "
        "nobody noted the place. The three sum to 1."
    )
    return fields


def as_words(prior: Prior, kind: str) -> dict[str, float]:
    """Return the form's values for what is believed: field -> number, as people think of it."""
    factors = {SLOPE_FIELD + name: round(math.exp(prior.slopes[name]), 3) for name in SLOPES}
    shares = {SHARE_FIELD + s: round(v, 3) for s, v in zip(SPOTS, prior.shares, strict=True)}
    doubt = math.exp(NORMAL_90 * prior.b10_log_sd)
    return {
        "b10": prior.b10,
        "doubt": round(doubt, 2),
        "shape": prior.shape,
        "spread": round(math.exp(prior.spread_sd), 2),
        **(shares if kind == Installation.Kind.WIRE else {}),
        **factors,
    }
