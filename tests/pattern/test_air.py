"""Where air is trapped: closed forms of made shapes, and a second count by cells of space."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh, load_mesh
from moldkit.pattern.survey.air import survey_air, trapped_depths
from moldkit.pattern.survey.hills import find_hills
from moldkit.pattern.survey.pockets import FLAT, LEAST_DEPTH, surface_of
from moldkit.pattern.survey.results import Air, Trap, WayUp
from moldkit.pattern.survey.ways_up import APART, cost, gathered, way_up
from tests.pattern import solids
from tests.pattern.block_regions import Block, mesh_of_blocks, pockets_of, solid_cells

Floats = NDArray[np.float64]
X, Y, Z = np.eye(3)

directions = (st.tuples(*[st.floats(-1, 1)] * 3).map(np.array).filter(lambda v: np.linalg.norm(v) > 0.1)).map(
    lambda v: v / np.linalg.norm(v)
)


def closed(mesh: Mesh, up: Floats = Z) -> WayUp:
    return way_up(surface_of(mesh.vertices, mesh.faces), np.asarray(up, dtype=float))


def poured_at_base(mesh: Mesh) -> WayUp:
    return survey_air(mesh, stands_on_base=True).casting


def depths(traps: tuple[Trap, ...]) -> list[float]:
    return [trap.prominence for trap in traps]


def of_blocks(*blocks: Block) -> Mesh:
    mesh = mesh_of_blocks(list(blocks))
    assert mesh is not None
    return mesh


def together(*shapes: trimesh.Trimesh) -> Mesh:
    return solids.mesh_of(trimesh.boolean.boolean_manifold(list(shapes), "union"))


def side_by_side(*meshes: Mesh) -> Mesh:
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    faces = [mesh.faces + start for mesh, start in zip(meshes, starts, strict=False)]
    return Mesh("several", np.vstack([mesh.vertices for mesh in meshes]), np.vstack(faces))


@lru_cache
def bottle() -> Mesh:
    """A solid bottle 20 high, 8 wide, with a neck 3 wide and a flat mouth."""
    profile = np.array([[0, 0], [4, 0], [4, 12], [1.5, 16], [1.5, 20], [0, 20]], dtype=float)
    return solids.mesh_of(trimesh.creation.revolve(profile, sections=96))


@lru_cache
def cone() -> Mesh:
    """Apex up, 3 wide at the base, 4 high."""
    return solids.mesh_of(trimesh.creation.cone(1.5, 4.0, sections=96))


@lru_cache
def dumbbell() -> Mesh:
    """Balls of radius 2 and a little more, joined along x by a bar of radius 0.7."""
    turn = trimesh.transformations.rotation_matrix(math.pi / 2, [0, 1, 0])
    bar = trimesh.creation.cylinder(0.7, 10.0, sections=128, transform=turn)
    left, right = trimesh.creation.icosphere(5, 2.0), trimesh.creation.icosphere(5, 2.1)
    left.apply_translation([-5, 0, 0])
    right.apply_translation([5, 0, 0])
    return together(left, right, bar)


@lru_cache
def upturned_cup() -> Mesh:
    """6 wide, 8 high, hollowed from below by a round 4 wide and 5 deep."""
    outside = trimesh.creation.cylinder(3.0, 8.0, sections=128)
    hollow = trimesh.creation.cylinder(2.0, 10.0, sections=128)  # from 4 below the rim to 1 above the middle
    hollow.apply_translation([0, 0, -4.0])
    return solids.mesh_of(trimesh.boolean.boolean_manifold([outside, hollow], "difference"))


@lru_cache
def arch() -> Mesh:
    """Two legs 5 long under a bridge 2 thick."""
    return of_blocks(Block((0, 0, 0), (8, 2, 7)), Block((2, -1, -1), (6, 3, 5), added=False))


@lru_cache
def hand() -> Mesh:
    """A palm up to 6 with four fingers and a thumb; webs between them at 6, the thumb's at 3, its ball down to 1."""
    fingers = [(0.0, 10.0), (2.0, 11.5), (4.0, 12.0), (6.0, 11.0)]
    blocks = [Block((0, 0, 0), (7.5, 1.5, 6)), Block((7, 0.2, 2), (10, 1.3, 3)), Block((9, 0.2, 1), (10, 1.3, 7))]
    return of_blocks(*blocks, *[Block((x, 0.1, 5), (x + 1.4, 1.4, top)) for x, top in fingers])


# --- tops: air in the casting ---


