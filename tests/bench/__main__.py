"""python -m tests.bench [NAME...]: one line a measure, NAME OURS FLOOR RATIO GOAL."""

import importlib
import sys
import traceback
from pathlib import Path

import django

from tests.bench.harness import chosen, take


def main() -> int:
    django.setup()
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        importlib.import_module(f"tests.bench.{path.stem}")
    try:
        measures = chosen(sys.argv[1:])
    except LookupError as error:
        print(error.args[0], file=sys.stderr)
        return 2
    failed = 0
    for one in measures:
        try:
            print(take(one), flush=True)
        except Exception:
            failed = 1
            print(f"{one.name} could not be taken", flush=True)
            traceback.print_exc()
    return failed


if __name__ == "__main__":
    sys.exit(main())
