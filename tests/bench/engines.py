"""First hits of rays and lengths of level sections, ours against a general mesh library's own."""

from __future__ import annotations

import importlib
import importlib.util
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.rays import Rays
from tests.bench.bodies import bumpy_ball
from tests.bench.clock import line, median_ms

Floats = NDArray[np.float64]

TRIANGLES, RAYS, LEVELS = 75_000, 20_000, 100
# The general library's engines for rays: its module, what must be installed, and how many rays it is given.
ENGINES = (("trimesh.ray.ray_triangle", "rtree", 50), ("trimesh.ray.ray_pyembree", "embreex", RAYS))


def rays_from_outside(mesh: Mesh, count: int) -> tuple[Floats, Floats]:
    """Return origins on a ball round a mesh and unit directions to points near its middle, each of shape (n, 3)."""
    draw = np.random.default_rng(3)
    out = draw.normal(size=(count, 3))
    out /= np.linalg.norm(out, axis=1)[:, None]
    middle, reach = mesh.vertices.mean(axis=0), float(np.ptp(mesh.vertices, axis=0).max())
    origins = middle + 1.5 * reach * out
    directions = middle + 0.3 * reach * draw.uniform(-1.0, 1.0, size=(count, 3)) - origins
    return origins, directions / np.linalg.norm(directions, axis=1)[:, None]


def shape_of(mesh: Mesh) -> Any:
    """Return a mesh as the general library's own."""
    import trimesh

    return trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)


def run() -> None:
    """Print both comparisons; each side is prepared beforehand."""
    mesh = bumpy_ball(TRIANGLES)
    shape = shape_of(mesh)
    print(f"rays and sections, {len(mesh.faces):,} triangles")
    _compare_rays(mesh, shape)
    _compare_sections(mesh, shape)


def _compare_rays(mesh: Mesh, shape: Any) -> None:
    origins, directions = rays_from_outside(mesh, RAYS)
    rays = Rays(mesh)
    hit, _ = rays.first(origins, directions)
    ours = median_ms(lambda: rays.first(origins, directions), 5)
    line("1,000 rays to the first face, ours", 1e3 * ours / RAYS, 1e3 * ours / RAYS, "ours")
    for name, needed, count in ENGINES:
        if importlib.util.find_spec(needed) is None:
            print(f"  {name} is left out: {needed} isn't installed.")
            continue
        engine: Any = importlib.import_module(name).RayMeshIntersector(shape)
        found: list[Any] = []
        some = origins[:count], directions[:count]
        took = median_ms(lambda ask=engine, some=some, found=found: found.append(ask.intersects_first(*some)), 1)  # type: ignore[misc]
        same = 100 * float((found[-1] == hit[:count]).mean())
        line(f"{name}, {same:.1f} % the same face", 1e3 * took / count, 1e3 * ours / RAYS, "ours")


def _compare_sections(mesh: Mesh, shape: Any) -> None:
    try:
        from moldkit.pattern.survey.loops import cut_loops
        from moldkit.pattern.survey.sections import solid_sections
    except ImportError:
        print("  sections are left out: the survey has none.")
        return
    height, flat = mesh.vertices[:, 2], mesh.vertices[:, :2]
    levels = np.linspace(height.min(), height.max(), LEVELS + 2)[1:-1]

    def theirs() -> Any:
        return shape.section_multiplane([0.0, 0.0, 0.0], [0.0, 0.0, 1.0], levels)

    cut = cut_loops(height, flat, mesh.faces, levels)
    length = float(np.linalg.norm(cut.end - cut.start, axis=1).sum())
    expected = math.fsum(path.length for path in theirs() if path is not None)
    took = median_ms(lambda: cut_loops(height, flat, mesh.faces, levels), 3)
    joined = median_ms(lambda: solid_sections(cut_loops(height, flat, mesh.faces, levels)), 3)
    line(f"{LEVELS} level sections as loops, ours", took, took, "ours")
    line("the same, put together to solid sections with bands", joined, took, "ours")
    off = 100 * (length / expected - 1)
    line(f"trimesh.section_multiplane ({off:+.4f} % between the lengths)", median_ms(theirs, 1), took, "ours")
