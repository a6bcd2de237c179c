"""Celery's doorbells. The command ``ticker`` calls the same functions where there is no broker."""

from celery import shared_task
from django.utils import timezone

from .work import claiming, doing, rounds


@shared_task
def do_work(pk: int) -> None:
    """Do one row of work, unless somebody else has it in hand or it is over."""
    row = claiming.claim(timezone.now(), pk)
    if row is not None:
        doing.do(row)


@shared_task
def tick() -> None:
    """Ask for what the clock says, and ring for the work nobody has in hand."""
    rounds.ask_due(timezone.now())
    for pk in rounds.to_ring(timezone.now()):
        do_work.delay(pk)
