"""The whole survey of a pattern."""

from __future__ import annotations

from moldkit.pattern.field import Progress
from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.air import survey_air
from moldkit.pattern.survey.necks import survey_peel
from moldkit.pattern.survey.pull import survey_pull
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.results import Survey
from moldkit.pattern.survey.walls import survey_walls


def survey_mesh(
    mesh: Mesh, *, stands_on_base: bool, open_base: bool | None = None, progress: Progress | None = None
) -> Survey:
    """Find how a mold draws off a pattern, where it hooks, where air stays and where it is thin.

    mesh: closed, facing outwards, z up [m]; stands_on_base: it stands on its lowest plane, else it is molded all
    round; open_base: its base is wide enough for a casting to be poured through, None takes every base for that;
    progress: called with the finished share, 0 to 1. Returns the survey, the same every time.
    """
    tell = progress or (lambda share: None)
    rays = Rays(mesh)
    tell(0.1)
    pull = survey_pull(mesh, stands_on_base=stands_on_base, rays=rays)
    tell(0.5)
    peel = survey_peel(mesh, stands_on_base=stands_on_base)
    tell(0.65)
    air = survey_air(mesh, stands_on_base=stands_on_base if open_base is None else open_base)
    tell(0.85)
    walls = survey_walls(mesh, stands_on_base=stands_on_base, rays=rays)
    tell(1.0)
    return Survey(pull, peel, air, walls)
