"""How reminders stand, in one line: no number is left out that somebody has to act on."""

import pytest

from inspections.models import Reminder
from inspections.reminding.outbox_words import LOST, SAID, headline


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({}, "No reminder has gone out yet"),
        ({"withdrawn": 3}, "No reminder has gone out yet"),
        ({"sent": 9, "withdrawn": 3}, "Every reminder went out"),
        ({"sent": 9, "queued": 1}, "1 reminder waits to go out"),
        ({"sent": 9, "failed": 2}, "2 reminders are being tried again"),
        ({"sending": 4, "failed": 1}, "1 reminder is being tried again, 4 are being sent"),
        (
            {"refused": 1, "bounced": 1, "missed": 2, "queued": 5, "sent": 1},
            "4 reminders did not arrive, 5 wait to go out",
        ),
    ],
)
def test_the_worst_is_said_first_and_all_went_out_only_if_all_did(numbers, words):
    assert headline(numbers) == words


def test_every_state_is_said_or_asks_nothing_of_anybody():
    said = {state for states, _, _ in SAID for state in states}
    assert said | {"sent", "withdrawn"} == set(Reminder.State.values)
    assert set(LOST) < said
