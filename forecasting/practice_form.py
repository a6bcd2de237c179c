"""What a manager may put in the place of common practice, in the words people think in."""

import math
from typing import Any

from django import forms

from fleet.models import Installation
from fleet.templatetags.wording import column_words

from .survival import Prior
from .survival.prior import LEAST_B10_LOG_SD, NORMAL_90, SLOPES

LEAST_FACTOR = math.exp(NORMAL_90 * LEAST_B10_LOG_SD)
SLOPE_FIELD = "factor_"


class PracticeForm(forms.Form):
    """B10, its doubt, the shape and the factors on life, with the reason for them."""

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
    reason = forms.CharField(
        label="Reason",
        max_length=200,
        help_text="What you know that common practice does not: kept with your name and the day.",
    )

    def __init__(self, *args: Any, prior: Prior, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, initial={"kind": kind, **as_words(prior)}, **kwargs)
        self.prior = prior
        factors = {
            SLOPE_FIELD + name: forms.FloatField(
                label=f"{column_words(name)}: lives times as long", min_value=0.2, max_value=5
            )
            for name in SLOPES
        }
        self.fields = {**self.fields, **factors}
        self.order_fields([name for name in self.fields if name != "reason"] + ["reason"])

    def clean_doubt(self) -> float:
        doubt = self.cleaned_data["doubt"]
        if doubt < LEAST_FACTOR - 0.005:
            raise forms.ValidationError(f"Not below {LEAST_FACTOR:.2f}: nobody knows it better.")
        return max(doubt, LEAST_FACTOR)

    def data_of_prior(self) -> dict[str, Any]:
        """Return the fields of a Prior as decided; of a valid form."""
        found = self.cleaned_data
        slopes = {name: math.log(found[SLOPE_FIELD + name]) for name in SLOPES}
        return {
            "b10": found["b10"],
            "b10_log_sd": max(LEAST_B10_LOG_SD, math.log(found["doubt"]) / NORMAL_90),
            "shape": found["shape"],
            "slopes": slopes,
        }


def as_words(prior: Prior) -> dict[str, float]:
    """Return the form's first values: what is believed now."""
    factors = {SLOPE_FIELD + name: round(math.exp(prior.slopes[name]), 3) for name in SLOPES}
    doubt = math.exp(NORMAL_90 * prior.b10_log_sd)
    return {"b10": prior.b10, "doubt": round(doubt, 2), "shape": prior.shape, **factors}
