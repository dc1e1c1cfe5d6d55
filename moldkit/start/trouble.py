"""What can go wrong on a first start, each in one sentence that says how to mend it."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterable
from pathlib import Path

from moldkit.start import stamp
from moldkit.start.place import StartError

FREE_NEEDED_BYTES = 2_000_000_000
LINES_SHOWN = 12

# What pip says (a pattern), and what to do about it.
MENDS = (
    (
        r"Temporary failure in name resolution|NameResolutionError|NewConnectionError|ProxyError|ReadTimeout"
        r"|Network is unreachable|Connection (?:refused|reset|timed out)|Max retries exceeded",
        "The packages could not be fetched: check the network (and the proxy, if any) and start again.",
    ),
    (r"No space left on device|not enough space", "The disk is full: free about 2 GB and start again."),
    (
        r"DO NOT MATCH THE HASHES",
        "A package came that is not the one in the lock; a cache or a mirror on the way may be damaged: "
        "run `python3 -m pip cache purge` and start again.",
    ),
    (
        r"Long Path",
        "A path is too long for this Windows: move the clone to a short one (C:\\moldkit) and start again.",
    ),
    (
        r"WinError 5\b|WinError 32\b|Access is denied",
        "A file in .venv is in use: close JupyterLab and whatever else runs from there, then start again.",
    ),
    (
        r"Permission denied",
        "A file could not be written: check who owns .venv and the clone, then start again.",
    ),
)


def check_room(root: Path) -> None:
    """Raise StartError when the clone's folder cannot be written, or its disk is too full."""
    if not os.access(root, os.W_OK):
        raise StartError(
            f"the folder {root} cannot be written, so .venv cannot be made in it: copy the clone to a folder "
            "of your own, or install the packages of pyproject.toml yourself and set MOLDKIT_NO_VENV=1."
        )
    free = shutil.disk_usage(root).free
    if free < FREE_NEEDED_BYTES:
        raise StartError(
            f"{free / 1e9:.1f} GB are free on the disk of {root}, and the first start needs about "
            f"{FREE_NEEDED_BYTES / 1e9:.0f} GB: free some and start again."
        )


def check_ensurepip(found: bool, debian: bool) -> None:
    """Raise StartError when this Python cannot put pip into a new environment."""
    if found:
        return
    version = stamp.this_python()
    package = f"python{version}-venv (`sudo apt-get install python{version}-venv`)" if debian else "with venv"
    raise StartError(
        f"Python {version} here comes without ensurepip, which puts pip into a new environment: install the "
        f"package {package}, then start again."
    )


def failure(what: str, heard: Iterable[str]) -> StartError:
    """Return the error for a failed step: the last lines that were said, then one sentence with the mend."""
    lines = [line for line in heard if line]
    quoted = [f"    {line}" for line in lines[-LINES_SHOWN:]]
    return StartError("\n".join([f"{what}; it ended with:", *quoted, mend(lines)]))


def mend(lines: Iterable[str]) -> str:
    """Return the sentence that says what to do about what pip said in `lines`."""
    text = "\n".join(lines)
    for pattern, words in MENDS:
        if re.search(pattern, text):
            return words
    lacking = re.search(r"No matching distribution found for (\S+)", text)
    if lacking:
        return (
            f"{lacking.group(1)} has no ready-made build for Python {stamp.this_python()} on this kind of "
            "machine: start with another Python, for example `python3.13 -m moldkit lab`."
        )
    return "The lines above say why; when that is mended, start again."
