"""Figures made ready for the page: JSON, with the traces' number arrays packed."""

from __future__ import annotations

import base64
import datetime
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from moldkit.errors import InputError

SHORTEST_PACKED = 16  # below this a list is smaller and quicker as plain JSON


def settled(figure: object) -> dict[str, Any]:
    """Return a figure as JSON that stands on its own, number arrays in plotly's own base64 form.

    figure: a plotly figure or a plain dict with `data` and `layout`; may hold numpy arrays.
    Raises InputError when it is neither, or holds something that JSON cannot.
    """
    parts = _parts(figure)
    if not parts:
        return {}
    traces = parts.get("data", ())
    if not isinstance(traces, list | tuple):
        raise InputError(f"chart: `data` must be a list of traces, not {type(traces).__name__}.")
    return {
        "data": [_encode(trace, None, f"data[{i}]") for i, trace in enumerate(traces)],
        "layout": _encode(parts.get("layout", {}), None, "layout"),
    }


def drawing(figure_or_patch: object) -> tuple[dict[str, Any], list[bytes]]:
    """Return a figure, or a patch of one, as a message and the buffers its arrays travel in.

    figure_or_patch: a figure as for `settled`; or a patch, whose `data` maps a trace's place to the
    attributes that change, and whose `layout` holds what changes; keys may reach inwards by dots
    ("marker.size", "xaxis.range").
    Raises InputError as `settled` does.
    """
    parts = _parts(figure_or_patch)
    traces = parts.get("data", {})
    buffers: list[bytes] = []
    patch = isinstance(traces, Mapping)
    data: Any
    if isinstance(traces, Mapping):
        data = {str(_place(i)): _encode(change, buffers, f"data[{i}]") for i, change in traces.items()}
    else:
        data = [_encode(trace, buffers, f"data[{i}]") for i, trace in enumerate(traces)]
    layout = _encode(parts.get("layout", {}), None, "layout")
    return {"patch": patch, "data": data, "layout": layout}, buffers


def _parts(figure: object) -> Mapping[str, Any]:
    """Return a figure as a mapping, with a plotly figure turned into its plain form."""
    plain = figure.to_plotly_json() if hasattr(figure, "to_plotly_json") else figure
    if not isinstance(plain, Mapping):
        raise InputError(f"chart: expected a figure (`data` and `layout`), not {type(figure).__name__}.")
    return plain


def _place(index: object) -> int:
    """Return the place of a trace named in a patch, refusing what is none."""
    if not isinstance(index, int | np.integer) or index < 0:
        raise InputError(f"chart: a patch names its traces by their place (0, 1, ...), not {index!r}.")
    return int(index)


def _encode(value: Any, buffers: list[bytes] | None, where: str) -> Any:
    """Return `value` as JSON; arrays go into `buffers`, or into base64 when that is None."""
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        if "bdata" in value:
            return _repacked(value, buffers)
        return {str(key): _encode(part, buffers, f"{where}.{key}") for key, part in value.items()}
    if hasattr(value, "to_plotly_json"):
        return _encode(value.to_plotly_json(), buffers, where)
    if hasattr(value, "to_numpy"):  # a column of a table
        value = value.to_numpy()
    if isinstance(value, np.generic):
        return _encode(value.item(), buffers, where)
    if isinstance(value, datetime.date):  # a datetime is a date too
        return value.isoformat()
    if isinstance(value, np.ndarray | list | tuple):
        numbers = None if where.startswith("layout") else _numbers(value)
        if numbers is not None:
            return _packed(numbers, buffers)
        if isinstance(value, np.ndarray):
            value = np.datetime_as_string(value).tolist() if value.dtype.kind == "M" else value.tolist()
        return [_encode(part, buffers, f"{where}[{i}]") for i, part in enumerate(value)]
    raise InputError(f"chart: {where} holds a {type(value).__name__}, which a figure cannot show.")


def _numbers(values: Any) -> np.ndarray[Any, Any] | None:
    """Return `values` as an array that a page can hold, or None where they are better left as they are."""
    if not isinstance(values, np.ndarray):
        if len(values) < SHORTEST_PACKED and not (values and isinstance(values[0], np.ndarray)):
            return None
        try:
            values = np.asarray(values)
        except ValueError:  # rows of unequal length
            return None
    if values.dtype.kind not in "fiu" or values.ndim not in (1, 2):
        return None
    if values.dtype.itemsize == 8 and values.dtype.kind in "iu":  # a page has no plain 64-bit whole numbers
        fits = values.size == 0 or (values.min() >= -(2**31) and values.max() < 2**31)
        values = values.astype(np.int32 if fits else np.float64)
    if values.dtype.kind == "f" and values.dtype.itemsize not in (4, 8):
        values = values.astype(np.float64)
    return np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<"))


def _packed(numbers: np.ndarray[Any, Any], buffers: list[bytes] | None) -> dict[str, Any]:
    """Return the note that stands for an array: its type, its shape if it has rows, where its bytes are."""
    return _note(numbers.dtype.str[1:], ", ".join(map(str, numbers.shape)), numbers.tobytes(), buffers)


def _repacked(spec: Mapping[str, Any], buffers: list[bytes] | None) -> dict[str, Any]:
    """Return the note for an array that plotly has already packed into base64."""
    if buffers is None:
        return dict(spec)
    return _note(spec["dtype"], spec.get("shape", ""), base64.b64decode(spec["bdata"]), buffers)


def _note(dtype: str, shape: str, raw: bytes, buffers: list[bytes] | None) -> dict[str, Any]:
    note: dict[str, Any] = {"dtype": dtype}
    if "," in shape:
        note["shape"] = shape
    if buffers is None:
        note["bdata"] = base64.b64encode(raw).decode("ascii")
    else:
        note["buffer"] = len(buffers)
        buffers.append(raw)
    return note
