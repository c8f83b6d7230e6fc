"""Where a traced outline came from: the ``[traced]`` table that ``trace`` writes."""

from __future__ import annotations

from insertgen.files.table import Table
from insertgen.files.toml_text import inline, quoted
from insertgen.model.shape import Traced

__all__ = ["read_traced", "traced_text"]

_KEYS = (
    "photos", "square", "squares_used", "mm_per_pixel", "camera_height", "tilt_deg", "edge_height",
    "underside", "expected_error", "warnings",
)  # fmt: skip


def read_traced(table: Table) -> Traced:
    table.only(*_KEYS)
    photos = tuple(
        (each.only("file", "sha256").text("file"), each.text("sha256")) for each in table.tables("photos")
    )
    warnings = table.elements("warnings", "of texts") if table.has("warnings") else []
    if not all(isinstance(warning, str) for warning in warnings):
        raise table.fault("warnings", "must be a list of texts in quotes")
    return Traced(
        photos=photos,
        square=table.length("square"),
        squares_used=table.whole("squares_used"),
        mm_per_pixel=table.number("mm_per_pixel", least=1e-9, most=1e4),
        tilt_deg=table.number("tilt_deg", least=-90, most=90),
        expected_error=table.length("expected_error", zero=True),
        camera_height=table.maybe_length("camera_height"),
        edge_height=table.maybe_length("edge_height", zero=True),
        warnings=tuple(str(warning) for warning in warnings),
        underside=table.flag("underside", False),
    )


def traced_text(traced: Traced) -> list[str]:
    """Lines of a shape file; numbers to the digits that mean something."""
    photos = ", ".join(inline({"file": quoted(file), "sha256": quoted(sha)}) for file, sha in traced.photos)
    fields = {
        "photos": f"[{photos}]",
        "square": _number(traced.square, 4),
        "squares_used": str(traced.squares_used),
        "mm_per_pixel": _number(traced.mm_per_pixel, 6),
        "camera_height": None if traced.camera_height is None else _number(traced.camera_height, 2),
        "tilt_deg": _number(traced.tilt_deg, 3),
        "edge_height": None if traced.edge_height is None else _number(traced.edge_height, 3),
        "underside": "true" if traced.underside else None,
        "expected_error": _number(traced.expected_error, 3),
        "warnings": f"[{', '.join(quoted(warning) for warning in traced.warnings)}]",
    }
    lines = [
        "",
        "# Written by trace. Change the outline by tracing again, the sizes above by hand.",
        "[traced]",
    ]
    return lines + [f"{key} = {value}" for key, value in fields.items() if value is not None]


def _number(value: float, places: int) -> str:
    return repr(round(float(value), places) + 0.0)
