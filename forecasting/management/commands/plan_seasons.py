"""Work out the plans of several off seasons anew: ``plan_seasons [--fleet SLUG]``."""

from django.core.management.base import BaseCommand, CommandError

from fleet.checks import OWN_CHECKS
from forecasting import season_planning
from forecasting.models import SeasonScenario
from forecasting.steps import runs
from inspections import rounds


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Every scenario of the coming off seasons anew, by the models in force."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--fleet", default="", metavar="NAME", help="name in the address")

    def handle(self, *args, **options) -> None:
        try:
            fleets = rounds.fleets(options["fleet"])
        except LookupError as fault:
            raise CommandError(str(fault)) from fault
        for scenario in SeasonScenario.objects.filter(fleet__in=fleets).select_related("fleet"):
            self.one(scenario)

    def one(self, scenario: SeasonScenario) -> None:
        fleet = scenario.fleet
        self.stdout.write(f"{fleet.name}, {scenario.name}, as of {fleet.today():%d %b %Y}")
        try:
            plan = season_planning.run(
                scenario, fleet.today(), lambda text: self.stdout.write(f"  {text}"), lambda: None
            )
        except (runs.NoModels, season_planning.NothingStands, ValueError) as reason:
            raise CommandError(f"{fleet.name}, {scenario.name}: {reason}") from reason
        renewed = sum(job.season is not None for job in plan.jobs)
        self.stdout.write(f"  {renewed} parts in five seasons, gap {100 * plan.gap:.3f} %")
        for each in plan.excess:
            self.stdout.write(
                f"  Short of {each.kind}: {each.over:,.1f} over {each.limit:,.1f}, season "
                f"{each.season + 1}"
            )
