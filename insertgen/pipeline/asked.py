"""What of an item a photo is to show: heights that may be given, where its edge then stands, and what is taken for granted."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.errors import InsertgenError
from insertgen.photo.standing import Standing, check_standing
from insertgen.pipeline.parts import Band, Spot, band_words
from insertgen.units import format_mm

__all__ = ["Asked", "assumed_words", "check_asked", "picture_words", "standing_of"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What of the item a photo shows.

    Attributes
    ----------
    height : float or None
        Overall height, as the item is stored.
    edge_height : float or None
        Where the edge seen stands above the bench, as the item lies in the photo.
    underside : bool
        The item lay turned over.
    part : Band or None
        The height band whose outline it is; None: the whole item.
    at : Spot or None
        Where that part's middle goes in the shape frame, and its turn.
    upright : bool
        The item has upright walls, from the bench to its overall height.
    """

    height: float | None = None
    edge_height: float | None = None
    underside: bool = False
    part: Band | None = None
    at: Spot | None = None
    upright: bool = False


def check_asked(asked: Asked) -> None:
    """Refuse heights that cannot be, before a photo is looked at.

    Raises
    ------
    InsertgenError
        Heights out of bounds, or that do not go together.
    """
    _check_edge(asked)
    check_standing(standing_of(asked))


def _check_edge(asked: Asked) -> None:
    edge, height = asked.edge_height, asked.height
    if asked.upright and (asked.part is not None or edge is not None):
        raise InsertgenError(
            "upright walls go from the bench to the overall height: give --upright with --height, and neither --part "
            "nor --edge-height"
        )
    if asked.part is not None and asked.underside and edge is None and height is None:
        raise InsertgenError(
            f"turned over, the part {band_words(asked.part)} stands as high above the bench as the item is: give the "
            "overall height with --height, or where the edge stands with --edge-height"
        )
    if (asked.part is not None or asked.underside) and edge is not None and height is not None and edge > height:
        raise InsertgenError(
            f"an edge at {format_mm(edge)} mm stands higher than the item, {format_mm(height)} mm overall; "
            "mend --edge-height or --height"
        )


def _plane(asked: Asked) -> float | None:
    """Where the edge of a part stands above the bench, the item as it lies: by default the band's middle."""
    if asked.edge_height is not None or asked.part is None:
        return asked.edge_height
    middle = sum(asked.part) / 2
    return (asked.height or 0.0) - middle if asked.underside else middle


def standing_of(asked: Asked) -> Standing:
    """Of a part, and of an item turned over, the overall height says nothing of the edge once its height is given."""
    plane = _plane(asked)
    height = None if asked.part is not None or (asked.underside and plane is not None) else asked.height
    return Standing(height, plane, asked.upright)


def assumed_words(asked: Asked, edge_height: float) -> tuple[str, ...]:
    """What was taken for granted of where the edge stands (mm), and how to say otherwise."""
    said = []
    if asked.upright:
        said.append("the walls were taken to stand upright: far sides of the outline cast high, near sides low")
    if asked.edge_height is None and (asked.part is not None or asked.underside) and (asked.part or asked.height):
        of = "in the mean, by the look of the item" if asked.part is None else "the middle of the part"
        said.append(
            f"the edge seen was taken to stand {format_mm(edge_height)} mm above the bench, {of}"
            + (", as the item lay turned over" if asked.underside else "")
            + "; say otherwise with --edge-height"
            + (": the edge of a sole turned up stands at the overall height" if asked.underside else "")
        )
    if asked.underside:
        said.append(
            "the outline was mirrored left to right as the photo shows it: as if the item had been turned over like the page of a book"
        )
    return tuple(said)


def picture_words(asked: Asked) -> tuple[str, ...]:
    """What the picture says beside the outline."""
    said = []
    if asked.part is not None:
        said.append(f"part {band_words(asked.part)}")
    if asked.underside:
        said.append("underside, as taken; mirrored in the shape file")
    return tuple(said)
