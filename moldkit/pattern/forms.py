"""Simple forms as closed triangle meshes, for a pattern of which only the dimensions are known."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np

from moldkit.errors import InputError, unknown
from moldkit.pattern import form_shapes, modelled_forms
from moldkit.pattern.form_shapes import Shape
from moldkit.pattern.mesh import Mesh

FORM_NOTES: Mapping[str, str] = MappingProxyType(
    {
        "ball": "An ellipsoid that touches all six sides of its box; it fills pi/6 = 0.524 of it.",
        "dome": "The upper half of an ellipsoid on a flat base; it fills pi/6 = 0.524 of its box.",
        "cylinder": "An upright elliptic cylinder; it fills pi/4 = 0.785 of its box.",
        "box": "A plain block; it fills its box, 1.",
        "capsule": "An upright elliptic cylinder closed by two half ellipsoids as high as the smaller half-width; "
        "it fills pi/4 - pi/6 x cap height / height of its box, and where two caps leave no straight part it is "
        "the ball, 0.524.",
        "panel": "A slab with a flat back on the base and a raised frame and soft rosette on top, without "
        "undercut; it fills 0.5 of its box.",
        "bust": "A head, neck and chest on a flat base, modelled smooth and facing front (-y); it fills about "
        "0.45 of its box.",
        "figure": "A standing figure with simplified limbs on a small plinth, facing front (-y); it fills about "
        "0.25 of its box.",
    }
)
FORMS: tuple[str, ...] = tuple(FORM_NOTES)


def form_mesh(form: str, size: tuple[float, float, float]) -> Mesh:
    """Return a form as a closed mesh standing on z = 0 over x = y = 0, its bounding box exactly `size`.

    form: one of FORMS; size: width (x), depth (y) and height (z) of the bounding box [m]. Returns a mesh [m].
    Raises InputError for an unknown form and for a size that isn't three positive lengths. Volume and area
    of ball, dome, cylinder and capsule are within 0.1 % of the closed forms for sides up to 1 : 50.
    """
    if form not in FORM_NOTES:
        raise unknown("form", form, FORMS)
    if len(size) != 3 or not all(math.isfinite(side) and side > 0.0 for side in size):
        raise InputError(
            f"form {form!r}: the size {size!r} is not a box; give width, depth and height as three lengths above zero."
        )
    vertices, faces = _SHAPES[form](*size)
    return Mesh(name=form, vertices=vertices * np.asarray(size), faces=faces.copy(), notes=(FORM_NOTES[form],))


def _capsule(width: float, depth: float, height: float) -> Shape:
    return form_shapes.capsule(min(0.5, 0.5 * min(width, depth) / height))


def _same(shape: Callable[[], Shape]) -> Callable[[float, float, float], Shape]:
    """Return the maker of a form that is only stretched with its box."""
    return lambda width, depth, height: shape()


_SHAPES: Mapping[str, Callable[[float, float, float], Shape]] = MappingProxyType(
    {
        "ball": _same(form_shapes.ball),
        "dome": _same(form_shapes.dome),
        "cylinder": _same(form_shapes.cylinder),
        "box": _same(form_shapes.box),
        "capsule": _capsule,
        "panel": _same(form_shapes.panel),
        "bust": _same(modelled_forms.bust),
        "figure": _same(modelled_forms.figure),
    }
)
