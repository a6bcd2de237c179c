"""Mail as files: one .eml per message, named by its Message-ID, to be read in the site.

In the embedded mode this is the whole delivery; with a mail server it is the copy of what was
handed to it.
"""

import os
import tempfile
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.message import EmailMessage as Parsed
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


@dataclass(frozen=True)
class Letter:
    """A message as it went out: headers decoded, both bodies as text."""

    message_id: str
    subject: str
    sender: str
    to: str
    date: str
    text: str
    html: str


class MailFolder(BaseEmailBackend):
    """Django mail backend that delivers into ``settings.EMAIL_FOLDER``."""

    def send_messages(self, email_messages: list[EmailMessage]) -> int:
        """Write each message; return how many. OSError when the folder cannot be written."""
        try:
            return len([keep(message) for message in email_messages])
        except OSError:
            if not self.fail_silently:
                raise
            return 0


def path_of(message_id: str) -> Path:
    """Return the file of a message; no Message-ID can lead out of the folder."""
    return Path(settings.EMAIL_FOLDER) / f"{quote(message_id.strip('<> '), safe='@')}.eml"


def keep(message: EmailMessage) -> Path:
    """Write the message under its Message-ID, whole or not at all; a second copy replaces it."""
    content = message.message()
    path = path_of(content["Message-ID"])
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    descriptor, half = tempfile.mkstemp(dir=path.parent, suffix=".part")
    with os.fdopen(descriptor, "wb") as handle:
        handle.write(content.as_bytes())
    os.replace(half, path)
    return path


def read(message_id: str) -> Letter | None:
    """Return the kept message, or None when there is none of that Message-ID."""
    path = path_of(message_id)
    if not message_id or not path.is_file():
        return None
    parsed = message_from_bytes(path.read_bytes(), policy=policy.default)
    return Letter(
        message_id=str(parsed["Message-ID"]),
        subject=str(parsed["Subject"] or ""),
        sender=str(parsed["From"] or ""),
        to=str(parsed["To"] or ""),
        date=str(parsed["Date"] or ""),
        text=_body(parsed, "plain"),
        html=_body(parsed, "html"),
    )


def _body(parsed: Parsed, kind: str) -> str:
    part = parsed.get_body(preferencelist=(kind,))
    return part.get_content() if part else ""
