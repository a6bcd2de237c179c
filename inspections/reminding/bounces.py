"""Mail that came back: a delivery status message (RFC 3464) becomes a fact about its reminders.

The message is known by the Message-ID of what came back, which nobody outside can work out, and the
recipient it names must be the one we wrote to: a forged one changes nothing.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.message import Message
from email.utils import parseaddr

from django.db import transaction

from ..models import Reminder
from . import notices
from .refusals import is_the_address

State = Reminder.State
HEADERS = ("Message-ID", "In-Reply-To", "References")
# Status codes (RFC 3463) that are about a message or a passing state, not about the address.
NOT_THE_ADDRESS = ("5.2.2", "5.2.3", "5.3.", "5.6.", "5.7.")


class NotABounce(Exception):
    """What was read is no delivery status message, or about nothing of ours; says which."""


@dataclass(frozen=True)
class Status:
    """What one recipient's part of a delivery status message says."""

    email: str
    action: str
    code: str
    words: str

    @property
    def failed(self) -> bool:
        return self.action == "failed"

    @property
    def of_address(self) -> bool:
        """Whether the address itself is at fault, for good."""
        if not self.code.startswith("5") or self.code.startswith(NOT_THE_ADDRESS):
            return False
        return self.code.startswith("5.") or is_the_address(self.words)


def record(content: bytes, now: dt.datetime) -> str:
    """Record a message that came back; return what was done, in words. Raises NotABounce."""
    message = message_from_bytes(content, policy=policy.compat32)
    statuses = list(read(message))
    if not statuses:
        raise NotABounce("This is no delivery status message (RFC 3464): it has no such part.")
    ids = set(message_ids(message))
    rows = list(Reminder.objects.filter(message_id__in=ids).exclude(message_id=""))
    if not rows:
        raise NotABounce("No reminder has the Message-ID of the message that came back.")
    return " ".join(of_one(rows, status, now) for status in statuses)


def of_one(rows: list[Reminder], status: Status, now: dt.datetime) -> str:
    """Record what one recipient's part says of that message's reminders."""
    theirs = [row for row in rows if row.to_email.lower() == status.email.lower()]
    if not theirs:
        raise NotABounce(f"It is about {status.email}, whom that message was not sent to.")
    what = f"{len(theirs)} reminders to {status.email}"
    if not status.failed:
        return f"{what}: {status.action or 'no action named'}. Nothing is changed."
    fleet = theirs[0].boat.fleet
    with transaction.atomic():
        ours = Reminder.objects.filter(pk__in=[row.pk for row in theirs])
        ours.update(state=State.BOUNCED, failure=status.words[:300], next_try_at=None)
        if status.of_address:
            notices.broken(fleet, theirs[0].to_name, theirs[0].to_email, status.words, now)
    rest = " The address is not written to any more." if status.of_address else ""
    return f"{what} came back: {status.words}{rest}"


def read(message: Message) -> Iterator[Status]:
    """Yield what it says of each recipient (RFC 3464, 2.3)."""
    for part in message.walk():
        if part.get_content_type() != "message/delivery-status":
            continue
        blocks = part.get_payload()
        for block in blocks if isinstance(blocks, list) else []:
            if "Final-Recipient" in block or "Original-Recipient" in block:
                yield _status(block)


def _status(block: Message) -> Status:
    # The address we wrote to comes first: a forwarder's final one is somebody else's.
    recipient = block.get("Original-Recipient") or block.get("Final-Recipient") or ""
    email = parseaddr(recipient.partition(";")[2].strip() or recipient)[1]
    code = (block.get("Status") or "").split("(")[0].strip()
    diagnostic = " ".join((block.get("Diagnostic-Code") or "").partition(";")[2].split())
    words = f"It came back ({code or 'no code'}). {diagnostic}".strip()
    return Status(email, (block.get("Action") or "").strip().lower(), code, words)


def message_ids(message: Message) -> Iterator[str]:
    """Yield the Message-IDs it may be about: of the message it brings back, else it answers."""
    for part in message.walk():
        kind = part.get_content_type()
        if kind == "message/rfc822" and isinstance(part.get_payload(), list):
            yield from _named(part.get_payload(0), HEADERS[:1])
        elif kind == "text/rfc822-headers":
            text = part.get_payload(decode=True) or b""
            yield from _named(message_from_bytes(text), HEADERS[:1])
    yield from _named(message, HEADERS[1:])


def _named(message: Message, headers: tuple[str, ...]) -> Iterator[str]:
    for name in headers:
        yield from (message.get(name) or "").split()
