"""`moldkit test`: every check of the project, stage by stage, and one closing line."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from moldkit.start import place
from moldkit.start.lab import importable

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
NO_TESTS_COLLECTED = 5


@dataclass(frozen=True)
class Count:
    """How many checks passed, failed and were skipped."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def plus(self, other: Count) -> Count:
        """Return both counts together."""
        return Count(self.passed + other.passed, self.failed + other.failed, self.skipped + other.skipped)

    def line(self) -> str:
        """Return the count in words: "N passed, N failed", and the skipped ones where there are any."""
        skipped = f", {self.skipped} skipped" if self.skipped else ""
        return f"{self.passed} passed, {self.failed} failed{skipped}"


@dataclass(frozen=True)
class Stage:
    """One command of the test run; `report` is where pytest leaves its count, None for a plain yes or no."""

    name: str
    command: tuple[str, ...]
    report: Path | None
    limit_s: float


def run_tests(arguments: Sequence[str] = ()) -> int:
    """Run all stages and print the closing line; return 0 when everything passed and at least one test ran.

    arguments: `--fast` leaves out slow tests, notebooks and the browser; the rest is pytest's. With a path
    among them, only that is run.
    """
    root = place.clone_root()
    if root is None or not (root / "tests").is_dir():
        print("moldkit test: the tests come with moldkit's source: run it in the clone.", file=sys.stderr)
        return 2
    absent = [name for name in ("pytest", "ruff", "mypy") if importlib.util.find_spec(name) is None]
    if absent:
        print(f"moldkit test: {absent[0]} is not installed: install moldkit's extra `test`.", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as scratch:
        return _run(root, list(arguments), Path(scratch))


def _run(root: Path, arguments: list[str], scratch: Path) -> int:
    fast = "--fast" in arguments
    rest = [argument for argument in arguments if argument != "--fast"]
    total, tests = Count(), Count()
    for stage in stages(root, fast, rest, scratch):
        count = run_stage(stage, root, stage_environ(root, scratch))
        total = total.plus(count)
        tests = tests.plus(count) if stage.report else tests
    if not fast and not _paths(root, rest):
        total = total.plus(_browser_missing(root))
    if tests.passed + tests.failed == 0:
        print("\nmoldkit test: no test ran.", file=sys.stderr)
    print(f"\n{total.line()}", flush=True)
    return 0 if total.failed == 0 and tests.passed > 0 else 1


def stages(root: Path, fast: bool, rest: list[str], scratch: Path) -> list[Stage]:
    """Return the stages that have something to do, in order: lint, types, tests, notebooks, browser."""
    python = sys.executable
    paths = _paths(root, rest)
    if paths:
        return [_pytest("tests", rest + _only_fast(fast), 1800, scratch)]
    parallel = ["-n", "2", "--dist", "loadfile"]
    limits = [*_only_fast(fast), *rest]
    found = [
        Stage("lint", (python, "-m", "ruff", "check", "--quiet", "."), None, 300),
        Stage("types", (python, "-m", "mypy", "--strict", "moldkit"), None, 600),
        _pytest("tests", ["tests", "--ignore=tests/browser", *parallel, *limits], 900, scratch),
    ]
    if not fast and any((root / "notebooks").rglob("*.ipynb")):
        checks = ["--nbval-lax", "--nbval-current-env", "--nbval-cell-timeout=120", "--timeout=300"]
        found.append(_pytest("notebooks", ["notebooks", *checks, *parallel, *rest], 900, scratch))
    if not fast and _browser_tests(root) and find_browser():
        found.append(_pytest("browser", ["tests/browser", *rest], 900, scratch))
    return found


def run_stage(stage: Stage, root: Path, environ: dict[str, str]) -> Count:
    """Run one stage, print its heading, count and time, and return its count."""
    print(f"\n== {stage.name} ==", flush=True)
    began = time.monotonic()
    try:
        done = subprocess.run(stage.command, cwd=root, env=environ, timeout=stage.limit_s, check=False)
        code = done.returncode
    except subprocess.TimeoutExpired:
        print(f"{stage.name}: stopped after {stage.limit_s:.0f} s, the most it may take.")
        code = -1
    count = count_stage(stage.report, code)
    print(f"-- {stage.name}: {count.line()}, {time.monotonic() - began:.1f} s", flush=True)
    return count


def count_stage(report: Path | None, code: int) -> Count:
    """Return a stage's count from its exit code and, for pytest, its JUnit report."""
    if report is None:
        return Count(passed=1) if code == 0 else Count(failed=1)
    count = read_report(report)
    if code not in (0, NO_TESTS_COLLECTED) and count.failed == 0:
        return count.plus(Count(failed=1))
    return count


def read_report(report: Path) -> Count:
    """Return the count in a JUnit report; none at all where it is missing or cut off."""
    try:
        suites = list(ElementTree.parse(report).getroot().iter("testsuite"))
    except (OSError, ElementTree.ParseError):
        return Count()
    keys = ("tests", "failures", "errors", "skipped")
    tests, failures, errors, skipped = (sum(int(suite.get(key, "0")) for suite in suites) for key in keys)
    return Count(max(tests - failures - errors - skipped, 0), failures + errors, skipped)


def find_browser() -> str | None:
    """Return the tests' browser: the one MOLDKIT_CHROMIUM names, or a Chromium or Chrome on the path."""
    named = os.environ.get("MOLDKIT_CHROMIUM")
    return shutil.which(named) if named else next(filter(None, map(shutil.which, BROWSERS)), None)


def stage_environ(root: Path, scratch: Path) -> dict[str, str]:
    """Return an environment in which the user's own Jupyter and IPython settings and readings play no part."""
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")
    own = {name: str(scratch / name.lower()) for name in names}
    # Stages share what they read of patterns, and leave the user's own readings alone.
    own["MOLDKIT_CACHE"] = str(scratch / "readings")
    return {**importable(root), **own, "JUPYTER_PLATFORM_DIRS": "1", "PYDEVD_DISABLE_FILE_VALIDATION": "1"}


def _pytest(name: str, arguments: list[str], limit_s: float, scratch: Path) -> Stage:
    report = scratch / f"{name}.xml"
    command = (sys.executable, "-m", "pytest", "-q", f"--junitxml={report}", *arguments)
    return Stage(name, command, report, limit_s)


def _only_fast(fast: bool) -> list[str]:
    return ["-m", "not slow and not browser"] if fast else []


def _paths(root: Path, rest: list[str]) -> list[str]:
    """Return the arguments that name a file or folder of the clone, with or without `::test` behind it."""
    return [word for word in rest if not word.startswith("-") and (root / word.partition("::")[0]).exists()]


def _browser_tests(root: Path) -> bool:
    return any((root / "tests" / "browser").rglob("test_*.py"))


def _browser_missing(root: Path) -> Count:
    """Say so where the browser tests are left out; count it as failed where a browser is required."""
    if not _browser_tests(root) or find_browser():
        return Count()
    required = os.environ.get("MOLDKIT_REQUIRE_BROWSER") == "1"
    print("\n== browser ==\nleft out: no Chromium or Chrome was found; install one, or name it in")
    print("the environment variable MOLDKIT_CHROMIUM.")
    if required:
        print("MOLDKIT_REQUIRE_BROWSER=1 makes this a failure.")
    return Count(failed=1) if required else Count(skipped=1)