def test_a_box_has_one_top_and_it_is_the_whole_upper_face() -> None:
    box = solids.box(5, 4, 3)
    for up, area, head in [(Z, 20, 3), (-Z, 20, 3), (X, 12, 5), (-Y, 15, 4)]:
        way = closed(box, up)
        assert len(way.tops) == 1
        assert way.ceilings == way.vents == ()
        assert way.tops[0].area == pytest.approx(area)
        assert way.head == pytest.approx(head)
        assert way.spout == pytest.approx(up * head / 2)


def test_no_air_stays_in_a_box_or_a_bottle_poured_into_its_open_base() -> None:
    for mesh in (solids.box(5, 4, 3), bottle()):
        way = poured_at_base(mesh)
        assert way.open_top
        assert way.up == (0.0, 0.0, -1.0)
        assert way.tops == way.ceilings == way.vents == ()
        assert way.spout is None


def test_a_bottle_upright_has_its_neck_as_the_only_top() -> None:
    way = closed(bottle())
    assert [trap.at for trap in way.tops] == [pytest.approx((0, 0, 20), abs=0.01)]
    assert way.tops[0].area == pytest.approx(math.pi * 1.5**2, rel=0.002)


def test_a_cone_has_its_apex_or_its_base_as_the_only_top() -> None:
    up, down = closed(cone()), closed(cone(), -Z)
    assert len(up.tops) == len(down.tops) == 1
    assert up.spout == pytest.approx((0, 0, 4), abs=1e-9)
    # Where nothing lets the air out, the top is what lies within 1 % of the longest side, here 0.01 of the height.
    assert up.tops[0].area == pytest.approx(math.pi * (0.01 * 1.5) ** 2, rel=0.002)
    assert down.tops[0].area == pytest.approx(math.pi * (0.99 * 1.5) ** 2, rel=0.002)


@given(up=directions)
def test_a_ball_has_one_top_whichever_way_it_lies(up: Floats) -> None:
    way = closed(solids.ball(2.0, 3), up)
    assert len(way.tops) == 1
    assert way.ceilings == ()
    assert np.dot(way.tops[0].at, up) == pytest.approx(2.0, abs=0.03)


def test_a_dumbbell_lying_has_two_tops_parted_by_its_bar() -> None:
    higher, lower = closed(dumbbell()).tops
    assert higher.at == pytest.approx((5, 0, 2.1), abs=0.1)
    assert lower.at == pytest.approx((-5, 0, 2.0), abs=0.1)
    # Ball's radius less the bar's; and a cap of that height, 2 pi R h.
    assert lower.prominence == pytest.approx(2.0 - 0.7, rel=0.002)
    assert lower.area == pytest.approx(2 * math.pi * 2.0 * 1.3, rel=0.005)
    assert len(closed(dumbbell(), X).tops) == 1


def test_an_arch_has_one_top_upright_and_two_with_its_legs_up() -> None:
    upright, legs_up = closed(arch()), closed(arch(), -Z)
    assert depths(upright.tops) == pytest.approx([7])
    assert upright.ceilings == legs_up.ceilings == ()  # under the bridge air leaves sideways
    assert depths(legs_up.tops) == pytest.approx([7, 5])
    assert poured_at_base(arch()).tops == ()  # both feet are open


def test_every_finger_but_the_longest_is_a_top_above_its_web() -> None:
    way = closed(hand())
    assert [trap.at[2] for trap in way.tops] == pytest.approx([12, 11.5, 11, 10, 7])
    assert depths(way.tops) == pytest.approx([12, 5.5, 5, 4, 4])
    assert len(way.vents) == 4
    assert depths(poured_at_base(hand()).tops) == pytest.approx([1])  # the ball of the thumb hangs down by that much


def test_of_two_bodies_each_has_its_top() -> None:
    pair = side_by_side(solids.ball(1.0), solids.moved(solids.ball(0.5), shift=3.0))
    way = closed(pair)
    assert depths(way.tops) == pytest.approx([1.0, 2.0], rel=0.01)
    assert len(way.vents) == 1


# --- ceilings: air under the pattern ---


def test_under_an_upturned_cup_air_stays_as_deep_as_the_cup() -> None:
    way = closed(upturned_cup())
    assert depths(way.tops) == pytest.approx([8])
    assert depths(way.ceilings) == pytest.approx([5])
    assert way.ceilings[0].at == pytest.approx((0, 0, 1), abs=0.05)
    assert way.ceilings[0].area == pytest.approx(math.pi * 2**2 + 2 * math.pi * 2 * 5, rel=0.002)
    assert way.ceilings[0].under
    the_other_way = closed(upturned_cup(), -Z)
    assert the_other_way.ceilings == ()
    assert len(the_other_way.tops) == 1  # the rim is one ring


