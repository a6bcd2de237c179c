"""What a mail server's answer means for a message and for its address, in words.

RFC 5321, 4.2.1: a reply of 4yz may be tried again, one of 5yz is for good. RFC 3463 says with an
enhanced code (X.1.Z: the address; X.2.1: the mailbox is disabled; X.4.4: nowhere to route it)
whether it is the address. Without one 550, 551 and 553 are about the mailbox (RFC 5321, 4.2.3).
"""

import re
from dataclasses import dataclass
from smtplib import (
    SMTPAuthenticationError,
    SMTPException,
    SMTPRecipientsRefused,
    SMTPResponseException,
    SMTPServerDisconnected,
)
from ssl import SSLError

ENHANCED = re.compile(r"\b([245])\.(\d{1,3})\.(\d{1,3})\b")
OF_THE_MAILBOX = (550, 551, 553)
LENGTH = 300


@dataclass(frozen=True)
class Refusal:
    """Why a message did not go.

    ``for_good``: trying again is of no use. ``not_there``: it has certainly not arrived, no answer
    was lost. ``address``: it is the address itself. ``everybody``: it stops every message alike.
    """

    words: str
    for_good: bool = False
    not_there: bool = False
    address: bool = False
    everybody: bool = False


def of_fault(fault: Exception) -> Refusal:
    """Return what a fault of ``smtplib`` or of the connection means."""
    if isinstance(fault, SMTPRecipientsRefused):
        code, answer = next(iter(fault.recipients.values()))
        return of_reply(code, _text(answer))
    if isinstance(fault, SMTPServerDisconnected):
        return Refusal(_cut(f"The connection to the mail server broke off: {fault}"))
    if isinstance(fault, SMTPResponseException):
        return of_answer(fault)
    if isinstance(fault, ConnectionRefusedError):
        return Refusal(_cut(f"No mail server answers: {fault}"), not_there=True, everybody=True)
    if isinstance(fault, TimeoutError):
        return Refusal(_cut(f"The mail server did not answer in time: {fault}"), everybody=True)
    if isinstance(fault, ValueError):
        return Refusal(
            _cut(f"The message cannot be addressed so: {fault}"),
            for_good=True, not_there=True, address=True,
        )  # fmt: skip
    lost = isinstance(fault, ConnectionError | SSLError)  # In the middle of it, perhaps at its end.
    everybody = isinstance(fault, OSError) and not isinstance(fault, SMTPException)
    words = _cut(f"{type(fault).__name__}: {fault}")
    return Refusal(words, not_there=not lost, everybody=everybody)


def of_answer(fault: SMTPResponseException) -> Refusal:
    """An answer to something else than the address may still be about it: many say so at DATA."""
    answer = _text(fault.smtp_error)
    if isinstance(fault, SMTPAuthenticationError):
        return Refusal(
            _cut(f"The mail server does not take this program's password: {answer}"),
            not_there=True, everybody=True,
        )  # fmt: skip
    return of_reply(fault.smtp_code, answer)


def of_reply(code: int, answer: str) -> Refusal:
    """Return what a reply says. Whoever got one knows that the message was not taken."""
    said = _cut(f"{code} {answer}")
    if code < 500:
        return Refusal(_cut(f"The mail server did not take it for now: {said}"), not_there=True)
    return Refusal(
        _cut(f"The mail server refused it for good: {said}"),
        for_good=True, not_there=True, address=is_the_address(answer, code),
    )  # fmt: skip


def is_the_address(answer: str, code: int = 0) -> bool:
    """Return whether a permanent answer is about the address, not about this message."""
    found = ENHANCED.search(answer)
    if found is None:
        return code in OF_THE_MAILBOX
    subject, detail = int(found[2]), int(found[3])
    return subject == 1 or (subject, detail) in ((2, 1), (4, 4), (0, 0))


def _text(answer: bytes | str) -> str:
    text = answer.decode(errors="replace") if isinstance(answer, bytes) else str(answer)
    return " ".join(text.split())


def _cut(text: str) -> str:
    return text[:LENGTH]
