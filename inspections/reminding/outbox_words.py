"""How all reminders of a fleet stand, in one line. Pure: numbers by state in, words out."""

from collections.abc import Mapping, Sequence

LOST = ("refused", "bounced", "missed")  # Nothing tries these again.
# States, what is said of one, what of several; the worst first.
SAID: Sequence[tuple[Sequence[str], str, str]] = (
    (LOST, "did not arrive", "did not arrive"),
    (("failed",), "is being tried again", "are being tried again"),
    (("sending",), "is being sent", "are being sent"),
    (("queued",), "waits to go out", "wait to go out"),
)


def headline(numbers: Mapping[str, int]) -> str:
    """Return what is to be known of them, the worst first; ``numbers`` by state, without zeros."""
    said = []
    for states, one, several in SAID:
        number = sum(numbers.get(state, 0) for state in states)
        if number:
            noun = "" if said else " reminder" if number == 1 else " reminders"
            said.append(f"{number}{noun} {one if number == 1 else several}")
    if said:
        return ", ".join(said)
    return "Every reminder went out" if numbers.get("sent") else "No reminder has gone out yet"
