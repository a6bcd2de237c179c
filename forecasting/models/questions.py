"""The questions every row of the forecast answers: whose is it, is it in force?"""

from django.db import models

from fleet.models import Fleet


class RunQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "RunQuerySet":
        return self.filter(fleet=fleet)

    def in_force(self) -> "RunQuerySet":
        return self.filter(in_force=True)


class OfBoat(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfBoat":
        return self.filter(boat__fleet=fleet)
