"""Holds the servers of a data folder until it is told to stop: python -m tests.supervisor.holder VAR."""

import json
import signal
import sys
from pathlib import Path

from museum.supervisor.house import House
from museum.supervisor.servers import servers


def main() -> None:
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with servers(House(Path(sys.argv[1])), {}) as (environment, ours):
            print(json.dumps(environment | {"ours": len(ours)}), flush=True)
            signal.pause()
    except KeyboardInterrupt:
        return


if __name__ == "__main__":
    main()
