"""A data folder: where things lie in it, and its secrets."""

import hashlib
import os
import secrets
import stat
from contextlib import suppress
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from museum.supervisor.child import StartError


@dataclass(frozen=True, slots=True)
class House:
    """A data folder. A forgetful one is for tests: its servers are quicker, and may lose all in a crash."""

    var: Path
    forgetful: bool = False

    @property
    def sockets(self) -> Path:
        """Short, since a socket's path may have 107 bytes; named by the data folder, so that others find it."""
        mark = hashlib.sha256(str(self.var.resolve()).encode()).hexdigest()[:12]
        return Path(f"/tmp/burgonet-{os.geteuid()}-{mark}")  # noqa: S108, made for us alone by make_sockets

    def log(self, name: str) -> Path:
        return self.var / "log" / f"{name}.log"

    def lock(self, name: str) -> Path:
        return self.var / "locks" / name

    def make_sockets(self) -> None:
        """The folder of the sockets, ours alone. Raises StartError when somebody else was there first."""
        self.sockets.mkdir(mode=0o700, exist_ok=True)
        found = self.sockets.lstat()
        if found.st_uid != os.geteuid() or not stat.S_ISDIR(found.st_mode):
            raise StartError(f"{self.sockets} belongs to somebody else. Remove it, or set BURGONET_VAR to another folder.")

    def clear_sockets(self) -> None:
        """Takes the folder away again when servers have left it empty."""
        with suppress(OSError):
            self.sockets.rmdir()

    def secret_file(self, name: str) -> Path:
        """A secret made once and kept readable by its owner only."""
        path = self.var / "secrets" / name
        if not path.exists():
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            fresh = path.with_suffix(".new")
            fresh.touch(mode=0o600)
            fresh.write_text(secrets.token_urlsafe(40))
            fresh.rename(path)
        return path

    def secret(self, name: str) -> str:
        return self.secret_file(name).read_text()


def package(name: str) -> Path:
    """The folder of an installed package, found without importing it. Raises StartError."""
    spec = find_spec(name)
    if spec is None or spec.origin is None:
        raise StartError(f"The package {name} is not installed. Run bin/setup, or set DATABASE_URL and REDIS_URL.")
    return Path(spec.origin).parent
