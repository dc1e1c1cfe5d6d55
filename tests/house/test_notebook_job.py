"""The job that the first notebook writes out is the demo job that its panel opens."""

from __future__ import annotations

import ast
import json
from dataclasses import replace
from pathlib import Path

from moldkit.study.case import case_from, read_job

ROOT = Path(__file__).resolve().parents[2]


def test_the_job_written_out_in_the_first_notebook_is_the_one_its_panel_opens() -> None:
    cells = json.loads((ROOT / "notebooks" / "choose_a_technique.ipynb").read_text("utf-8"))["cells"]
    source = next("".join(cell["source"]) for cell in cells if "".join(cell["source"]).startswith("job = {"))
    values = ast.literal_eval(ast.unparse(ast.parse(source).body[0].value))  # type: ignore[attr-defined]
    written = case_from(values, "the notebook")
    opened = read_job(ROOT / "data" / "jobs" / "finial.toml")
    assert written == replace(opened, note="", folder=None)
