"""The table of what phones sent. It ends its order on the primary key."""

import datetime as dt
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.utils.html import format_html

from fleet.models import Fleet
from fleet.templatetags.wording import day

from ..models import DockUpload, Inspection

STATES = {
    DockUpload.State.RECEIVED: "has faults: to be mended on the phone",
    DockUpload.State.RECORDED: "recorded",
    DockUpload.State.CONFLICT: "to be decided",
    DockUpload.State.DROPPED: "set aside",
}


class UploadTable(tables.Table):
    """Every inspection that came from a phone, those that wait for a person first."""

    received = tables.Column(
        accessor="received_at", verbose_name="Came in", order_by=("received_at", "pk")
    )
    boat = tables.Column(accessor="boat__name", order_by=("boat__name", "-received_at", "pk"))
    look = tables.Column(empty_values=(), verbose_name="What", orderable=False)
    by = tables.Column(accessor="payload", verbose_name="Signed by", orderable=False)
    state = tables.Column(order_by=("waits", "-received_at", "pk"))

    class Meta:
        model = DockUpload
        fields = ()
        order_by = ("state",)
        empty_text = "No inspection has come from a phone yet."

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.zone = ZoneInfo(fleet.time_zone)

    def render_received(self, value: dt.datetime, record: DockUpload) -> str:
        local = value.astimezone(self.zone)
        words = f"{day(local.date())}, {local:%H:%M}"
        return format_html('<a href="{}/">{}</a>', record.pk, words)

    def render_look(self, record: DockUpload) -> str:
        return look_words(record.payload)

    def render_by(self, value: dict) -> str:
        return str(value.get("person") or "nobody")[:120]

    def render_state(self, value: str, record: DockUpload) -> str:
        words = STATES[record.state]
        if record.state == DockUpload.State.RECORDED:
            return words
        why = record.decided_why or record.sentence
        loud = '<strong class="held">{}</strong><small>{}</small>'
        quiet = "<span>{}<small>{}</small></span>"
        waits = record.state == DockUpload.State.CONFLICT
        return format_html(f"<span>{loud}</span>" if waits else quiet, words, why)


def look_words(payload: dict) -> str:
    """Return ``deck check, 3 Jun 2026`` of a draft that may have faults."""
    labels = dict(Inspection.Level.choices)
    level = "turn-round check" if payload.get("turn_round") else labels.get(payload.get("level"))
    try:
        on = day(dt.date.fromisoformat(payload.get("on")))
    except (TypeError, ValueError):
        on = "no date"
    return f"{level or 'no level'}, {on}"
