"""Collect the static files, with the script that draws charts among them."""

from django.contrib.staticfiles.management.commands import collectstatic

from fleet import chart_script


class Command(collectstatic.Command):
    def handle(self, **options) -> str | None:
        chart_script.ensure()
        return super().handle(**options)
