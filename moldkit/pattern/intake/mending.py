"""Closing an open surface: small holes and a plain base unasked, larger ones as somebody chose, the rest refused."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.base import MOST_CUT_OFF, capped, is_base, lies_flat
from moldkit.pattern.intake.choices import MENDS, mends_offered
from moldkit.pattern.intake.hollow import outside_only
from moldkit.pattern.intake.merging import JOINING
from moldkit.pattern.intake.rims import Rim, areas, filled, rims_of
from moldkit.pattern.intake.size import METRES, length_text
from moldkit.pattern.intake.surface import Surface, Wish

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# A hole is small when it is not longer round than this share of the longest side: 3 mm across on a 200 mm pattern.
SMALL_HOLE = 0.05
# Small holes that together take more than this share of the surface are not small any more.
SMALL_TOGETHER = 0.02


def close(surface: Surface, wish: Wish) -> None:
    """Close a surface whose faces agree which side is out, in place.

    Raises InputError, with the choices there are, for a hole that is neither small nor plainly an open base.
    """
    rims = _fill_small(surface, _rims(surface, wish), wish)
    if "fill hollow" in wish.mend:
        rims = _leave_inside_out(surface, rims, wish)
    if "cap base" in wish.mend:
        rims = _cap_base(surface, rims, wish)
    elif len(rims) == 1 and is_base(surface.vertices, rims[0]):
        rims = _cap(surface, rims, wish)
    if "fill holes" in wish.mend:
        _fill_all(surface, rims)
    elif rims:
        raise _open(surface, rims, wish)


def _rims(surface: Surface, wish: Wish) -> list[Rim]:
    if not surface.edges.open().any():
        return []
    return rims_of(surface.vertices, surface.faces, surface.edges, wish.name)


def _fill_small(surface: Surface, rims: list[Rim], wish: Wish) -> list[Rim]:
    """Fill what is small or no wider than a hair; return the other rims."""
    longest = surface.longest
    small: list[tuple[Rim, Integers]] = []
    hair: list[tuple[Rim, Integers]] = []
    rest: list[Rim] = []
    for rim in rims:
        fill = filled(surface.vertices, [rim])
        width = 2.0 * float(areas(surface.vertices, fill).sum()) / rim.length
        if width < JOINING * longest:
            hair.append((rim, fill))
        elif rim.length <= SMALL_HOLE * longest:
            small.append((rim, fill))
        else:
            rest.append(rim)
    if not (small or hair):
        return rims
    share = sum(float(areas(surface.vertices, fill).sum()) for _, fill in small)
    share /= float(areas(surface.vertices, surface.faces).sum())
    if share > SMALL_TOGETHER and "fill holes" not in wish.mend:
        raise InputError(
            f"{wish.name}: {len(small)} small holes take {share:.0%} of the surface; close them and export it again, "
            f"or choose {mends_offered(['fill holes'])}."
        )
    surface.change(np.concatenate([surface.faces, *(fill for _, fill in (*small, *hair))]))
    if hair:
        edges = sum(len(rim.vertices) for rim, _ in hair)
        surface.notes.append(f"{edges} edges with a hairline gap were closed by filling it.")
    if small:
        round_it = length_text(max(rim.length for rim, _ in small) * METRES[wish.unit])
        surface.notes.append(f"{len(small)} small hole(s), the longest {round_it} round, were filled.")
    return rest


def _leave_inside_out(surface: Surface, rims: list[Rim], wish: Wish) -> list[Rim]:
    kept, left_out = outside_only(surface.vertices, surface.faces, wish.name)
    if not left_out:
        surface.notes.append(
            'mend = "fill hollow" changed nothing here: no inside surface was found that comes away from the outside.'
        )
        return rims
    surface.change(kept)
    surface.notes.append(f"The inside surface, {left_out} triangles, was left out, and the pattern counts as solid.")
    rims = _rims(surface, wish)
    flat = [rim for rim in rims if lies_flat(surface.vertices, rim)]
    if flat:
        _cap(surface, flat, wish)
    return _rims(surface, wish)


def _cap_base(surface: Surface, rims: list[Rim], wish: Wish) -> list[Rim]:
    if not rims:
        surface.notes.append('mend = "cap base" changed nothing: the base is closed.')
        return rims
    bottom = float(surface.vertices[:, 2].min())
    reach = MOST_CUT_OFF * float(np.ptp(surface.vertices[:, 2]))
    low = [rim for rim in rims if rim.highest <= bottom + reach]
    # Where no opening is low enough, the lowest one tells why it can't be capped.
    return _cap(surface, low or [min(rims, key=lambda rim: rim.highest)], wish)


def _cap(surface: Surface, rims: list[Rim], wish: Wish) -> list[Rim]:
    vertices, faces, done = capped(surface.vertices, surface.faces, rims, wish.unit, wish.name)
    surface.change(faces, vertices)
    surface.notes.append(done)
    return _rims(surface, wish)


def _fill_all(surface: Surface, rims: list[Rim]) -> None:
    if rims:
        surface.change(np.concatenate([surface.faces, filled(surface.vertices, rims)]))
        surface.notes.append(f"{len(rims)} larger hole(s) were closed from rim to rim.")


def _open(surface: Surface, rims: list[Rim], wish: Wish) -> InputError:
    metres, bottom = METRES[wish.unit], float(surface.vertices[:, 2].min())
    longest = rims[0]
    holes = "one hole" if len(rims) == 1 else f"{len(rims)} holes, the longest"
    low, high = (length_text((height - bottom) * metres) for height in (longest.lowest, longest.highest))
    # One rim alone is no outside and inside, and what is open high up has no base to cap.
    cappable = longest.highest - bottom <= MOST_CUT_OFF * float(np.ptp(surface.vertices[:, 2]))
    helps = {"cap base": cappable, "fill holes": True, "fill hollow": len(rims) > 1}
    offered = [word for word in MENDS if helps[word] and word not in wish.mend]
    return InputError(
        f"{wish.name}: the surface is open along {sum(len(rim.vertices) for rim in rims)} edges: {holes} "
        f"{length_text(longest.length * metres)} round, from {low} to {high} above the lowest point; close it and "
        f"export it again, or choose {mends_offered(offered)}."
    )
