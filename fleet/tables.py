"""The table of long work."""

import datetime as dt

import django_tables2 as tables
from django.utils.html import format_html

from .models import WorkRow


class WorkTable(tables.Table):
    """Every piece of long work, newest first."""

    asked_at = tables.Column(
        verbose_name="Asked",
        linkify={"viewname": "work", "args": [tables.A("fleet__slug"), tables.A("pk")]},
        order_by=("asked_at", "pk"),
    )
    kind = tables.Column(verbose_name="What", order_by=("kind", "-asked_at", "pk"))
    asked_by = tables.Column(
        verbose_name="By", default="the clock", order_by=("asked_by__username", "-asked_at", "pk")
    )
    state = tables.Column(order_by=("state", "-asked_at", "pk"))
    outcome = tables.Column(verbose_name="What came of it", empty_values=(), orderable=False)

    class Meta:
        model = WorkRow
        fields = ()
        order_by = ("-asked_at",)
        empty_text = "Nothing long has been asked for yet: an import or a refresh shows here."

    def render_asked_at(self, value: dt.datetime) -> str:
        return f"{value.day} {value:%b %Y %H:%M} UTC"

    def render_asked_by(self, value) -> str:
        return value.get_full_name() or value.get_username()

    def render_outcome(self, record: WorkRow) -> str:
        return format_html("<span>{}</span>", record.outcome or record.step)
