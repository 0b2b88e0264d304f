"""A mail server on loopback, and mailers that fail as asked."""

from __future__ import annotations

import contextlib
import email
import email.policy
import socket
from collections.abc import Iterator
from dataclasses import dataclass, field
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller

from app.mail import Mailer, MailSettings, Outcome, SmtpServer, make_mailer


@dataclass
class Inbox:
    """A real SMTP server's side of the story.

    Attributes:
        answers: what it says to the next messages instead of taking them.
        cut_off: whether it hangs up once it has taken a message, without an answer.
    """

    port: int = 0
    answers: list[str] = field(default_factory=list)
    cut_off: bool = False
    taken: list[EmailMessage] = field(default_factory=list)
    envelopes: list[tuple[str, list[str]]] = field(default_factory=list)

    async def handle_DATA(self, server: Any, _session: Any, envelope: Any) -> str:  # noqa: ANN401, N802
        if self.answers:
            return self.answers.pop(0)
        self.envelopes.append((envelope.mail_from, envelope.rcpt_tos))
        raw: bytes = envelope.content
        message = email.message_from_bytes(raw, policy=email.policy.default)
        assert isinstance(message, EmailMessage)
        self.taken.append(message)
        if self.cut_off:
            server.transport.abort()
        return "250 taken"

    @property
    def mailer(self) -> Mailer:
        place = SmtpServer(host="127.0.0.1", port=self.port)
        return make_mailer(MailSettings(place=place, sender="supplies@clinic.example"))


@contextlib.contextmanager
def mail_server() -> Iterator[Inbox]:
    """Run a server that takes mail on a free port of the loopback address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        inbox = Inbox(port=int(probe.getsockname()[1]))
    controller = Controller(inbox, hostname="127.0.0.1", port=inbox.port)
    controller.start()
    try:
        yield inbox
    finally:
        controller.stop()


@dataclass
class Sink:
    """A mailer that keeps messages, or ends its next tries as asked."""

    outcomes: list[Outcome] = field(default_factory=list)
    taken: list[EmailMessage] = field(default_factory=list)
    tries: int = 0

    def __call__(self, message: EmailMessage) -> Outcome:
        self.tries += 1
        outcome = self.outcomes.pop(0) if self.outcomes else Outcome.SENT
        if outcome is Outcome.SENT:
            self.taken.append(message)
        return outcome

    @property
    def subjects(self) -> list[str]:
        return [str(message["Subject"]) for message in self.taken]


def body_of(message: EmailMessage) -> str:
    """The text of a message as its reader sees it."""
    part = message.get_body(("plain",))
    assert part is not None
    text: str = part.get_content()
    return text
