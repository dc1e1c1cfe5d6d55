"""What is in view of cost against finish date: the front and the date asked for, not what is much later or dearer."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from moldkit.study.finish_dates import TradeOff, Way
from moldkit.views.free_labels import FreeLabels

# How much is shown beyond the front and the date asked for: as a share of their span, at least so many days, and so
# much of the least cost.
MORE, MORE_DAYS, MORE_COST = 0.8, 4, 0.08
MID_DAY = datetime.timedelta(hours=12)


def moment_of(way: Way) -> datetime.datetime:
    """Return where a way stands on the axis: in the middle of its last day, as a date is what is asked for."""
    return datetime.datetime.combine(way.finish_date, datetime.time()) + MID_DAY


@dataclass(frozen=True)
class Window:
    """What is in view: dates from and to, costs from and to [money]."""

    begin: datetime.datetime
    end: datetime.datetime
    least: float
    most: float

    def holds(self, way: Way) -> bool:
        """Return whether a way is in view."""
        return self.begin <= moment_of(way) <= self.end and self.least <= way.cost.at(0) <= self.most

    def pixel(self, way: Way, room: FreeLabels) -> tuple[float, float]:
        """Return where a way stands in a room, from the left and the foot [px]."""
        across = (moment_of(way) - self.begin) / (self.end - self.begin)
        return across * room.wide, (way.cost.at(0) - self.least) / (self.most - self.least) * room.high


def window_of(trade: TradeOff, due: datetime.date | None) -> Window:
    """Return the window round the front and the date asked for; what is much later or dearer is cut off."""
    first, last = trade.front[0], trade.front[-1]
    asked = max([last.finish_date] + ([] if due is None else [due]))
    begin = min([first.finish_date] + ([] if due is None else [due]))
    days = (asked - begin).days
    latest = max(way.finish_date for way in trade.ways)
    ends = max(asked, min(latest, asked + datetime.timedelta(days=max(MORE_DAYS, round(MORE * days)))))
    cheap, dear = last.cost.at(0), first.cost.at(0)
    most = min(max(way.cost.at(0) for way in trade.ways), dear + max(MORE * (dear - cheap), MORE_COST * cheap))
    span, side = max(most - cheap, 0.02 * most), datetime.timedelta(days=max(1.0, 0.04 * (ends - begin).days))
    midnight = datetime.time()
    return Window(
        datetime.datetime.combine(begin, midnight) - side,
        datetime.datetime.combine(ends, midnight) + datetime.timedelta(days=1) + side,
        max(0.0, cheap - 0.16 * span),
        most + 0.1 * span,
    )
