"""Servers for as long as they are needed: those named from outside, those found running on the data, or our own."""

import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager

from museum.supervisor.child import Child, StartError, start, stop_all, wait_until
from museum.supervisor.house import House
from museum.supervisor.locks import Taken, held
from museum.supervisor.postgres import Postgres
from museum.supervisor.valkey import Valkey

Server = Postgres | Valkey
#: a crash is mended at the start, which can take a while
START_SECONDS = 60.0
#: servers of an earlier run end when they notice that it has gone
GONE_SECONDS = 20.0


@contextmanager
def servers(house: House, outside: Mapping[str, str], *, alone: bool = False) -> Iterator[tuple[dict[str, str], list[Child]]]:
    """The environment of servers that answer, and those of them that are ours to watch.

    `outside` may name others' servers by DATABASE_URL and REDIS_URL. Ours stop when nobody uses them any more.
    Who must be `alone` shares nobody's and stops its own whoever uses them. Raises StartError.
    """
    chosen: list[Server] = []
    if "DATABASE_URL" not in outside:
        chosen.append(Postgres(house))
    if "REDIS_URL" not in outside:
        chosen.append(Valkey(house))
    children: list[Child] = []
    with ExitStack() as leaving:
        with _turn(house):
            if chosen and all(server.ready() for server in chosen):
                if alone:
                    raise StartError(f"A command of bin/manage is at work on {house.var}. Start again when it has finished.")
                leaving.enter_context(held(house.lock("guests"), shared=True, patience=START_SECONDS))
            else:
                leaving.callback(_leave, house, children, alone)
                _start(house, chosen, children)
        yield _environment(house, chosen, outside), children


def _environment(house: House, chosen: Sequence[Server], outside: Mapping[str, str]) -> dict[str, str]:
    found = {"BURGONET_VAR": str(house.var), "SECRET_KEY": outside.get("SECRET_KEY") or house.secret("key")}
    for server in chosen:
        found |= server.environment()
    return found


@contextmanager
def _turn(house: House) -> Iterator[None]:
    """One at a time looks for servers and starts them."""
    with ExitStack() as door:
        try:
            door.enter_context(held(house.lock("turn"), patience=START_SECONDS))
        except Taken:
            raise StartError(f"Another command has been starting servers on {house.var} for a minute. Look at its log.") from None
        yield


def _start(house: House, chosen: Sequence[Server], children: list[Child]) -> None:
    house.make_sockets()
    for server in chosen:
        log = house.log(server.name.lower())
        try:
            # The server inherits the lock and so holds it until its last process has gone.
            with held(house.lock(server.name.lower()), patience=GONE_SECONDS) as lock:
                server.prepare()
                child = start(server.name, server.command(), log, stop_signal=server.stop_signal, keep=[lock])
        except Taken:
            raise StartError(f"Another {server.name} still works on {house.var} and does not answer. See {log}.") from None
        children.append(child)
        wait_until(server.ready, child, START_SECONDS)
        server.settle()


def _leave(house: House, children: Sequence[Child], at_once: bool) -> None:
    """Stops our servers; waits before that, unless `at_once`, until those who came to use them have finished."""
    with ExitStack() as closed:
        try:
            if not at_once and not _close_door(house, closed):
                print("Others still use the servers; they stop with the last of them.", file=sys.stderr)
                while not _close_door(house, closed):
                    time.sleep(0.2)
        finally:
            stop_all(children)
        if not at_once or _close_door(house, closed):
            house.clear_sockets()


def _close_door(house: House, closed: ExitStack) -> bool:
    """Whether no guest is left; then none comes in until `closed` is left."""
    with ExitStack() as doors:
        try:
            doors.enter_context(held(house.lock("turn")))
            doors.enter_context(held(house.lock("guests")))
        except Taken:
            return False
        closed.push(doors.pop_all())
        return True
