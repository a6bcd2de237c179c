"""Forms for a fleet's own rules."""

from django import forms

from .models import Fleet


class RulesForm(forms.ModelForm):
    """The intervals, limits and calendar a manager may change."""

    class Meta:
        model = Fleet
        fields = [
            "deck_check_months",
            "aloft_months",
            "mast_down_months",
            "alike_days",
            "deck_check_hours",
            "aloft_hours",
            "mast_down_hours",
            "age_rule_years",
            "insurer_age_years",
            "risk_limit",
            "watches_needed",
            "price_growth",
            "reminders_from",
            "off_season_start",
            "off_season_end",
            "fiscal_year_start",
            "budget_years",
            "boats_owned_by",
            "rigging_paid_by",
        ]
        labels = {
            "deck_check_months": "Deck check at least every, months",
            "aloft_months": "Aloft at least every, months",
            "mast_down_months": "Mast down and opened at least every, months",
            "alike_days": "Look at parts like one that went within, days",
            "deck_check_hours": "Hours of a deck check",
            "aloft_hours": "Hours of a look aloft",
            "mast_down_hours": "Hours of a look with the mast down",
            "insurer_age_years": "The insurer asks for new wires at, years",
            "age_rule_years": "Renew wires at, years",
            "risk_limit": "Inspect before the chance per boat reaches",
            "watches_needed": "Watched spots looked at again, before they are learned from",
            "budget_years": "The budget looks ahead for",
            "price_growth": "Price growth a year, as a fraction",
            "reminders_from": "Reminders go out from, hour of the day (0 to 23)",
        }