def test_a_torus_has_one_top_lying_and_standing_and_no_ceiling_in_its_hole() -> None:
    ring = solids.torus(3.0, 1.0)
    for up in (Z, X, Y, (X + Y) / math.sqrt(2)):
        way = closed(ring, up)
        assert len(way.tops) == 1
        assert way.ceilings == ()
    assert math.hypot(*closed(ring).tops[0].at[:2]) == pytest.approx(3.0, abs=0.1)  # on the ring, not in its middle


def test_a_tunnel_holds_air_only_in_a_chamber_above_its_mouth() -> None:
    block, tunnel = Block((0, 0, 0), (10, 6, 8)), Block((-1, 2, 2), (11, 4, 4), added=False)
    assert closed(of_blocks(block, tunnel)).ceilings == ()
    chamber = Block((4, 2.5, 3), (6, 3.5, 5.5), added=False)
    assert depths(closed(of_blocks(block, tunnel, chamber)).ceilings) == pytest.approx([1.5])


def test_a_peg_standing_inside_a_hollow_is_a_top_of_its_own_and_leaves_the_hollows_ceiling_alone() -> None:
    cup = [Block((0, 0, 0), (10, 10, 12)), Block((1, 1, -1), (9, 9, 11), added=False)]
    shelf, peg = Block((0.5, 3, 4), (5, 6, 5)), Block((3, 4, 4.5), (4, 5, 8))
    way = closed(of_blocks(*cup, shelf, peg))
    assert depths(way.tops) == pytest.approx([12, 3])
    assert depths(way.ceilings) == pytest.approx([11])


def random_blocks(seed: int) -> list[Block]:
    """Blocks that overlap, hollow each other out and fall apart, no two planes of them nearly the same."""
    draw = np.random.default_rng(seed)
    blocks = [Block((0, 0, 0), (10, 10, 3))]
    for _ in range(draw.integers(2, 12)):
        low = draw.uniform(-1, 9, 3)
        high = low + draw.uniform(0.7, 6, 3)
        blocks.append(Block(tuple(low), tuple(high), bool(draw.random() < 0.6)))
    return blocks


@settings(max_examples=200)
@given(seed=st.integers(0, 2**32))
def test_tops_and_ceilings_are_those_of_a_second_count_by_cells_of_space(seed: int) -> None:
    blocks = random_blocks(seed)
    mesh = mesh_of_blocks(blocks)
    assume(mesh is not None)
    assert mesh is not None
    way = closed(mesh)
    longest = float(np.ptp(mesh.vertices, axis=0).max())
    least = LEAST_DEPTH * longest
    solid, levels = solid_cells(blocks)
    for traps, region in ((way.tops, solid), (way.ceilings, ~solid)):
        expected = pockets_of(region, levels)
        assume(all(abs(depth - least) > 1e-5 for _, depth in expected))
        deep = [pocket for pocket in expected if pocket[1] > least]
        assert len(traps) == len(deep)
        assert sorted(depths(traps)) == pytest.approx(sorted(depth for _, depth in deep), abs=1e-5)
        # A vent stands in the middle of a flat top, which may have steps within 0.1 % of the longest side.
        heights = sorted(trap.at[2] for trap in traps)
        assert heights == pytest.approx(sorted(top for top, _ in deep), abs=FLAT * longest + 1e-5)


# --- laws ---


@given(up=directions, scale=st.floats(0.01, 100.0))
def test_turned_and_scaled_with_its_way_up_a_pattern_traps_the_same_air(up: Floats, scale: float) -> None:
    turn = solids.skew_turn()
    way, other = closed(dumbbell(), up), closed(solids.moved(dumbbell(), scale, turn), turn @ up)
    # The least depth follows the bounding box, which turning changes.
    deep = [[t for t in w.tops if t.prominence > 0.03 * w.head] for w in (way, other)]
    assert len(deep[0]) == len(deep[1])
    for one, two in zip(*deep, strict=True):
        assert two.prominence == pytest.approx(scale * one.prominence)
        if one is not deep[0][0]:
            assert two.area == pytest.approx(scale**2 * one.area)
    assert other.head == pytest.approx(scale * way.head)


