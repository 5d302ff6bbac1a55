"""A real mail server on this machine, for whatever sends."""

import socket
from collections.abc import Iterator
from email import message_from_bytes
from email.message import Message
from typing import Any

import pytest
from aiosmtpd.controller import Controller


class Letterbox:
    """Keeps what arrives; `full`: takes nothing; `unknown`: knows nobody; `falters`: takes it and breaks the line off before it says so."""

    def __init__(self) -> None:
        self.mails: list[tuple[list[str], Message]] = []
        self.full = self.unknown = self.falters = False

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if self.unknown:
            return "550 nobody of that name"
        envelope.rcpt_tos.append(address)
        return "250 known"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.full:
            return "452 no room"
        self.mails.append((envelope.rcpt_tos, message_from_bytes(envelope.content)))
        if self.falters:
            server.transport.abort()
        return "250 taken"


@pytest.fixture
def letterbox(settings: Any) -> Iterator[Letterbox]:
    box = Letterbox()
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        port = line.getsockname()[1]
    server = Controller(box, hostname="127.0.0.1", port=port)
    server.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
    yield box
    server.stop()
