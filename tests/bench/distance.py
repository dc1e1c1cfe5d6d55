"""The distance curve: against general libraries' ways to one skin, by triangle count, and the memory it takes."""

from __future__ import annotations

from collections.abc import Callable

from moldkit.pattern.distance import measure_distance
from moldkit.pattern.mesh import Mesh
from moldkit.pattern.reading import read_mesh
from tests.bench import engines
from tests.bench.bodies import bumpy_ball, egg, scattered, steiner
from tests.bench.clock import line, median_ms
from tests.bench.memory import CURVE, READING, peak_mb
from tests.bench.offsets import WAYS

COUNTS = (5_000, 75_000, 300_000, 1_200_000)
# Skin on a body of 150 mm: its fifteenth part.
SKIN = 0.010  # [m]


def run() -> None:
    """Print offsets, rays, sections, cost by triangle count and memory, as ratios in one run."""
    small, round_one = bumpy_ball(1_000), egg(6)
    compare_offsets(small, scattered(small, SKIN), "scattered points")
    compare_offsets(round_one, steiner(round_one, SKIN), "Steiner's formula")
    _compare_on_the_scan()
    engines.run()
    _by_triangles()
    _memory()


def compare_offsets(mesh: Mesh, expected: float, source: str) -> None:
    """Print what a skin round a free body takes, ours and the general ways, each with its error.

    Ours gives every skin at once and the inside, the others the one that was asked for.
    """
    print(f"skin of {SKIN * 1e3:g} mm round {mesh.name}, {len(mesh.faces):,} triangles; errors against {source}")

    def ours() -> float:
        return measure_distance(mesh, stands_on_base=False).volume(SKIN)

    floor = median_ms(ours, 5)
    line(f"the whole curve, ours{_error(ours(), expected)}", floor, floor, "ours")
    for way in WAYS:
        missing = way.missing()
        if missing:
            print(f"  {way.name} is left out: {', '.join(missing)} not installed.")
        elif len(mesh.faces) > way.most:
            print(f"  {way.name} is left out: it takes minutes beyond {way.most:,} triangles.")
        else:
            found: list[float] = []
            took = median_ms(lambda skin=way.skin, found=found: found.append(skin(mesh, SKIN)), 1)  # type: ignore[misc]
            line(f"{way.name}{_error(found[-1], expected)}", took, floor, "ours")


def _error(found: float, expected: float) -> str:
    return f" ({100 * (found / expected - 1):+.2f} %)"


def _compare_on_the_scan() -> None:
    from tests.pattern import solids
    from tests.pattern.test_distance import RABBIT, rabbit_56k

    path = rabbit_56k()
    if path is None:
        print("The scan of 56,172 triangles is left out: the wheel pymeshlab, which carries it, isn't installed.")
        return
    import trimesh

    shape = trimesh.load_mesh(path)
    mesh = solids.moved(solids.mesh_of(shape, "a scan"), scale=0.150 / float(shape.extents.max()))
    compare_offsets(mesh, RABBIT[False][1] * 1e-9, "an independent measurement")


def _by_triangles() -> None:
    print("on its base, by triangle count")
    actions: dict[str, Callable[[Mesh], object]] = {
        "distance curve": lambda mesh: measure_distance(mesh, stands_on_base=True),
        "reading": read_mesh,
        "reading with the survey": lambda mesh: read_mesh(mesh, surveyed=True),
    }
    floor = 0.0
    for count in COUNTS:
        mesh = bumpy_ball(count)
        for name, action in actions.items():
            took = median_ms(lambda action=action, mesh=mesh: action(mesh), 3 if count < 200_000 else 1)  # type: ignore[misc]
            floor = floor or took
            line(f"{name}, {len(mesh.faces):,} triangles", took, floor, f"the curve at {COUNTS[0]:,}")


def _memory() -> None:
    for name, action in (("distance curve", CURVE), ("reading with the survey", READING)):
        found = peak_mb(COUNTS[-1], action)
        if found is None:
            print("Memory is left out: this system does not count it.")
            return
        print(f"{name} of {COUNTS[-1]:,} triangles: {found[1]:,.0f} MB at the most, {found[0]:,.0f} MB before it")
