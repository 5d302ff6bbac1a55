"""The reference tables: from the folder named by REFERENCE_DIR where it has them, else the project's own copy."""

import csv
import json
import os
from pathlib import Path
from typing import Any

OWN = Path(__file__).resolve().parent.parent.parent / "fixtures" / "reference"


def reference_path(name: str) -> Path:
    """Where a table is read from."""
    other = os.environ.get("REFERENCE_DIR")
    if other and (path := Path(other) / name).exists():
        return path
    return OWN / name


def reference_table(name: str) -> Any:
    """A table: the parsed JSON, or the rows of a CSV as dictionaries. A key that it lacks is the caller's to pass over."""
    path = reference_path(name)
    if path.suffix == ".json":
        return json.loads(path.read_text(encoding="utf-8"))
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