def test_noise_on_a_flat_top_makes_no_traps_and_hardly_moves_the_vent() -> None:
    fine = trimesh.creation.box((5, 4, 3))
    fine = trimesh.Trimesh(*trimesh.remesh.subdivide_to_size(fine.vertices, fine.faces, 0.1))
    fine.merge_vertices()
    noise = np.random.default_rng(5).normal(scale=5e-4, size=fine.vertices.shape)
    rough = Mesh("rough", np.array(fine.vertices) + noise, np.array(fine.faces, dtype=np.int64))
    assert len(find_hills(rough.vertices[:, 2], rough.faces).peaks) > 100
    way = closed(rough)
    assert len(way.tops) == 1
    assert way.ceilings == ()
    assert way.tops[0].area == pytest.approx(20, rel=0.01)
    assert way.spout is not None and math.hypot(*way.spout[:2]) < 1.0


def test_a_scan_has_a_handful_of_traps() -> None:
    """Ears, brow and back of a rabbit: `bunny` of the npm registry, public domain."""
    rabbit = load_mesh(solids.MESHES / "bunny_npm.ply", "mm")
    for way in (survey_air(rabbit, stands_on_base=False).standing, poured_at_base(rabbit)):
        assert 2 <= len(way.tops) <= 5
        assert all(trap.prominence > LEAST_DEPTH * 0.150 for trap in way.tops)


# --- the best way up ---


@lru_cache
def free(name: str) -> Air:
    made = {
        "slab": solids.box(10, 8, 1),
        "cone": cone(),
        "dumbbell": dumbbell(),
        "arch": arch(),
        "hand": hand(),
        "ball": solids.ball(1.0, 3),
    }
    return survey_air(made[name], stands_on_base=False)


@pytest.mark.parametrize("name", ["slab", "cone", "dumbbell", "arch", "ball"])
def test_a_simple_piece_is_cast_in_a_closed_mold_with_a_spout_and_no_vents(name: str) -> None:
    air = free(name)
    assert air.casting.vents == ()
    assert air.casting.spout is not None
    assert not air.casting.open_top


def test_a_slab_is_not_cast_lying_flat_where_bubbles_rest_under_its_face() -> None:
    tilt = math.acos(abs(free("slab").casting.up[2]))
    assert 10 < math.degrees(tilt) < 30


def test_a_cone_is_cast_with_its_base_down_or_slanting() -> None:
    assert free("cone").casting.up[2] > -0.9


def test_a_hand_is_cast_with_fewer_vents_than_fingers() -> None:
    assert len(free("hand").casting.vents) < len(closed(hand()).vents)


@pytest.mark.parametrize("name", ["slab", "cone", "dumbbell", "arch", "hand", "ball"])
def test_other_ways_up_are_really_different_and_fall_off_in_order(name: str) -> None:
    air = free(name)
    ways = [air.casting, *air.others]
    assert 2 <= len(ways) <= 6
    ups = np.array([way.up for way in ways])
    assert np.linalg.norm(ups, axis=1) == pytest.approx(1.0)
    assert (ups @ ups.T - 2 * np.eye(len(ups))).max() <= math.cos(APART) + 1e-9
    assert [len(way.vents) for way in ways] == sorted(len(way.vents) for way in ways)


def test_a_pattern_on_its_base_has_closed_molds_as_its_other_ways() -> None:
    air = survey_air(bottle(), stands_on_base=True)
    assert 1 <= len(air.others) <= 5
    assert all(other.spout is not None and not other.open_top and other.up[2] > -0.9 for other in air.others)


def test_a_vent_costs_more_than_any_top_with_a_spout() -> None:
    surface = surface_of(dumbbell().vertices, dumbbell().faces)
    assert cost(surface, way_up(surface, Z)) > 1.0 > cost(surface, way_up(surface, X))


def test_a_box_costs_the_share_of_its_surface_that_lies_level() -> None:
    surface = surface_of(solids.box(5, 4, 3).vertices, solids.box(5, 4, 3).faces)
    assert cost(surface, way_up(surface, Z)) == pytest.approx(20 / 94)
    assert cost(surface, way_up(surface, (X + Y + Z) / math.sqrt(3))) == 0.0


