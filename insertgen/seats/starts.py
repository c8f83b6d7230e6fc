"""Start holes: where the saw gets into a closed cut."""

from __future__ import annotations

from insertgen.geometry.region import Region, widest_disc
from insertgen.model import Bore, Circle, Cut, Tray
from insertgen.rules import START_HOLE

__all__ = ["start_hole"]

#: Wood of the waste that is left round a start hole: it must not touch the line.
ROUND_ABOUT = 1.0


def start_hole(opening: Region, tray: Tray) -> tuple[Cut, ...]:
    """A hole in the middle of the waste, of the largest owned drill up to `START_HOLE`; none if no drill is small enough."""
    at, radius = widest_disc(opening)
    most = min(START_HOLE, 2 * (radius - ROUND_ABOUT))
    fitting = [drill for drill in tray.cutting.drills if drill.diameter <= most + 1e-9]
    if not fitting:
        return ()
    drill = max(fitting, key=lambda drill: (drill.diameter, drill.name))
    bore = Bore(drill.diameter, drill.diameter, drill, "start", "in the waste, for the saw")
    return (Cut(Circle(at, drill.diameter), tray.thickness, True, bore),)
