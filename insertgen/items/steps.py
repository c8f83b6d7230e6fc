"""What of an item goes through the face, and how far down: its parts, as nested steps."""

from __future__ import annotations

from insertgen.errors import JobError
from insertgen.geometry.offset import grown
from insertgen.geometry.region import Region, covers, from_outline, to_outlines, union
from insertgen.model.figures import Outline
from insertgen.model.item import Step
from insertgen.model.shape import Part, Store

__all__ = ["above_face", "steps_of", "whole_outline"]

#: A part that sticks out less than this beyond those above it needs no step of its own.
SAME = 0.05


def steps_of(
    parts: tuple[Part, ...], store: Store, depth: float, thickness: float, where: str, faces: tuple[float, ...] = ()
) -> tuple[Step, ...]:
    """The steps of a pocket, through-cut, slot or corner seat, the widest and shallowest first.

    Going down, the opening at each depth must hold every part that passes
    there: a part whose lower end is ``bottom`` above the item's lowest point
    passes down to ``depth - bottom``, and so do all below it.

    Parameters
    ----------
    depth : float
        How far below the face the item's lowest point is.
    thickness : float
        Of the stack; what goes deeper hangs below it.
    faces : tuple of float, optional
        Depths of the lower faces of the sheets, where only whole sheets can be cut: each step goes to the next of them.

    Raises
    ------
    JobError
        What is below the face does not hang together, or nothing is.

    Examples
    --------
    >>> square = lambda a: Outline(((-a, -a), (a, -a), (a, a), (-a, a)))
    >>> pad_and_body = (Part(square(20.0), 0.0, 9.0), Part(square(30.0), 9.0, 60.0))
    >>> [(step.depth, max(step.outline.outer)) for step in steps_of(pad_and_body, Store.POCKET, 15.0, 18.0, "")]
    [(6.0, (30.0, 30.0)), (15.0, (20.0, 20.0))]
    """
    through = store in (Store.THROUGH, Store.SLOT, Store.CORNER)
    passing: list[Region] = []
    steps: list[Step] = []
    for part in parts:
        reach = depth - part.bottom
        if reach <= 1e-6:
            break
        passing.append(from_outline(part.outline))
        whole = union(passing)
        if steps and covers(grown(from_outline(steps[-1].outline), SAME), whole):
            continue
        right_through = through and (not steps or store is not Store.THROUGH)
        reach = next((face for face in faces if face >= reach - SAME), reach)
        if steps and abs(reach - steps[-1].depth) < SAME:
            steps.pop()  # as deep as the narrower one below it: one opening
        step = Step(_one(whole, where), thickness if right_through else reach, right_through)
        # sawn cuts have one outline all the way down
        steps = [step] if store in (Store.SLOT, Store.CORNER) else [*steps, step]
    return tuple(reversed(steps))


def above_face(parts: tuple[Part, ...], depth: float, below: Outline) -> Outline:
    """The plan of what stands above the face; what is below it where nothing does."""
    high = [from_outline(part.outline) for part in parts if part.top is None or part.top > depth + 1e-6]
    outlines = to_outlines(union(high)) if high else ()
    if len(outlines) == 1:
        return outlines[0]
    return whole_outline(parts) if outlines else below


def whole_outline(parts: tuple[Part, ...]) -> Outline:
    """All parts together, from above."""
    if len(parts) == 1:
        return parts[0].outline
    return to_outlines(union(from_outline(part.outline) for part in parts))[0]


def _one(region: Region, where: str) -> Outline:
    outlines = to_outlines(region)
    if len(outlines) > 1:
        raise JobError(
            f"{where}: the parts below the face do not hang together, seen from above; "
            "let it sit deeper or less deep, or draw one part over them"
        )
    return outlines[0]