def test_gathering_keeps_a_surface_closed_and_its_flat_tops_flat() -> None:
    fine = trimesh.creation.box((5, 4, 3))
    fine = solids.mesh_of(trimesh.Trimesh(*trimesh.remesh.subdivide_to_size(fine.vertices, fine.faces, 0.06)))
    surface = surface_of(fine.vertices, fine.faces)
    coarse = gathered(surface)
    assert len(coarse.faces) < len(surface.faces) / 2
    assert coarse.vectors.sum(axis=0) == pytest.approx([0, 0, 0], abs=1e-9)
    assert len(way_up(coarse, Z).tops) == 1


# --- depths to be shown ---


def test_trapped_depth_is_measured_from_where_air_leaves_up_to_each_vertex() -> None:
    cup = upturned_cup()
    inside_air, under_air = trapped_depths(cup.vertices, cup.faces, Z)
    assert not inside_air.any()
    inner = (np.hypot(*cup.vertices[:, :2].T) < 2.5) & (cup.vertices[:, 2] < 2.0)
    assert under_air[inner] == pytest.approx(cup.vertices[inner, 2] + 4.0)
    assert not under_air[~inner].any()


def test_trapped_depth_reaches_the_prominence_of_each_top_but_the_spouts() -> None:
    bar = dumbbell()
    inside_air, under_air = trapped_depths(bar.vertices, bar.faces, Z)
    assert not under_air.any()
    assert inside_air.max() == pytest.approx(2.0 - 0.7, rel=0.002)
    assert not inside_air[bar.vertices[:, 0] > -3.0].any()


def test_of_two_tops_of_one_height_one_still_holds_air() -> None:
    legs_up = trapped_depths(arch().vertices, arch().faces, -Z)
    assert legs_up[0].max() == pytest.approx(5)
    assert np.count_nonzero(legs_up[0]) == np.count_nonzero(arch().vertices[:, 2] == 0) / 2


def test_with_an_open_base_nothing_is_trapped_in_feet_but_under_a_thumb() -> None:
    feet = trapped_depths(arch().vertices, arch().faces, -Z, open_top=True)
    assert not feet[0].any()
    thumb = trapped_depths(hand().vertices, hand().faces, -Z, open_top=True)
    assert thumb[0].max() == pytest.approx(max(depths(poured_at_base(hand()).tops)))


# --- awkward meshes ---

AWKWARD = {
    "sheet": solids.box(10, 8, 0.01),
    "tetrahedron": solids.platonic("tetrahedron"),
    "needles": solids.cylinder(0.05, 10.0, sections=7),
    "wire": solids.mesh_of(
        trimesh.creation.revolve(
            np.array([[0, 0], *([0.05, z] for z in np.linspace(0, 10, 300)), [0, 10]]), sections=32
        )
    ),
    "far away": solids.moved(solids.box(1, 1, 1), shift=1000.0),
    "several bodies": side_by_side(*[solids.moved(solids.box(1, 1, 1), shift=2.0 * k) for k in range(4)]),
    "overlapping bodies": side_by_side(solids.ball(1.0, 3), solids.moved(solids.ball(1.0, 3), shift=0.5)),
    "hollow": side_by_side(
        solids.ball(2.0, 3), Mesh("void", solids.ball(1.0, 3).vertices, solids.ball(1.0, 3).faces[:, ::-1])
    ),
    "stray vertex": Mesh("stray", np.vstack([solids.box(1, 1, 1).vertices, [[0, 0, 0]]]), solids.box(1, 1, 1).faces),
}


@pytest.mark.parametrize("name", AWKWARD)
@pytest.mark.parametrize("stands_on_base", [True, False])
def test_awkward_meshes_get_a_sane_answer_and_always_the_same(name: str, stands_on_base: bool) -> None:
    mesh = AWKWARD[name]
    air = survey_air(mesh, stands_on_base=stands_on_base)
    assert air == survey_air(mesh, stands_on_base=stands_on_base)
    low, high = mesh.vertices.min(axis=0) - 1e-9, mesh.vertices.max(axis=0) + 1e-9
    for way in (air.standing, air.casting, *air.others):
        assert 0 < way.head <= np.linalg.norm(high - low)
        assert way.open_top or way.spout is not None
        for trap in (*way.tops, *way.ceilings):
            assert ((low <= trap.at) & (trap.at <= high)).all()
            assert 0 < trap.prominence <= way.head * (1 + 1e-9)
            assert 0 <= trap.area < np.inf


def test_the_void_of_a_hollow_body_is_a_ceiling_as_deep_as_itself() -> None:
    assert depths(closed(AWKWARD["hollow"]).ceilings) == pytest.approx([2.0], rel=0.02)
