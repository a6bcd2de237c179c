"""Work out the weeks of the off season: ``plan_yard [--fleet SLUG]``."""

from django.core.management.base import BaseCommand, CommandError

from fleet.models import Fleet
from forecasting import yard_planning, yard_reads
from forecasting.models import YardPlan
from inspections import rounds


class Command(BaseCommand):
    help = (
        "Which boat stands in the yard in which weeks: of the refit list, and of every plan made."
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--fleet", default="", metavar="NAME", help="name in the address")

    def handle(self, *args, **options) -> None:
        try:
            fleets = rounds.fleets(options["fleet"])
        except LookupError as fault:
            raise CommandError(str(fault)) from fault
        for fleet in fleets:
            self.of_fleet(fleet)

    def of_fleet(self, fleet: Fleet) -> None:
        current = yard_planning.plan_for(fleet)
        others = yard_reads.yard_plans(fleet).exclude(scenario=None)
        for plan in [current, *others]:
            self.one(plan)

    def one(self, plan: YardPlan) -> None:
        fleet = plan.fleet
        self.stdout.write(f"{plan}, as of {fleet.today():%d %b %Y}")
        try:
            planned = yard_planning.run(
                plan, fleet.today(), lambda text: self.stdout.write(f"  {text}"), lambda: None
            )
        except yard_planning.NothingToDo as reason:
            self.stdout.write(f"  {reason}")
            return
        self.stdout.write(f"  {yard_planning.words(planned)}")
        for each in plan.found["lacks"]:
            self.stdout.write(
                f"  Short of {each['kind']}: {each['over']:,.1f} over {each['limit']:,.1f}, week "
                f"of {each['monday']}"
            )
