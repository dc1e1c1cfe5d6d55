"""What the survey of a pattern found, at the mesh's own size and in the mesh's own frame, z up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.piecewise import Number

Floats = NDArray[np.float64]
Point = tuple[float, float, float]


@dataclass(frozen=True)
class Piece:
    """A piece of a mold that is drawn off straight.

    direction: it leaves along, unit vector; share: of the molded area that it frees and no piece before it does.
    """

    direction: Point
    share: float


@dataclass(frozen=True, eq=False)
class Pull:
    """How a mold draws off the pattern, straight and without giving way.

    axis: of the best pull of two halves, which leave along it and against it, unit vector; visible: share of the
    molded area that they free; visible_up: that one piece frees which is lifted straight up; visible_any: that some
    direction frees; hidden_area: that the two halves do not free [m2]; hidden_depth: how far most of it (95 % by
    area) reaches behind its edge, across the pull [m]; grade: "none", "moderate" or "severe"; stretch: share by
    which soft rubber was let widen; pieces: of a rigid mold, the most useful first; soft_pieces: of a mold whose
    rubber may widen by `stretch`; parting: the suggested parting line as open or closed polylines, each of shape
    (k, 3) [m]; parting_length: of it all, without its stretch on the base plane [m]; silhouette_area: seen along
    the axis [m2].
    """

    axis: Point
    visible: float
    visible_up: float
    visible_any: float
    hidden_area: float
    hidden_depth: float
    grade: str
    stretch: float
    pieces: tuple[Piece, ...]
    soft_pieces: tuple[Piece, ...]
    parting: tuple[Floats, ...]
    parting_length: float
    silhouette_area: float


@dataclass(frozen=True)
class Neck:
    """A place where a one-piece skin must widen to pass what lies beyond it.

    at: middle of the neck [m]; height: above the end that the skin leaves by [m]; girth: length of a band
    stretched round the neck [m]; passes: longest such band further along the same branch [m].
    """

    at: Point
    height: float
    girth: float
    passes: float

    @property
    def stretch(self) -> float:
        """Share by which the skin widens there."""
        return self.passes / self.girth - 1.0


@dataclass(frozen=True)
class Peel:
    """Whether a one-piece skin can be pulled off along an axis.

    axis: it leaves along, unit vector; necks: those that ask for more than a few per cent of stretch, the worst
    first; loops: holes and handles that a skin closes round, so that it has to be cut there.
    """

    axis: Point
    necks: tuple[Neck, ...]
    loops: int

    @property
    def stretch(self) -> float:
        """Largest share by which the skin must widen; 0 where it slides off."""
        return max((neck.stretch for neck in self.necks), default=0.0)


@dataclass(frozen=True)
class Trap:
    """A place where air stays.

    at: its highest point [m]; prominence: depth of the air that cannot get out [m]; area: of the surface that the
    air covers [m2]; under: True where the pattern overhangs it (air in the rubber that is poured round the pattern),
    False where it is a top of the pattern (air in the casting).
    """

    at: Point
    prominence: float
    area: float
    under: bool


@dataclass(frozen=True)
class WayUp:
    """How a pour fills one way up.

    up: unit vector in the mesh's frame; open_top: the base is uppermost and open, so that it is poured into there;
    tops: where air stays in the casting, the highest first (with a closed mold the first takes the spout and the
    others want vents); ceilings: where air stays in the rubber under the pattern; spout: None with an open top [m];
    vents [m]; head: height of the pattern along `up`, to which a spout adds its own [m].
    """

    up: Point
    open_top: bool
    tops: tuple[Trap, ...]
    ceilings: tuple[Trap, ...]
    spout: Point | None
    vents: tuple[Point, ...]
    head: float


@dataclass(frozen=True)
class Air:
    """Where air stays: as the pattern stands (rubber is poured round it) and in the casting, the best way up.

    standing: z up, closed all round; casting: the best way up of a casting, base uppermost where it stands on one;
    others: further ways up that were tried, best first.
    """

    standing: WayUp
    casting: WayUp
    others: tuple[WayUp, ...]


@dataclass(frozen=True, eq=False)
class Walls:
    """How thin the pattern is and how narrow its hollows.

    thickness, thickness_share: share of the molded area where the pattern is thinner than each thickness, rising,
    each of shape (k,) [m]; thinnest_at: middle of the thinnest place [m]; gap, gap_share: the same for the free
    distance outside, across to the next surface; narrowest_at: middle of the narrowest gap, None without a gap.
    """

    thickness: Floats
    thickness_share: Floats
    thinnest_at: Point
    gap: Floats
    gap_share: Floats
    narrowest_at: Point | None

    @property
    def thinnest(self) -> float:
        """Thickness of the thinnest place that is more than a speck [m]."""
        return float(self.thickness[0])

    @property
    def narrowest(self) -> float | None:
        """Width of the narrowest gap that is more than a speck [m]; None without a gap."""
        return float(self.gap[0]) if len(self.gap) else None

    def thinner_than(self, thickness: Number) -> Number:
        """Return the share of the molded area where the pattern is thinner than `thickness`, number or array [m]."""
        return _share_below(self.thickness, self.thickness_share, thickness)

    def bridged_by(self, skin: Number) -> Number:
        """Return the share of the molded area in gaps that a skin, number or array [m], closes from both sides."""
        return _share_below(self.gap, self.gap_share, 2.0 * skin)


@dataclass(frozen=True, eq=False)
class Survey:
    """All that the survey found."""

    pull: Pull
    peel: Peel
    air: Air
    walls: Walls


def _share_below(at: Floats, share: Floats, value: Number) -> Number:
    found = np.append(0.0, share)[np.searchsorted(at, value, side="left")]
    return found if isinstance(value, np.ndarray) else float(found)
