"""How far a skin must widen to come off: closed forms, and sections against a general-purpose library's."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.loops import cut_loops
from moldkit.pattern.survey.necks import allowed_stretch, count_rings, survey_peel
from moldkit.pattern.survey.results import Neck, Peel
from moldkit.pattern.survey.sections import girths, middles, solid_sections
from tests.pattern import solids

Floats = NDArray[np.float64]
Outline = list[tuple[float, float]]
DEMO = solids.ROOT / "data" / "patterns"

# A turned shape's mesh has so many sides, so a circle's girth is 0.07 % short; a ratio of two circles is exact.
SIDES = 96
# An end that isn't flat is opened over so much of the way.
OPENED = 0.05


def turned(outline: Outline) -> Mesh:
    """A shape from the lathe; outline: radius and height, from the axis round to the axis."""
    return solids.mesh_of(trimesh.creation.revolve(np.array(outline), sections=SIDES), "turned")


def joined(*parts: Mesh) -> Mesh:
    shapes = [trimesh.Trimesh(part.vertices, part.faces) for part in parts]
    return solids.mesh_of(trimesh.boolean.union(shapes, engine="manifold"), "joined")


def beside(*parts: Mesh) -> Mesh:
    """Several bodies in one mesh."""
    firsts = np.cumsum([0, *[len(part.vertices) for part in parts]])
    faces = [part.faces + first for part, first in zip(parts, firsts, strict=False)]
    return Mesh("several", np.vstack([part.vertices for part in parts]), np.vstack(faces))


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> Mesh:
    a, b = np.array(low), np.array(high)
    return Mesh("block", solids.box(*(b - a).tolist()).vertices + (a + b) / 2, solids.box(1, 1, 1).faces)


def rod(start: tuple[float, float, float], end: tuple[float, float, float], radius: float) -> Mesh:
    return solids.mesh_of(trimesh.creation.cylinder(radius, segment=[start, end], sections=SIDES))


def ball_at(centre: tuple[float, float, float], radius: float) -> Mesh:
    ball = solids.ball(radius, 4)
    return Mesh("ball", ball.vertices + np.array(centre), ball.faces)


def standing(mesh: Mesh) -> Peel:
    return survey_peel(mesh, stands_on_base=True)


def free(mesh: Mesh) -> Peel:
    return survey_peel(mesh, stands_on_base=False)


def mushroom(cap: float = 3.0, stem: float = 1.0) -> Mesh:
    return turned([(0, 0), (stem, 0), (stem, 4), (cap, 4), (cap, 5), (0, 5)])


def hourglass() -> Mesh:
    return turned([(0, 0), (2, 0), (0.5, 3), (2, 6), (0, 6)])


def cone_on_its_tip() -> Mesh:
    return turned([(0, 0), (2, 5), (0, 5)])


def arch() -> Mesh:
    return joined(block((0, 0, 0), (1, 1, 4)), block((4, 0, 0), (5, 1, 4)), block((0, 0, 4), (5, 1, 5)))


def upright_torus() -> Mesh:
    return solids.moved(solids.torus(1.0, 0.3), turn=np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]]))


# Closed forms: a band of radius r that passes a circle of radius R widens by R / r - 1.
@pytest.mark.parametrize(("cap", "stem"), [(3.0, 1.0), (1.2, 1.0), (5.0, 0.25)])
def test_a_mushroom_asks_for_the_cap_over_the_stem(cap: float, stem: float) -> None:
    peel = standing(mushroom(cap, stem))
    (neck,) = peel.necks
    assert peel.axis == (0.0, 0.0, 1.0)
    assert peel.loops == 0
    assert peel.stretch == neck.stretch == pytest.approx(cap / stem - 1.0, rel=1e-3)
    assert neck.girth == pytest.approx(2 * math.pi * stem, rel=1e-3)
    assert neck.passes == pytest.approx(2 * math.pi * cap, rel=1e-3)
    assert neck.at == pytest.approx((0.0, 0.0, 2.0), abs=0.06)
    assert neck.height == pytest.approx(2.0, abs=0.06)


def test_a_free_mushroom_is_slit_over_its_cap_and_slides_off_along_its_stem() -> None:
    peel = free(mushroom())
    assert peel.axis == (0.0, 0.0, -1.0)
    assert peel.necks == ()
    assert peel.stretch == 0.0


def test_an_hourglass_asks_for_the_rim_over_the_waist() -> None:
    (neck,) = standing(hourglass()).necks
    # The waist is an edge; the nearest of the finer levels lies within 1/2400 of the height of it.
    assert neck.stretch == pytest.approx(2.0 / 0.5 - 1.0, rel=0.02)
    assert neck.height == pytest.approx(3.0, abs=0.01)


def test_what_narrows_all_the_way_slides_off() -> None:
    for mesh in (turned([(0, 0), (2, 0), (0, 5)]), solids.box(3, 2, 1), solids.dome(1.0), solids.cylinder(1.0, 4.0)):
        assert standing(mesh).necks == ()


def test_a_cone_on_its_tip_is_hopeless_and_free_comes_off_over_its_tip() -> None:
    # Opened over 5 % of the way, where the radius is 5 % of the rim's.
    assert standing(cone_on_its_tip()).stretch == pytest.approx(1.0 / OPENED - 1.0, rel=2e-3)
    peel = free(cone_on_its_tip())
    assert peel.axis == (0.0, 0.0, -1.0)
    assert peel.stretch == 0.0


def test_a_cone_cut_off_flat_is_not_opened_further() -> None:
    # Radii 0.1 below, 2 above: the lowest level, 1/1000 of the height up, has 0.1019.
    assert standing(turned([(0, 0), (0.1, 0), (2, 5), (0, 5)])).stretch == pytest.approx(2 / 0.1019 - 1.0, rel=2e-3)


def test_a_ball_is_opened_over_a_twentieth_of_its_height() -> None:
    # The circle at height h of a ball of radius R has radius sqrt(h (2 R - h)).
    expected = 1.0 / math.sqrt(2 * OPENED * (2 - 2 * OPENED)) - 1.0
    assert standing(solids.ball(1.0)).stretch == pytest.approx(expected, rel=3e-3)


def test_each_step_of_stacked_cylinders_is_its_own_neck_and_the_worst_comes_first() -> None:
    stack = turned([(0, 0), (1, 0), (1, 2), (2, 2), (2, 3), (1.5, 3), (1.5, 5), (3, 5), (3, 6), (0, 6)])
    necks = standing(stack).necks
    assert [neck.stretch for neck in necks] == pytest.approx([3 / 1 - 1, 3 / 1.5 - 1], rel=1e-3)
    assert [neck.height for neck in necks] == pytest.approx([1.0, 4.0], abs=0.05)
    # Upside down the skin meets the steps from the other side: 2 past 1.5.
    assert standing(solids.moved(stack, turn=np.diag([1.0, -1.0, -1.0]))).stretch == pytest.approx(
        2 / 1.5 - 1, rel=1e-3
    )


def test_a_flange_thinner_than_the_space_between_levels_is_met() -> None:
    # A brim 1/500 of the height thick, half way up, where no level lies at first.
    brim = turned([(0, 0), (1, 0), (1, 5), (1.5, 5), (1.5, 5.02), (1, 5.02), (1, 10), (0, 10)])
    assert standing(brim).stretch == pytest.approx(0.5, rel=1e-3)


def test_girth_is_a_band_stretched_over_hollows() -> None:
    # A star of eight points passes as the octagon round it: side 2 sin(22.5 degrees) a radius.
    angles = np.arange(16) * (math.pi / 8)
    radii = np.where(np.arange(16) % 2 == 0, 2.0, 1.0)
    rim = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    fan = np.array([[16, k, (k + 1) % 16] for k in range(16)])
    star = solids.mesh_of(trimesh.creation.extrude_triangulation(np.vstack([rim, [[0.0, 0.0]]]), fan, 1.0))
    post = turned([(0, 0), (0.5, 0), (0.5, 4), (0, 4)])
    raised = Mesh("star", star.vertices + np.array([0, 0, 4.0]), star.faces)
    (neck,) = standing(joined(post, Mesh("star", raised.vertices - np.array([0, 0, 0.01]), raised.faces))).necks
    assert neck.passes == pytest.approx(8 * 2 * 2 * math.sin(math.pi / 8), rel=1e-3)


def test_a_tube_has_the_girth_of_a_rod() -> None:
    # The bore is a hole in one section, not a section of its own; on its board it closes nothing round.
    tube = turned([(0.8, 0), (1, 0), (1, 4), (2, 4), (2, 5), (0.8, 5), (0.8, 0)])
    peel = standing(tube)
    assert peel.stretch == pytest.approx(1.0, rel=1e-3)
    assert len(peel.necks) == 1
    assert peel.loops == 0
    # Free, the skin in the bore holds both ends together.
    assert free(tube).loops == 1


def test_a_stem_inside_a_bell_has_to_pass_the_bell() -> None:
    # The lip reaches down round the stem, apart from it: at one level two sections, which join above.
    bell = turned([(0, 0), (0.5, 0), (0.5, 4), (1.8, 4), (1.8, 2), (2, 2), (2, 5), (0, 5)])
    peel = standing(bell)
    assert peel.stretch == pytest.approx(2 / 0.5 - 1, rel=1e-3)
    assert peel.loops == 0


def knobs_on_a_fork() -> Mesh:
    return joined(
        rod((0, 0, 0), (0, 0, 4.3), 1.0),
        *[rod((0, 0, 4), (3 * side, 0, 8), 0.6) for side in (-1, 1)],
        *[ball_at((3 * side, 0, 8), 1.5) for side in (-1, 1)],
    )


def test_each_arm_of_a_fork_has_a_neck_of_its_own_under_its_knob() -> None:
    necks = standing(knobs_on_a_fork()).necks
    under_knobs = sorted((neck for neck in necks if abs(neck.at[0]) > 0.5), key=lambda neck: neck.at[0])
    assert len(necks) == 3
    # A level cut through a rod that leans 3 in 5 is an ellipse with axes 0.6 and 0.6 x 5 / 4.
    a, b = 0.75, 0.6
    ellipse = math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))  # Ramanujan 1914
    for side, neck in zip((-1, 1), under_knobs, strict=True):
        assert neck.girth == pytest.approx(ellipse, rel=2e-3)
        assert neck.passes == pytest.approx(2 * math.pi * 1.5, rel=3e-3)
        assert neck.at[0] == pytest.approx(side * 3 / 4 * (neck.at[2] - 4), abs=0.05)


def test_the_stem_of_a_fork_has_to_pass_both_knobs_at_once() -> None:
    worst = standing(knobs_on_a_fork()).necks[0]
    # A band round two circles of radius 1.5, 6 apart.
    assert worst.passes == pytest.approx(2 * math.pi * 1.5 + 2 * 6, rel=3e-3)
    assert abs(worst.at[0]) < 0.1


def test_a_hanging_branch_slips_out_of_its_pocket_over_its_own_tip() -> None:
    post, bar = block((0, 0, 0), (1, 1, 5)), block((0, 0, 5), (4, 1, 6))
    plain = joined(post, bar, block((3, 0, 2), (4, 1, 5)))
    assert len(standing(plain).necks) == 1  # the post alone, which the bar catches
    knobbed = joined(post, bar, block((3, 0, 2), (4, 1, 5)), block((2.5, -0.5, 1), (4.5, 1.5, 2)))
    hanging = [neck for neck in standing(knobbed).necks if neck.at[0] > 2]
    assert [neck.stretch for neck in hanging] == pytest.approx([8 / 4 - 1], rel=1e-3)


def test_an_arch_is_cut_across_once_and_then_slides_off() -> None:
    peel = standing(arch())
    assert peel.loops == 1
    # Cut across its opening, the skin is one band round both legs, as long as that round the beam.
    assert peel.necks == ()
    # Without the board nothing closes the opening below.
    assert free(arch()).loops == 0


def test_a_torus_closes_round_its_hole_upright_or_free_but_not_lying_on_a_board() -> None:
    assert standing(solids.torus(1.0, 0.3)).loops == 0
    assert standing(upright_torus()).loops == 1
    assert free(solids.torus(1.0, 0.3)).loops == free(upright_torus()).loops == 1


def test_a_lying_torus_passes_its_own_outer_rim() -> None:
    # It touches the board along a circle: there is a band at once, at the lowest level, 1/1000 of 0.6 up.
    # The mesh's small circle has 80 sides, and the first lies between angles of 0 and 4.5 degrees from the bottom.
    run, rise = 0.3 * math.sin(math.pi / 40), 0.3 * (1 - math.cos(math.pi / 40))
    lowest = 1.0 + run * (0.6 / 1000) / rise
    assert standing(solids.torus(1.0, 0.3)).stretch == pytest.approx(1.3 / lowest - 1, rel=1e-3)


def test_a_handle_counts_once_and_a_dent_not_at_all() -> None:
    cup = turned([(0, 0), (1, 0), (1, 4), (0.8, 4), (0.8, 0.3), (0, 0.3)])
    handle = joined(
        block((0.9, -0.2, 1), (2, 0.2, 1.4)), block((1.6, -0.2, 1), (2, 0.2, 3)), block((0.9, -0.2, 2.6), (2, 0.2, 3))
    )
    assert standing(cup).loops == 0
    assert standing(joined(cup, handle)).loops == free(joined(cup, handle)).loops == 1


def test_bodies_side_by_side_are_pulled_off_one_by_one() -> None:
    apart = solids.moved(mushroom(2.0, 1.0))
    pair = beside(mushroom(3.0, 1.0), Mesh("right", apart.vertices + np.array([10.0, 0, 0]), apart.faces))
    assert [neck.stretch for neck in standing(pair).necks] == pytest.approx([2.0, 1.0], rel=1e-3)


def test_bodies_that_overlap_are_one() -> None:
    stem, cap = turned([(0, 0), (1, 0), (1, 4.5), (0, 4.5)]), turned([(0, 4), (3, 4), (3, 5), (0, 5)])
    assert standing(beside(stem, cap)).stretch == pytest.approx(standing(mushroom()).stretch, rel=1e-3)


def same(one: Neck, other: Neck, scale: float, tolerance: float) -> bool:
    lengths = [(one.height, other.height), (one.girth, other.girth), (one.passes, other.passes)]
    return all(b == pytest.approx(scale * a, rel=tolerance, abs=0.02 * scale) for a, b in lengths)


@settings(max_examples=5)
@given(scale=st.floats(1e-3, 1e3), shift=st.floats(-20.0, 20.0), angle=st.floats(0.0, 2 * math.pi))
def test_size_place_and_turning_about_z_change_no_stretch(scale: float, shift: float, angle: float) -> None:
    mesh = knobs_on_a_fork()
    one, other = (standing(m).necks for m in (mesh, solids.moved(mesh, scale, solids.about_z(angle), shift * scale)))
    assert [n.stretch for n in other] == pytest.approx([n.stretch for n in one], rel=3e-3)
    assert all(same(a, b, scale, 3e-3) for a, b in zip(one[:1], other[:1], strict=True))


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_free_pattern_may_lie_along_any_side_of_its_box(axis: int) -> None:
    along = np.roll(np.eye(3), axis - 2, axis=1)
    bottle = turned([(0, 0), (2, 0), (2, 4), (1, 5), (1, 6), (1.3, 6), (1.3, 7), (0, 7)])
    peel = free(solids.moved(bottle, turn=along.T))
    assert np.abs(peel.axis) == pytest.approx(np.eye(3)[axis])
    # Slit over its foot it passes the lip.
    assert peel.stretch == pytest.approx(1.3 - 1.0, rel=2e-3)


def test_the_same_mesh_gives_the_same_answer() -> None:
    assert free(knobs_on_a_fork()) == free(knobs_on_a_fork())


# A second library's sections: its loops, and the lengths of their convex outlines by qhull.
@pytest.mark.parametrize("name", ["heron.ply", "finial.stl", "head.ply", "bunny"])
def test_sections_agree_with_a_general_purpose_library(name: str) -> None:
    from scipy.spatial import ConvexHull

    library = trimesh.load_mesh(solids.MESHES / "bunny_npm.ply" if name == "bunny" else DEMO / name)
    mesh = solids.mesh_of(library)
    low, high = mesh.vertices[:, 2].min(), mesh.vertices[:, 2].max()
    levels = low + (high - low) * np.array([0.0731, 0.1873, 0.3317, 0.4779, 0.6253, 0.7411, 0.8877, 0.9531])
    loops = cut_loops(mesh.vertices[:, 2], mesh.vertices[:, :2], mesh.faces, levels)
    sections = solid_sections(loops)
    several = 0
    for number, level in enumerate(levels):
        theirs = [np.asarray(line)[:, :2] for line in library.section([0, 0, 1], [0, 0, level]).discrete]
        assert int((loops.level == number).sum()) == len(theirs)
        ours = sections.reach[sections.level == number]
        hulls = {float(ConvexHull(line).area): line for line in theirs}
        if len(ours) == len(theirs):  # no holes
            several += len(ours) > 1
            assert np.sort(girths(ours)) == pytest.approx(sorted(hulls), rel=2e-3)
        longest = hulls[max(hulls)]
        middle = middles(ours[int(np.argmax(girths(ours)))])
        assert (longest.min(axis=0) < middle).all()
        assert (middle < longest.max(axis=0)).all()
    assert several or name != "heron.ply"


def test_a_rabbits_rings_are_those_of_its_euler_number_and_its_neck_is_stretchable() -> None:
    # Upright: y is up in the scan. https://en.wikipedia.org/wiki/Euler_characteristic: 2 - 2 x handles.
    rabbit = trimesh.load_mesh(solids.MESHES / "bunny_npm.ply")
    peel = free(solids.mesh_of(rabbit))
    assert peel.loops == (2 - rabbit.euler_number) // 2 == 0
    assert peel.axis == (0.0, 1.0, 0.0)
    assert 0.1 < peel.stretch < 0.6


@pytest.mark.parametrize("name", ["heron.ply", "corbel.stl", "head.ply"])
def test_levels_fine_enough_find_the_rings_of_the_euler_number(name: str) -> None:
    # Nine in the heron, four of them lower than a hundredth of its height, which are passed over as flaws.
    shape = trimesh.load_mesh(DEMO / name)
    mesh = solids.mesh_of(shape)
    levels = np.linspace(mesh.vertices[:, 2].min(), mesh.vertices[:, 2].max(), 1501)[1:-1]
    loops = cut_loops(mesh.vertices[:, 2], mesh.vertices[:, :2], mesh.faces, levels)
    handles = (2 - shape.euler_number) // 2
    assert count_rings(loops, solid_sections(loops), on_board=False) == handles
    assert free(mesh).loops == {"heron.ply": 5}.get(name, handles)


def test_a_board_adds_no_ring_to_a_pattern_on_a_plinth() -> None:
    heron = solids.mesh_of(trimesh.load_mesh(DEMO / "heron.ply"))
    assert standing(heron).loops == free(heron).loops > 0


def awkward() -> dict[str, Mesh]:
    noisy = solids.ball(1.0, 4)
    jitter = np.random.default_rng(3).normal(size=noisy.vertices.shape) * 0.02
    return {
        "sheet": solids.box(1, 1, 1e-3),
        "sheet on edge": solids.box(1e-3, 1, 1),
        "needle": solids.box(1e-3, 1e-3, 1),
        "tetrahedron": solids.platonic("tetrahedron"),
        "box": solids.box(1, 1, 1),
        "balls one above the other": beside(ball_at((0, 0, 0), 1), ball_at((0, 0, 3), 1)),
        "balls that overlap": beside(ball_at((0, 0, 0), 1), ball_at((0.5, 0.3, 0.2), 1)),
        "far from the origin": solids.moved(mushroom(), shift=1e5),
        "inside out": Mesh("inside out", noisy.vertices, np.ascontiguousarray(noisy.faces[:, ::-1])),
        "noise": Mesh("noise", noisy.vertices + jitter, noisy.faces),
        "crumpled": Mesh("crumpled", noisy.vertices + 10 * jitter, noisy.faces),
    }


@pytest.mark.parametrize("shape", awkward())
@pytest.mark.parametrize("on_base", [True, False])
def test_an_awkward_mesh_gets_finite_answers(shape: str, on_base: bool) -> None:
    peel = survey_peel(awkward()[shape], stands_on_base=on_base)
    assert np.isfinite([value for neck in peel.necks for value in (*neck.at, neck.height, neck.stretch)]).all()
    assert all(neck.girth > 0 and neck.stretch > 0.05 for neck in peel.necks)
    assert peel.loops >= 0
    assert sorted((neck.stretch for neck in peel.necks), reverse=True) == [neck.stretch for neck in peel.necks]


def test_far_from_the_origin_a_mushroom_is_a_mushroom() -> None:
    assert standing(awkward()["far from the origin"]).stretch == pytest.approx(2.0, rel=1e-3)


def test_rubber_may_widen_by_half_of_its_elongation_at_break() -> None:
    # Common practice, no source.
    assert allowed_stretch(4.0) == 2.0
    assert allowed_stretch(4.0, safety=4.0) == 1.0
    with pytest.raises(ValueError, match="at least"):
        allowed_stretch(4.0, safety=0.5)
    with pytest.raises(ValueError, match="at least"):
        allowed_stretch(-0.1)
