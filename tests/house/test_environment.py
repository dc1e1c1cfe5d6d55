"""The project file, environment.yml and the locks say the same, and imports keep to what they declare."""

from __future__ import annotations

import re
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from tests.house.layers import PACKAGE, imports, room

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = {"requirements.lock": ("lab",), "requirements-test.lock": ("lab", "test")}

# Names that conda-forge spells in its own way, and what environment.yml has beside the project's packages.
CONDA_NAMES = {"libigl": "igl", "kaleido": "python-kaleido", "typst": "typst-py"}
CONDA_ONLY = {"python", "pip"}
# Packages that are imported under another name than they are installed by.
IMPORT_NAMES = {"igl": "libigl", "IPython": "ipython"}
# Come with a declared package, and are part of what it offers.
COME_ALONG = {
    "IPython": "ipykernel", "traitlets": "ipywidgets", "jupyter_server": "jupyterlab",
    "tornado": "jupyter-server", "choreographer": "kaleido",
}  # fmt: skip
# Done without where it is missing, with a sentence.
OPTIONAL: set[str] = set()
# The floors below which these two have known security holes.
SAFE_FROM = {"nbconvert": "7.17.1", "jupyter-server": "2.20.0"}

PIN = re.compile(
    r"(?P<name>[A-Za-z0-9._-]+)==(?P<version>[^\s;]+)"
    r"(?: ; (?P<marker>.*?))?"
    r"(?P<hashes>(?:\s+--hash=\S+)*)\s*"
)


@dataclass(frozen=True)
class Pin:
    """One line of a lock: name, version, the machines it is for, and its hashes."""

    name: str
    version: Version
    marker: Marker | None
    hashes: tuple[str, ...]


def declared(*extras: str) -> list[Requirement]:
    """Return what pyproject.toml asks for: the base, these extras and the build tool."""
    project = PROJECT["project"]
    lines = [*project["dependencies"], *PROJECT["dependency-groups"]["build"]]
    lines += [line for extra in extras for line in project["optional-dependencies"][extra]]
    return [Requirement(line) for line in lines]


def pins(lock: str) -> list[Pin]:
    """Return the pins of a lock; any line that is not one is an error."""
    text = (ROOT / lock).read_text(encoding="utf-8").replace("\\\n", " ")
    return [_pin(line) for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]


def _pin(line: str) -> Pin:
    found = PIN.fullmatch(line)
    assert found, f"not a pinned package: {line!r}"
    hashes = tuple(re.findall(r"--hash=(\S+)", found["hashes"]))
    marker = Marker(found["marker"]) if found["marker"] else None
    return Pin(canonicalize_name(found["name"]), Version(found["version"]), marker, hashes)


def conda_lines() -> dict[str, str]:
    """Return the packages of environment.yml with their ranges, by conda's name."""
    text = (ROOT / "environment.yml").read_text(encoding="utf-8")
    lines = text.partition("\ndependencies:\n")[2].splitlines()
    listed = [line for line in lines if not line.lstrip().startswith("#")]
    found = [re.fullmatch(r"  - ([a-z0-9_-]+)(\S*)", line) for line in listed]
    assert all(found), f"cannot be read: {listed}"
    return {match[1]: match[2] for match in found if match}


def test_conda_asks_for_the_same_packages_in_the_same_ranges() -> None:
    everywhere = [need for need in declared("lab") if need.marker is None]
    expected = {CONDA_NAMES.get(need.name, need.name): str(need.specifier) for need in everywhere}
    conda = {
        name.replace("_", "-"): ranges for name, ranges in conda_lines().items() if name not in CONDA_ONLY
    }
    assert {name: _sorted(ranges) for name, ranges in conda.items()} == {
        name: _sorted(ranges) for name, ranges in expected.items()
    }


def test_conda_asks_for_the_same_python() -> None:
    assert conda_lines()["python"] == PROJECT["project"]["requires-python"]


def _sorted(ranges: str) -> list[str]:
    return sorted(ranges.split(","))


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_pins_everything_declared_within_its_range(lock: str) -> None:
    locked = pins(lock)
    for need in declared(*LOCKS[lock]):
        versions = [pin.version for pin in locked if pin.name == canonicalize_name(need.name)]
        assert versions, f"{need.name} is not in {lock}"
        assert all(version in need.specifier for version in versions), f"{need} against {versions} in {lock}"


@pytest.mark.parametrize("lock", LOCKS)
def test_every_pin_of_a_lock_carries_sha256_hashes(lock: str) -> None:
    locked = pins(lock)
    assert len(locked) > 50
    bare = [pin.name for pin in locked if not pin.hashes]
    assert bare == []
    assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", each) for pin in locked for each in pin.hashes)


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_names_no_host_and_no_option(lock: str) -> None:
    text = (ROOT / lock).read_text(encoding="utf-8")
    assert not re.search(r"://|@|index|find-links|\.(?:org|com|io|net)\b", text)


def test_the_test_lock_holds_the_very_pins_of_the_user_lock() -> None:
    user, test = ({(pin.name, pin.version, str(pin.marker)) for pin in pins(lock)} for lock in LOCKS)
    assert user <= test


@pytest.mark.parametrize("lock", LOCKS)
@pytest.mark.parametrize("python", ["3.11.2", "3.11.9", "3.12.1", "3.13.0", "3.14.0"])
@pytest.mark.parametrize("system", ["linux", "darwin", "win32"])
def test_a_lock_has_at_most_one_version_of_a_package_for_any_machine(
    lock: str, python: str, system: str
) -> None:
    machine = {
        "python_full_version": python,
        "python_version": ".".join(python.split(".")[:2]),
        "sys_platform": system,
        "os_name": "nt" if system == "win32" else "posix",
    }
    chosen = [pin.name for pin in pins(lock) if pin.marker is None or pin.marker.evaluate(dict(machine))]
    assert sorted(chosen) == sorted(set(chosen))


@pytest.mark.parametrize("name", SAFE_FROM)
def test_versions_with_known_security_holes_are_out_of_range(name: str) -> None:
    (need,) = (need for need in declared("lab") if need.name == name)
    floor = Version(SAFE_FROM[name])
    assert floor in need.specifier
    assert [part.version for part in need.specifier if part.operator == ">="] == [str(floor)]
    assert all(pin.version >= floor for lock in LOCKS for pin in pins(lock) if pin.name == name)


def test_the_package_imports_only_what_it_declares() -> None:
    """Views may use the notebooks' packages; all else, the command line included, makes do with the base."""
    undeclared = {}
    for each in imports(ROOT):
        top = each.target.partition(".")[0]
        if top == PACKAGE or top in OPTIONAL or top in sys.stdlib_module_names:
            continue
        allowed = {need.name for need in declared(*(["lab"] if room(each.module) == "views" else []))}
        if not {IMPORT_NAMES.get(top, top), COME_ALONG.get(top)} & allowed:
            undeclared[top] = f"{each.module} line {each.line}"
    assert undeclared == {}


def test_the_wheel_is_told_to_carry_the_tables() -> None:
    wheel = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel["sources"] == {"data": "moldkit/_data"}
    assert {"moldkit", "data"} <= set(wheel["only-include"])
