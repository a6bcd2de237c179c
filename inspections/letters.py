"""Mail with a picture in it: inline, since mail readers do not load pictures from elsewhere."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from email.message import Message
from email.mime.image import MIMEImage
from email.mime.multipart import MIMEMultipart

from django.core.mail import EmailMultiAlternatives

from fleet import chart_picture

CALENDAR = "due.ics"
WIDTH = 300  # px of the plot: on a phone its letters must still be read.


@dataclass(frozen=True)
class Picture:
    """A chart as PNG under the Content-ID its HTML names; ``alt`` is the sentence it says."""

    png: bytes
    alt: str

    @property
    def cid(self) -> str:
        return f"chart.{hashlib.sha256(self.png).hexdigest()[:20]}@stayward"


def picture(spec: dict, height: int | None = None) -> Picture:
    """Return the chart as it goes into a mail. Only where mail is sent: see ``chart_picture``."""
    return Picture(chart_picture.png(spec, WIDTH, height), spec["description"])


class Letter(EmailMultiAlternatives):
    """Text, HTML with its pictures beside it (multipart/related, RFC 2387), and files.

    The last alternative must be the HTML that names each picture's ``cid``. ``calendar``: an
    iCalendar object (RFC 5545) that goes along as a file to be opened, not as an invitation.
    """

    def __init__(
        self, *args, pictures: Sequence[Picture] = (), calendar: bytes = b"", **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.pictures = pictures
        if calendar:
            self.attach(CALENDAR, calendar.decode(), "text/calendar")

    def message(self) -> Message:
        whole = super().message()
        if self.pictures:
            [choice] = [p for p in whole.walk() if p.get_content_type() == "multipart/alternative"]
            parts = choice.get_payload()
            parts[-1] = self.related(parts[-1])
        return whole

    def related(self, html: Message) -> MIMEMultipart:
        together = MIMEMultipart("related", type="text/html")
        together.attach(html)
        for number, each in enumerate(self.pictures, start=1):
            image = MIMEImage(each.png, "png")
            image.add_header("Content-ID", f"<{each.cid}>")
            image.add_header("Content-Disposition", "inline", filename=f"chart-{number}.png")
            together.attach(image)
        return together
