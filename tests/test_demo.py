"""The demo as kept in the repository: rebuilt, compared, judged; and broken on purpose."""

from __future__ import annotations

import hashlib
import json
import math
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf.entities import DXFEntity

from insertgen.cli.main import run
from insertgen.files.starters import Starter, list_starters
from insertgen.geometry.arcs import fit_path, flatten
from insertgen.model.figures import Contour

ROOT = Path(__file__).parent.parent
KEPT = ROOT / "out" / "demo-shop"
LONG = "120"  # seconds: the search is to end by its rounds, however busy the machine


def command(*arguments: object) -> int:
    with pytest.raises(SystemExit) as stopped:
        run([str(argument) for argument in arguments])
    assert isinstance(stopped.value.code, int)
    return stopped.value.code


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("demo") / "demo-shop"
    assert command("build", ROOT / "out" / "demo-shop.toml", "--out", out, "--time", LONG) == 0
    return out


def rings(file: Path) -> dict[str, list[shapely.Geometry]]:
    """Contours and circles of a drawing by layer, flattened, in a fixed order."""
    found: dict[str, list[shapely.Geometry]] = {}
    for entity in ezdxf.readfile(file).modelspace():
        if entity.dxftype() == "CIRCLE":
            x, y, _ = entity.dxf.center
            line = shapely.Point(x, y).buffer(entity.dxf.radius, quad_segs=64).exterior
        else:
            vertices = tuple((float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb"))
            line = shapely.LinearRing(flatten(Contour(vertices), 0.0005))
        found.setdefault(entity.dxf.layer, []).append(line)
    return {layer: sorted(lines, key=lambda line: line.bounds) for layer, lines in found.items()}


@pytest.fixture(scope="module")
def held(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built again in the places kept: another processor rounds otherwise, and a search may end elsewhere for that."""
    out = tmp_path_factory.mktemp("held") / "demo-shop"
    shutil.copytree(KEPT, out)
    for drawing in out.rglob("*.dxf"):
        drawing.unlink()  # what is compared is written anew
    assert command("build", ROOT / "out" / "demo-shop.toml", "--out", out, "--keep-layout", "--overwrite", "--time", LONG) == 0
    return out


@pytest.mark.parametrize("tray", ["marking-and-sanding", "router-bits", "sanders", "saw-and-wrenches"])
def test_the_committed_demo_is_what_the_program_makes(held: Path, tray: str) -> None:
    new, kept = rings(held / tray / "sheet-1.dxf"), rings(KEPT / tray / "sheet-1.dxf")
    assert {layer: len(lines) for layer, lines in new.items()} == {layer: len(lines) for layer, lines in kept.items()}
    for layer, lines in new.items():
        for one, other in zip(lines, kept[layer], strict=True):
            assert shapely.hausdorff_distance(one, other) <= 0.01
    assert (held / tray / "holes.csv").read_text() == (KEPT / tray / "holes.csv").read_text()


def test_the_demo_checks_clean(built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for folder in (built, KEPT):
        capsys.readouterr()
        assert command("check", folder, "--json") == 0
        findings = json.loads(capsys.readouterr().out)
        assert [finding for finding in findings if finding["severity"] == "error"] == []


def test_same_job_and_seed_same_bytes(built: Path, tmp_path: Path) -> None:
    assert command("build", ROOT / "out" / "demo-shop.toml", "--out", tmp_path / "demo-shop", "--time", LONG) == 0
    first = {path.relative_to(built): path.read_bytes() for path in built.rglob("*") if path.is_file()}
    again = tmp_path / "demo-shop"
    second = {path.relative_to(again): path.read_bytes() for path in again.rglob("*") if path.is_file()}
    assert first == second


def test_nothing_in_the_demo_names_a_machine_or_a_time(built: Path) -> None:
    text = (built / "report.json").read_text()
    assert str(ROOT) not in text
    assert str(built.parent) not in text


@pytest.mark.parametrize("starter", list_starters(), ids=lambda starter: starter.name)
def test_every_starter_builds_and_checks_clean(
    starter: Starter, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert command("start", starter.name, "job.toml") == 0
    assert command("build", "job.toml", "--time", LONG) == 0
    capsys.readouterr()
    assert command("check", "out/job", "--json") == 0
    assert json.loads(capsys.readouterr().out) == []


# ---- broken on purpose -------------------------------------------------------------------------

Edit = Callable[[ezdxf.document.Drawing, str], list[tuple[float, float]]]


def item_cut(doc: ezdxf.document.Drawing, placement: str) -> Any:
    """The entity that the kept report lists for a placement, by its middle."""
    report = json.loads((KEPT / "report.json").read_text())
    seats = [seat for tray in report["trays"] for seat in tray["seats"] if seat["placement"] == placement]
    (x, y) = seats[0]["cuts"][0]["at"]

    def middle(entity: DXFEntity) -> tuple[float, float]:
        if entity.dxftype() == "CIRCLE":
            return entity.dxf.center.x, entity.dxf.center.y
        vertices = tuple((float(a), float(b), float(c)) for a, b, c in entity.get_points("xyb"))
        x0, y0, x1, y1 = shapely.LinearRing(flatten(Contour(vertices))).bounds
        return (x0 + x1) / 2, (y0 + y1) / 2

    cuts = [entity for entity in doc.modelspace() if entity.dxf.layer != "EDGE"]
    return min(cuts, key=lambda entity: math.dist(middle(entity), (x, y)))


def vertices_of(entity: DXFEntity) -> list[tuple[float, float]]:
    if entity.dxftype() == "CIRCLE":
        return [(entity.dxf.center.x, entity.dxf.center.y)]
    return [(float(x), float(y)) for x, y in entity.get_points("xy")]


def move(doc: ezdxf.document.Drawing, placement: str) -> list[tuple[float, float]]:
    circle = item_cut(doc, placement)
    x, y, _ = circle.dxf.center
    circle.dxf.center = (x + 1.2, y - 1.6, 0)  # 2 mm: 3, 4, 5
    return [(x + 1.2, y - 1.6)]


def shrink(doc: ezdxf.document.Drawing, placement: str) -> list[tuple[float, float]]:
    entity = item_cut(doc, placement)
    if entity.dxftype() == "CIRCLE":
        entity.dxf.radius -= 1
        line = shapely.Point(entity.dxf.center.x, entity.dxf.center.y).buffer(entity.dxf.radius, quad_segs=256).exterior
    else:
        vertices = tuple((float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb"))
        smaller = shapely.Polygon(flatten(Contour(vertices))).buffer(-1, quad_segs=32)
        fitted = fit_path(tuple(smaller.exterior.coords[:-1]), 0.01)
        assert isinstance(fitted, Contour)
        entity.set_points(fitted.vertices, format="xyb")
        line = smaller.exterior
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(shapely.segmentize(line, 0.05))]


def open_(doc: ezdxf.document.Drawing, placement: str) -> list[tuple[float, float]]:
    entity = item_cut(doc, placement)
    entity.closed = False
    return vertices_of(entity)


def double(doc: ezdxf.document.Drawing, placement: str) -> list[tuple[float, float]]:
    entity = item_cut(doc, placement)
    doc.modelspace().add_entity(entity.copy())
    return vertices_of(entity)


def rename(doc: ezdxf.document.Drawing, placement: str) -> list[tuple[float, float]]:
    entity = item_cut(doc, placement)
    entity.dxf.layer = "POCKET_3MM" if entity.dxf.layer.startswith("POCKET") else "BORE_5MM"
    return vertices_of(entity)


FAULTS: list[tuple[Edit, str, tuple[str, str]]] = [
    (move, "hole-moved", ("router-bits/01", "router-bits/13")),
    (shrink, "item-bound", ("marking-and-sanding/01", "marking-and-sanding/04")),
    (open_, "contour-open", ("marking-and-sanding/01", "marking-and-sanding/08")),
    (double, "contour-doubled", ("marking-and-sanding/02", "router-bits/10")),
    (rename, "depth-wrong", ("marking-and-sanding/03", "router-bits/05")),
]


@pytest.mark.parametrize(
    ("edit", "code", "placement"),
    [(edit, code, placement) for edit, code, placements in FAULTS for placement in placements],
    ids=lambda value: value.__name__ if callable(value) else str(value),
)
def test_check_names_code_placement_and_place(
    edit: Edit, code: str, placement: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "demo-shop"
    shutil.copytree(KEPT, folder)
    file = folder / placement.split("/")[0] / "sheet-1.dxf"
    doc = ezdxf.readfile(file)
    places = edit(doc, placement)
    doc.saveas(file)
    report = json.loads((folder / "report.json").read_text())
    for entry in report["files"]:  # the hashes give nothing away
        entry["sha256"] = hashlib.sha256((folder / entry["path"]).read_bytes()).hexdigest()
    (folder / "report.json").write_text(json.dumps(report))
    capsys.readouterr()
    assert command("check", folder, "--json") == 3
    errors = [finding for finding in json.loads(capsys.readouterr().out) if finding["severity"] == "error"]
    assert {finding["placement"] for finding in errors} == {placement}
    named = [finding for finding in errors if finding["code"] == code]
    assert named
    assert min(math.dist(named[0]["at"], place) for place in places) <= 0.1
