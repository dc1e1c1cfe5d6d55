"""The server behind `moldkit show`: one notebook as a page to be shown, on this machine only, behind a token.

Started as `python -m moldkit.views.show_server NOTEBOOK`; further words are Voila's own, and win over ours.
"""

from __future__ import annotations

import os
import sys
import webbrowser
from pathlib import Path
from typing import Any, ClassVar

from traitlets import Bool
from traitlets.config import Config
from voila.app import Voila

# Where this package keeps the page's own template, in the folders that Jupyter looks for.
TEMPLATES = Path(__file__).resolve().parent / "jupyter"
TEMPLATE = "moldkit"
HOST = "127.0.0.1"
# Cells with this tag are left out of what is shown: they are neither run nor sent to the page.
NOT_SHOWN = "not-shown"
# What the page asks of a script that typesets formulas, doing nothing; the rest of the address is a remark.
NO_FORMULAS = (
    "data:text/javascript,window.MathJax={Hub:{Config(){},Configured(){},Queue(){},Register:{StartupHook(){}}},"
    "Ajax:{},InputJax:{TeX:{}}};//"
)
FAULT = "This page could not be made. The window in which moldkit was started says why."


class ShowServer(Voila):  # type: ignore[misc]
    """The usual server of notebooks as pages, which tells and opens its address with the token.

    opens: the page is opened in the usual browser, not only told.
    """

    opens = Bool(True, config=True)
    flags: ClassVar[dict[str, Any]] = {
        **Voila.flags,
        "no-browser": ({"ShowServer": {"opens": False}}, "Only tell the address of the page."),
    }

    @property
    def address(self) -> str:
        """The page's address with its token."""
        return f"{self.connection_url}?token={self.identity_provider.token}"

    def launch_browser(self) -> None:
        """Tell the page's address, and open it; called once the server listens."""
        print(f"moldkit show: {self.address}\nStop it with Ctrl-C.", flush=True)
        if self.opens:
            webbrowser.open(self.address, new=2)


def without_formulas(page_config: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Return a page's settings with nothing in the place of what typesets formulas, fetched from a far host else."""
    return {**page_config, "fullMathjaxUrl": NO_FORMULAS}


def configuration() -> Config:
    """Return what makes the page our own: template, token, what is never shown."""
    return Config(
        {
            "Voila": {
                "ip": HOST,
                "auto_token": True,
                "open_browser": True,
                "log_level": "WARN",
                "kernel_websocket_connection_class": "moldkit.views.widgets.prompt_socket.PromptSocket",
            },
            "VoilaConfiguration": {
                "template": TEMPLATE,
                "allow_template_override": "NO",
                "allow_theme_override": "NO",
                "strip_sources": True,
                "file_allowlist": [],
                "page_config_hook": without_formulas,
            },
            "VoilaExecutor": {"cell_error_instruction": FAULT},
            "TagRemovePreprocessor": {"enabled": True, "remove_cell_tags": {NOT_SHOWN}},
        }
    )


def main(words: list[str]) -> None:
    """Serve the notebook named in `words` until somebody stops it."""
    paths = [str(TEMPLATES), *filter(None, [os.environ.get("JUPYTER_PATH")])]
    os.environ["JUPYTER_PATH"] = os.pathsep.join(paths)
    server: Any = ShowServer(config=configuration())
    server.initialize(words)
    server.start()


if __name__ == "__main__":
    main(sys.argv[1:])
