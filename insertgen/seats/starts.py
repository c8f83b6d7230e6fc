"""Start holes: where the saw gets into a closed cut."""

from __future__ import annotations

from insertgen.geometry.region import Region, widest_disc
from insertgen.model.figures import Circle
from insertgen.model.job import Tray
from insertgen.model.seat import Bore, Cut
from insertgen.rules import start_drill

__all__ = ["start_hole"]


def start_hole(opening: Region, tray: Tray) -> tuple[Cut, ...]:
    """A hole in the middle of the waste; none if no owned drill is small enough."""
    at, radius = widest_disc(opening)
    drill = start_drill(radius, tray.cutting.drills)
    if drill is None:
        return ()
    bore = Bore(drill.diameter, drill.diameter, drill, "start", "in the waste, for the saw")
    return (Cut(Circle(at, drill.diameter), tray.thickness, True, bore),)
