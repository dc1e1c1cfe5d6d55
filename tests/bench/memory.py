"""The memory that measuring takes at its height, in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

CURVE = "measure_distance(mesh, stands_on_base=True)"
READING = "read_mesh(mesh, surveyed=True)"
# Linux counts it itself, from the start of the program; what getrusage tells is handed down from the parent.
_COUNTED = Path("/proc/self/status")
_WORDS = """
import json, igl
from moldkit.pattern.distance import measure_distance
from moldkit.pattern.reading import read_mesh
from tests.bench.bodies import bumpy_ball
def height():
    return next(int(row.split()[1]) for row in open("/proc/self/status") if row.startswith("VmHWM"))
mesh = bumpy_ball({triangles})
before = height()
{action}
print(json.dumps([before / 1e3, height() / 1e3]))
"""


def peak_mb(triangles: int, action: str) -> tuple[float, float] | None:
    """Return the most memory of a process before and after an action on a mesh [MB], None where nobody counts it."""
    if not _COUNTED.exists():
        return None
    words = _WORDS.format(triangles=triangles, action=action)
    answer = subprocess.run([sys.executable, "-c", words], check=True, capture_output=True, text=True, timeout=600)
    before, after = json.loads(answer.stdout)
    return before, after
