"""A real mail server on this machine, for whatever sends."""

import socket
from collections.abc import Iterator
from email import message_from_bytes
from email.message import Message
from typing import Any

import pytest
from aiosmtpd.controller import Controller


class Letterbox:
    """Keeps what arrives."""

    def __init__(self) -> None:
        self.mails: list[tuple[list[str], Message]] = []

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        self.mails.append((envelope.rcpt_tos, message_from_bytes(envelope.content)))
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
