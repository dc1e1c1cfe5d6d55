"""`moldkit lab`: JupyterLab on the notebooks, quiet about itself."""

from __future__ import annotations

import importlib.util
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from moldkit.start import place
from moldkit.start.handover import hand_over

FIRST_NOTEBOOK = "choose_a_technique.ipynb"
SETTINGS = Path(__file__).resolve().parent / "lab_settings"
# JupyterLab drops an uploaded file beyond its limit without a word; a scanned pattern may have some 100 MB.
LARGEST_MESSAGE_BYTES = 209715200
# Named only: the server imports it. It saves each move of a slider a wait of some 40 ms.
SOCKET = "moldkit.views.widgets.prompt_socket.PromptSocket"


def run_lab(arguments: Sequence[str] = ()) -> int:
    """Open the first notebook in JupyterLab; further `arguments` are JupyterLab's own, and win over ours.

    Returns an exit code only where JupyterLab cannot take the place of this run: on Windows, or for want of
    notebooks.
    """
    if importlib.util.find_spec("jupyterlab") is None:
        return _refuse(f"JupyterLab is not installed in {sys.prefix}: install moldkit's extra `lab` there.")
    home = notebook_home(Path.cwd(), place.clone_root())
    if home is None:
        return _refuse(
            f"there is no notebooks/{FIRST_NOTEBOOK} in {Path.cwd()} or above: the notebooks come with "
            "moldkit's source (the clone or the source archive), so run `moldkit lab` in that folder."
        )
    return hand_over(lab_command(home, arguments), importable(home), home)


def notebook_home(working_folder: Path, clone: Path | None) -> Path | None:
    """Return the folder that holds `notebooks`: the nearest upwards from `working_folder`, then the clone."""
    above = [working_folder, *working_folder.parents]
    homes = [*above, clone] if clone else above
    return next((home for home in homes if (home / "notebooks" / FIRST_NOTEBOOK).is_file()), None)


def lab_command(home: Path, arguments: Sequence[str]) -> list[str]:
    """Return the command that serves `home` and opens the first notebook."""
    return [
        sys.executable,
        "-m",
        "jupyterlab",
        f"--ServerApp.root_dir={home}",
        f"--ServerApp.tornado_settings={{'websocket_max_message_size': {LARGEST_MESSAGE_BYTES}}}",
        f"--ServerApp.kernel_websocket_connection_class={SOCKET}",
        f"--LabApp.default_url=/lab/tree/notebooks/{FIRST_NOTEBOOK}",
        f"--LabApp.app_settings_dir={SETTINGS}",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.news_url=None",
        "--LabApp.extension_manager=readonly",
        *arguments,
    ]


def importable(home: Path) -> dict[str, str]:
    """Return the environment in which the notebooks' kernels find moldkit, installed or not."""
    environ = dict(os.environ)
    if not place.is_installed("moldkit"):
        environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(home), environ.get("PYTHONPATH", "")]))
    return environ


def _refuse(sentence: str) -> int:
    print(f"moldkit lab: {sentence}", file=sys.stderr)
    return 2
