"""Everything a mold plan needs to know of a pattern's shape, read from its mesh once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.containers import Containers, containers
from moldkit.pattern.distance import DistanceCurve, measure_distance
from moldkit.pattern.field import Progress
from moldkit.pattern.footprint import (
    convex_hull,
    enclosed_area,
    enclosing_circle,
    outermost,
    perimeter,
)
from moldkit.pattern.mesh import Mesh
from moldkit.pattern.parting import Parting, shortest_parting
from moldkit.pattern.survey.results import Survey
from moldkit.pattern.survey.whole import survey_mesh
from moldkit.pattern.triangles import cone_volumes

Floats = NDArray[np.float64]

# A face looks down when the upward part of its unit normal is below this: walls that are upright but for rounding
# don't hold a shell.
LOOKS_DOWN = -0.02
# A base with less area than this share of the outline from above is none that a mold could be poured through.
LEAST_BASE = 0.02
NO_FLAT_BASE = (
    "It has no flat base on its lowest plane: level it or saw it off flat and export it again, or measure it free, "
    "molded all round; as it is, a casting is taken to be poured through a spout."
)


@dataclass(frozen=True, eq=False)
class Reading:
    """What a pattern measures, at the mesh's own size, z up.

    name; stands_on_base: measured as standing on its lowest plane; triangles: how many; watertight: closed;
    volume: a part that several bodies cover counted once [m3]; area: whole surface [m2]; molded_area: less a base
    [m2]; extents: of the bounding box [m]; bottom: its lowest height [m]; centre_of_mass: from the box's lower
    corner [m]; footprint_area, footprint_perimeter: of the convex outline from above [m2], [m];
    upright_circle_diameter: of the smallest upright tube round it [m]; containers: the smallest boxes and tubes over
    the ways it may be set down;
    parting_length: of one parting line for the best pull, without its stretch on the base plane [m];
    silhouette_area: seen along that pull [m2]; downward_share: share of the molded area that looks down;
    curve: volume over distance; survey: what else a mold maker sees of it, None for a simple form; notes: what was
    mended or looks doubtful, in sentences.
    """

    name: str
    stands_on_base: bool
    triangles: int
    watertight: bool
    volume: float
    area: float
    molded_area: float
    extents: tuple[float, float, float]
    bottom: float
    centre_of_mass: tuple[float, float, float]
    footprint_area: float
    footprint_perimeter: float
    upright_circle_diameter: float
    containers: Containers
    parting_length: float
    silhouette_area: float
    downward_share: float
    curve: DistanceCurve
    survey: Survey | None = None
    notes: tuple[str, ...] = ()


def read_mesh(
    mesh: Mesh, *, stands_on_base: bool = True, surveyed: bool = False, progress: Progress | None = None
) -> Reading:
    """Read off a closed mesh all that a mold plan needs.

    mesh: closed, facing outwards, z up [m]; stands_on_base: it stands on its lowest plane, else it is free and
    rubber goes all round; surveyed: look for pull, undercuts, necks, trapped air and thin walls too; progress: called
    with the finished share, 0 to 1. Returns the reading.
    """
    areas, downward = _areas(mesh)
    molded = ~mesh.base_faces() if stands_on_base else np.ones(len(areas), dtype=bool)
    corners = outermost(mesh.vertices)
    outline = convex_hull(corners[:, :2])
    base = float(areas[~molded].sum())
    flat = stands_on_base and base >= LEAST_BASE * enclosed_area(outline)
    aside = _part(progress, 0.0, 0.6)
    survey = survey_mesh(mesh, stands_on_base=stands_on_base, open_base=flat, progress=aside) if surveyed else None
    parting = _parting(mesh, survey, outline, stands_on_base=stands_on_base)
    curve = measure_distance(mesh, stands_on_base=stands_on_base, progress=_part(progress, 0.6, 1.0))
    x, y, z = np.ptp(mesh.vertices, axis=0).tolist()
    return Reading(
        name=mesh.name,
        stands_on_base=stands_on_base,
        triangles=len(mesh.faces),
        watertight=True,
        volume=curve.solid_volume,
        area=float(areas.sum()),
        molded_area=float(areas[molded].sum()),
        extents=(x, y, z),
        bottom=float(mesh.vertices[:, 2].min()),
        centre_of_mass=_centre_of_mass(mesh),
        footprint_area=enclosed_area(outline),
        footprint_perimeter=perimeter(outline),
        upright_circle_diameter=2.0 * enclosing_circle(outline)[1],
        containers=containers(corners, stands_on_base=stands_on_base),
        parting_length=parting.length,
        silhouette_area=parting.silhouette_area,
        downward_share=float(areas[molded & downward].sum() / areas[molded].sum()),
        curve=curve,
        survey=survey,
        notes=mesh.notes if flat or not (stands_on_base and surveyed) else (*mesh.notes, NO_FLAT_BASE),
    )


def _areas(mesh: Mesh) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the area of each face [m2] and whether it looks down."""
    vectors = mesh.area_vectors()
    areas: Floats = np.linalg.norm(vectors, axis=1)
    return areas, vectors[:, 2] < LOOKS_DOWN * areas


def _centre_of_mass(mesh: Mesh) -> tuple[float, float, float]:
    """Return the centre of the enclosed volume from the box's lower corner [m]."""
    corners = mesh.corners() - mesh.vertices.min(axis=0)
    cones = cone_volumes(corners)
    x, y, z = (cones @ corners.sum(axis=1) / (4.0 * cones.sum())).tolist()
    return x, y, z


def _parting(mesh: Mesh, survey: Survey | None, outline: Floats, *, stands_on_base: bool) -> Parting:
    """Return the parting line of the best pull, where it was surveyed and has one; else the shortest."""
    pull = None if survey is None else survey.pull
    if pull is None or not pull.parting:
        return shortest_parting(mesh, outline, stands_on_base=stands_on_base)
    return Parting(pull.parting_length, pull.silhouette_area, pull.axis)


def _part(progress: Progress | None, start: float, end: float) -> Progress | None:
    """Return the progress of a part of the whole, from one share to another."""
    if progress is None:
        return None
    return lambda share: progress(start + (end - start) * share)
