"""What a new board of the yard is made from: the refit list, or one season of a plan of seasons."""

from django import forms

from fleet.models import Base, Fleet

from . import yard_planning, yard_reads
from .models import RefitJob, SeasonScenario, YardPlan
from .yard_calendar import span_of

REFIT = "refit"


class NewBoardForm(forms.Form):
    """One choice of all that has no board yet."""

    made_from = forms.ChoiceField(label="From")

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fleet = fleet
        self.fields["made_from"].choices = sources(fleet)

    @property
    def nothing(self) -> bool:
        return not self.fields["made_from"].choices

    def save(self, by) -> YardPlan:
        """Make the board's row; its weeks are worked out by a work of its own."""
        chosen = self.cleaned_data["made_from"]
        if chosen == REFIT:
            return yard_planning.plan_for(self.fleet, by=by)
        pk, number = map(int, chosen.split("-"))
        scenario = SeasonScenario.objects.of(self.fleet).get(pk=pk)
        return yard_planning.plan_for(self.fleet, scenario, number, by)


def sources(fleet: Fleet) -> list[tuple[str, str]]:
    """Return value and words of everything a board can be made from and is not yet."""
    boards = yard_reads.yard_plans(fleet)
    of_list = set(boards.filter(scenario=None).values_list("season", flat=True))
    season = coming_season(fleet)
    found = []
    if RefitJob.objects.of(fleet).exists() and season not in of_list:
        found.append((REFIT, f"the refit list, {season}"))
    taken = set(boards.values_list("scenario", "scenario_season"))
    for scenario in SeasonScenario.objects.of(fleet).exclude(planned_at=None):
        found += [
            (f"{scenario.pk}-{number}", f"{scenario.name}, {label}")
            for number, label in enumerate(scenario.found.get("labels", []))
            if (scenario.pk, number) not in taken
        ]
    return found


def coming_season(fleet: Fleet) -> str:
    """Return the off season a board of the refit list is of, as ``plan_for`` calls it."""
    base = Base.objects.of(fleet).first()
    return span_of(base, fleet.today()).season.label if base else ""
