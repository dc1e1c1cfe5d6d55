"""A survey and a picture made by hand, for the tests of what is said and drawn of them."""

from __future__ import annotations

import numpy as np

from moldkit.pattern.survey.picture import Picture
from moldkit.pattern.survey.results import Air, Neck, Peel, Piece, Pull, Survey, Trap, Walls, WayUp
from moldkit.views.survey_report import Rubber

SILICONE = Rubber("platinum silicone, slow", 4.0)
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def a_pull() -> Pull:
    ring = np.array([(-0.04, 0.0, 0.0), (-0.04, 0.0, 0.17), (0.04, 0.0, 0.17), (0.04, 0.0, 0.0)])
    rigid = (Piece((0.0, 1.0, 0.0), 0.50), Piece((0.0, -1.0, 0.0), 0.43), Piece(UP, 0.05))
    soft = (Piece((0.0, 1.0, 0.0), 0.50), Piece((0.0, -1.0, 0.0), 0.49))
    return Pull(
        axis=(0.0, 1.0, 0.0), visible=0.93, visible_up=0.5, visible_any=0.99, hidden_area=0.0031, hidden_depth=0.0042,
        grade="moderate", stretch=0.4, pieces=rigid, soft_pieces=soft, parting=(ring,), parting_length=0.71,
        silhouette_area=0.01,
    )  # fmt: skip


def an_air() -> Air:
    ceilings = (Trap((0.0, 0.02, 0.12), 0.012, 2e-4, True), Trap((0.0, -0.02, 0.05), 0.003, 1e-4, True))
    standing = WayUp(UP, False, (), ceilings, (0.0, 0.0, 0.18), (), 0.18)
    top = Trap((0.03, 0.0, 0.09), 0.006, 1e-4, False)
    return Air(standing, WayUp(DOWN, True, (top,), (), None, (top.at,), 0.18), ())


def a_survey() -> Survey:
    """A piece of 8 x 8 x 18 cm on its base: two halves, one neck, one vent, two hollows under it."""
    peel = Peel(UP, (Neck((0.0, 0.0, 0.12), 0.12, 0.20, 0.31),), 0)
    walls = Walls(
        np.array([0.004, 0.006]), np.array([0.01, 0.05]), (0.0, 0.0, 0.09), np.array([0.003, 0.02]),
        np.array([0.02, 0.1]), (0.0, 0.0, 0.05),
    )  # fmt: skip
    return Survey(a_pull(), peel, an_air(), walls)


def a_picture() -> Picture:
    """A box of 8 x 8 x 18 cm standing on z = 0, its twelve faces with a figure each, the first two plain."""
    low, high = np.array([-0.04, -0.04, 0.0]), np.array([0.04, 0.04, 0.18])
    corners = np.array([[(low, high)[i >> a & 1][a] for a in range(3)] for i in range(8)])
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = np.array([tri for a, b, c, d in quads for tri in ((a, b, c), (a, c, d))], dtype=np.int32)
    figures = (np.maximum(np.arange(12) - 1, 0) * 1e-3).astype(np.float32)
    plain = np.zeros(12, dtype=np.float32)
    return Picture(corners.astype(np.float32), faces, figures, 0.5 * figures, plain, 0.2 * figures)
