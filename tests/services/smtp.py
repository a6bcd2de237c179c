"""A real SMTP server on a loopback port that keeps what it is handed."""

import email
import email.policy
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email.message import EmailMessage

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.services import processes

ACCEPTED = "250 kept"


@dataclass
class Sink:
    """What arrived, in order. Set `answer` to refuse: it takes a message, returns the reply."""

    port: int
    host: str = "127.0.0.1"
    messages: list[EmailMessage] = field(default_factory=list)
    recipients: list[list[str]] = field(default_factory=list)
    answer: Callable[[EmailMessage], str] = lambda message: ACCEPTED

    controller: Controller | None = None

    def start(self) -> None:
        self.controller = Controller(self, hostname=self.host, port=self.port)
        self.controller.start()

    @property
    def url(self) -> str:
        return f"smtp://{self.host}:{self.port}"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        reply = self.answer(message)
        if reply.startswith("2"):
            self.messages.append(message)
            self.recipients.append(envelope.rcpt_tos)
        return reply


@contextmanager
def running() -> Iterator[Sink]:
    sink = Sink(processes.free_port())
    sink.start()
    try:
        yield sink
    finally:
        sink.controller.stop()


@contextmanager
def stopped(sink: Sink) -> Iterator[None]:
    """Nobody listens on its port until the block ends; what it kept it keeps."""
    sink.controller.stop()
    try:
        yield
    finally:
        sink.start()
