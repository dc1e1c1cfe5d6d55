"""A full recompute of all techniques, the decision map, whole processes of the command line."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import numpy as np

from moldkit.study.assess import assess
from moldkit.study.compare import compare, run_costs
from moldkit.study.curves import curve_table
from moldkit.study.job_file import load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.patterns import read_pattern
from moldkit.study.sweep import casting_methods, decision_map
from moldkit.views.charts import cost_chart
from moldkit.views.verdict import verdict
from tests.bench.clock import line, median_ms


def run() -> None:
    """Print the model's speeds against one pass of numpy over as many figures, the command line's against Python's."""
    knowledge = load_knowledge()
    case = load_job(knowledge.folder / "jobs" / "finial.toml").case
    reading = read_pattern(case, knowledge)
    runs = np.arange(1, 10_001)
    sizes, map_runs = np.geomspace(0.05, 1.0, 200), np.arange(1, 201) * 5
    result = compare(case, knowledge, reading)
    curves, cells = np.ones((4, 10_000)), np.ones((4, 200, 200))
    floor_curves = median_ms(lambda: np.sqrt(curves) + curves, 200)
    floor_cells = median_ms(lambda: np.sqrt(cells) + cells, 100)
    print(f"model: {len(result.outcomes)} techniques, finial")
    recompute = median_ms(lambda: run_costs(assess(case, knowledge, reading), case, runs))
    line("recompute, 4 techniques x 10,000 runs", recompute, floor_curves, "one numpy pass")
    line("map, 200 sizes x 200 runs", median_ms(lambda: decision_map(case, knowledge, reading, sizes, map_runs)), floor_cells, "one numpy pass")  # noqa: E501
    line("curves, chart and verdict for one move", median_ms(lambda: _move(replace(case, run=81), knowledge, reading)), floor_curves, "one numpy pass")  # noqa: E501
    line("seven casting methods", median_ms(lambda: casting_methods(result)), floor_curves, "one numpy pass")
    bare = median_ms(lambda: _process("-c", "pass"), 5)
    line("process: moldkit --help", median_ms(lambda: _process("-m", "moldkit.cli", "--help"), 5), bare, "bare python")
    job = str(knowledge.folder / "jobs" / "figure.toml")
    line("process: moldkit compare, a form", median_ms(lambda: _process("-c", f"from moldkit.cli import main; main(['compare', {job!r}])"), 3), bare, "bare python")  # noqa: E501


def _move(case: object, knowledge: object, reading: object) -> None:
    result = compare(case, knowledge, reading)  # type: ignore[arg-type]
    cost_chart(curve_table(result, 1_000))
    verdict(result)


def _process(*words: str) -> None:
    subprocess.run([sys.executable, *words], check=True, capture_output=True, timeout=60)
