"""Real servers on real data: started, stopped, shared, killed."""

import signal
import socket
import subprocess
from pathlib import Path

import psycopg
import pytest
import redis

from museum.supervisor.child import StartError
from museum.supervisor.demo import demand_port
from museum.supervisor.house import House
from museum.supervisor.locks import Taken, held
from museum.supervisor.servers import servers
from tests.supervisor.kit import add_row, gone, hold, left, rows, run


@pytest.fixture
def var(tmp_path: Path) -> Path:
    return tmp_path / "var"


def test_a_second_start_keeps_what_was_there(var: Path) -> None:
    holder, given = hold(var)
    add_row(given["OWNER_DATABASE_URL"])
    queue = redis.Redis.from_url(given["REDIS_URL"].replace("redis+socket", "unix"))
    queue.set("kept", "1")
    assert holder.end(signal.SIGTERM) == 0
    assert left(var) == []
    assert not House(var).sockets.exists()
    again, given = hold(var)
    assert rows(given["OWNER_DATABASE_URL"]) == 1
    assert queue.get("kept") == b"1"
    again.end(signal.SIGTERM)


def test_a_killed_supervisor_leaves_no_process_and_no_hole(var: Path) -> None:
    holder, given = hold(var)
    add_row(given["OWNER_DATABASE_URL"])
    holder.end(signal.SIGKILL)
    # At once, while those of the killed one are still ending.
    again, given = hold(var)
    assert given["ours"] == 2
    add_row(given["OWNER_DATABASE_URL"])
    again.end(signal.SIGKILL)
    assert gone(var) == []
    third, given = hold(var)
    assert rows(given["OWNER_DATABASE_URL"]) == 2
    third.end(signal.SIGTERM)


def test_servers_stay_until_the_last_who_uses_them_has_finished(var: Path) -> None:
    first, given = hold(var)
    guest, same = hold(var)
    assert (same["ours"], same["DATABASE_URL"]) == (0, given["DATABASE_URL"])
    first.process.send_signal(signal.SIGTERM)
    with pytest.raises(subprocess.TimeoutExpired):
        first.process.wait(1)
    add_row(given["OWNER_DATABASE_URL"])
    guest.end(signal.SIGTERM)
    assert first.process.wait(20) == 0
    assert left(var) == []


def test_the_program_s_role_is_no_owner(var: Path) -> None:
    holder, given = hold(var)
    rights = "SELECT rolname, rolsuper, rolcreatedb, rolcreaterole FROM pg_roles WHERE rolname = current_user"
    with psycopg.connect(given["DATABASE_URL"]) as line:
        assert line.execute(rights).fetchone() == ("program", False, False, False)
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            line.execute("CREATE TABLE own (n integer)")
    with psycopg.connect(given["OWNER_DATABASE_URL"]) as line:
        letters = line.execute("SELECT lower('ÄÖ'), current_setting('data_checksums')").fetchone()
    assert letters == ("äö", "on")
    holder.end(signal.SIGTERM)


def test_half_made_data_never_counts(var: Path) -> None:
    (var / "postgres.new").mkdir(parents=True)
    (var / "postgres.new" / "PG_VERSION").write_text("half")
    holder, given = hold(var)
    add_row(given["OWNER_DATABASE_URL"])
    holder.end(signal.SIGTERM)
    assert not (var / "postgres.new").exists()


def test_servers_named_from_outside_are_used(var: Path) -> None:
    outside = {"DATABASE_URL": "postgresql://somewhere/else", "REDIS_URL": "redis://somewhere", "SECRET_KEY": "theirs"}
    with servers(House(var), outside) as (environment, ours):
        assert environment == {"BURGONET_VAR": str(var), "SECRET_KEY": "theirs"}
        assert ours == []
    assert not (var / "postgres").exists()


def test_only_the_one_not_named_is_started(var: Path) -> None:
    with servers(House(var), {"DATABASE_URL": "postgresql://somewhere/else"}) as (environment, ours):
        assert [child.name for child in ours] == ["Valkey"]
        assert "DATABASE_URL" not in environment
    assert left(var) == []


def test_secrets_are_made_once_and_for_their_owner_alone(var: Path) -> None:
    made = House(var).secret("key")
    assert len(made) >= 40
    assert House(var).secret("key") == made
    assert (var / "secrets" / "key").stat().st_mode & 0o777 == 0o600
    assert (var / "secrets").stat().st_mode & 0o777 == 0o700


def test_a_lock_is_held_by_one_or_shared_by_many(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with held(path, shared=True), held(path, shared=True), pytest.raises(Taken), held(path):
        pass
    with held(path):
        pass


def test_a_busy_port_is_said_before_anything_is_started(var: Path) -> None:
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        port = busy.getsockname()[1]
        done = run(var, "demo", "--port", str(port))
    assert done.returncode == 1
    assert done.stderr == f"Port {port} is taken. Choose another: bin/demo --port {port + 1}\n"
    assert not (var / "postgres").exists()


def test_a_port_that_does_not_exist() -> None:
    with pytest.raises(StartError, match="does not exist"):
        demand_port(70000)


def test_manage_keeps_the_caller_s_folder_and_the_exit_status(var: Path, tmp_path: Path) -> None:
    told = "import os; print(os.getcwd(), os.environ['BURGONET_DEMO'])"
    done = run(var, "manage", "shell", "--verbosity", "0", "-c", told, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (0, f"{tmp_path} 1\n"), done.stderr
    assert run(var, "manage", "no_such_command").returncode == 1
    assert left(var) == []


def test_private_servers_leave_nothing(tmp_path: Path) -> None:
    names = "os.environ['BURGONET_VAR'], os.environ['BURGONET_TEST'], os.environ['DATABASE_URL']"
    done = run(tmp_path, "private", "python3", "-c", f"import os, sys; print({names}); sys.exit(7)")
    folder, test, url = done.stdout.split()
    assert (done.returncode, test) == (7, "1")
    assert url.startswith("postgresql://house:")
    assert not Path(folder).exists()
    assert left(Path(folder)) == []
