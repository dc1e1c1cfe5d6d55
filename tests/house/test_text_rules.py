"""What must not stand in any text of the project: hosts of package registries, paths of one machine."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.house.tracked import ROOT, tracked_files

# Put together from pieces, so that this file does not hold what it forbids.
HOSTS = [
    "py" + "pi.org", "python" + "hosted.org", "npm" + "js.org", "npm" + "js.com", "yarn" + "pkg.com",
    "debian" + ".org/debian", "deb." + "debian.org", "archive." + "ubuntu.com", "ana" + "conda.org",
    "ana" + "conda.com", "crates" + ".io", "proxy." + "golang.org",
]  # fmt: skip
FORBIDDEN = {
    "the host of a package registry": re.compile("|".join(map(re.escape, HOSTS)), re.IGNORECASE),
    "an absolute path of somebody's machine": re.compile(
        r"(?<![\w.~/:-])/(?:"
        + "|".join(["ho" + "me", "wo" + "rk", "ro" + "ot", "Us" + "ers", "opt/" + "mk"])
        + r")/[\w.]"
        r"|\b[A-Z]:\\Us" + r"ers\\"
    ),
    "the address of a package index": re.compile(
        r"(?<!no-emit-)(?<!PIP_NO_)ind" + "ex[-_]url", re.IGNORECASE
    ),
}


def _text(path: Path) -> str | None:
    """Return the text of a file, None where it holds something else."""
    raw = path.read_bytes()
    if b"\0" in raw[:8192]:
        return None
    return raw.decode("utf-8", errors="replace")


def found_in(text: str) -> list[str]:
    """Return what is forbidden and stands in `text`, each with its line."""
    return [
        f"{what} in line {text.count(chr(10), 0, match.start()) + 1}: {match.group()!r}"
        for what, pattern in FORBIDDEN.items()
        for match in pattern.finditer(text)
    ]


def test_no_file_names_a_registry_host_an_index_or_a_path_of_one_machine() -> None:
    texts = {path: text for path in tracked_files() if (text := _text(path)) is not None}
    assert len(texts) > 20
    faults = [
        f"{path.relative_to(ROOT)}: {words}" for path, text in texts.items() for words in found_in(text)
    ]
    assert faults == []


@pytest.mark.parametrize("text", [f"see https://{host}/x" for host in HOSTS])
def test_a_registry_host_is_caught(text: str) -> None:
    (words,) = {words.partition(" in line")[0] for words in found_in(text)}
    assert words == "the host of a package registry"


PATHS = ["/ho" + "me/me/x", "(/wo" + "rk/main)", "'/ro" + "ot/.cache'", "C:\\Us" + "ers\\me"]


@pytest.mark.parametrize("path", PATHS)
def test_a_path_of_one_machine_is_caught(path: str) -> None:
    (words,) = found_in(f"first\nread {path}")
    assert words.startswith("an absolute path of somebody's machine in line 2")


@pytest.mark.parametrize("option", ["--ind" + "ex-url X", "--extra-ind" + "ex-url=X", "PIP_IND" + "EX_URL=X"])
def test_a_package_index_is_caught(option: str) -> None:
    assert len(found_in(option)) == 1


@pytest.mark.parametrize(
    "text", ["3 m2/wor" + "k/day", "a/home/b", "~/wor" + "k/x", "--no-emit-ind" + "ex-url", "http://x/home/y"]
)
def test_what_only_looks_alike_is_let_pass(text: str) -> None:
    assert found_in(text) == []
