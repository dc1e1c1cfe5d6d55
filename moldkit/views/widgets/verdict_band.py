"""The verdict over a panel: one large sentence, one small line, and a red line when something is wrong."""

from __future__ import annotations

import html
from pathlib import Path
from typing import Any

import anywidget
import traitlets

_HERE = Path(__file__).parent


class VerdictBand(anywidget.AnyWidget):
    """A band of fixed height that is read out when it changes.

    sentence: the verdict; detail: a smaller line; kind: "clear", "near", "only", "none" or "" while waiting;
    problem: what is wrong with the input, in one sentence; the last good verdict stays, greyed.
    seq: the number of the change it belongs to.
    """

    _esm = "\n".join((_HERE / name).read_text("utf-8") for name in ("panel_keys.js", "verdict_band.js"))
    _css = _HERE / "verdict_band.css"

    sentence = traitlets.Unicode("").tag(sync=True)
    detail = traitlets.Unicode("").tag(sync=True)
    kind = traitlets.Unicode("").tag(sync=True)
    problem = traitlets.Unicode("").tag(sync=True)
    seq = traitlets.Int(0).tag(sync=True)

    def _repr_mimebundle_(self, **kwargs: Any) -> tuple[dict[str, Any], dict[str, Any]] | None:
        bundle = super()._repr_mimebundle_(**kwargs)
        if bundle is None:
            return None
        data, metadata = bundle
        words = f"<p>{html.escape(self.sentence)}</p><p>{html.escape(self.detail)}</p>"
        return {**data, "text/plain": self.sentence, "text/html": words}, metadata
