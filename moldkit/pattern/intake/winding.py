"""Making neighbouring faces agree which side of the surface is out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.edges import Edges, connected, edges_of

Integers = NDArray[np.int64]


def aligned(faces: Integers, edges: Edges, name: str) -> tuple[Integers, list[str]]:
    """Return the faces with those turned that disagree with most of their surface, and what was done.

    faces: shape (m, 3); edges: of the faces; name: of the file. Raises InputError for a surface of one side only.
    """
    crossed = int(edges.crossed().sum())
    if not crossed:
        return faces, []
    f, g, agree = edges.pairs()
    m = len(faces)
    # Each face stands twice, as it is and turned; what then hangs together is one way to turn the whole surface.
    label = connected(2 * m, np.concatenate([f, f + m]), np.concatenate([g + m * ~agree, np.where(agree, g + m, g)]))
    as_is, turned = label[:m], label[m:]
    if (as_is == turned).any():
        raise _one_sided(name)
    size = np.bincount(as_is, minlength=2 * m)
    flip = (size[as_is] < size[turned]) | ((size[as_is] == size[turned]) & (as_is > turned))
    faces = np.where(flip[:, None], faces[:, ::-1], faces)
    if edges_of(faces).crossed().any():
        raise _one_sided(name)
    return faces, [f"Faces disagreed along {crossed} edges on which side is out; they have been turned."]


def _one_sided(name: str) -> InputError:
    return InputError(
        f"{name}: its faces disagree on which side is out; make the normals consistent and export it again."
    )
