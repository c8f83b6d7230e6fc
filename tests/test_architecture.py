"""The law of the house: imports run downhill, siblings do not know each other, one door per library."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "insertgen"

LEVELS = {
    "errors": 0, "units": 1, "model": 2, "rules": 3, "sizes": 3, "geometry": 4, "exchange": 4,
    "files": 5, "photo": 5, "items": 5, "seats": 5, "arrange": 5, "sheets": 5, "check": 5, "output": 5,
    "pipeline": 6, "cli": 7,
}  # fmt: skip

DOORS = {
    "click": {"cli"}, "PIL": {"photo", "output"}, "cv2": {"photo", "arrange"}, "scipy": {"photo", "arrange"},
    "shapely": {"geometry"}, "ezdxf": {"exchange"}, "HersheyFonts": {"exchange"}, "reportlab": {"output"},
    "tree_sitter": {"files"}, "tree_sitter_toml": {"files"}, "tomllib": {"files"},
}  # fmt: skip

MODULES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def imports_of(path: Path) -> list[str]:
    """Every module named by an import statement, those inside functions too."""
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            names.append(node.module or "")
    return names


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_imports_run_downhill(path: Path) -> None:
    room = room_of(path)
    if room == "__init__":
        assert imports_of(path) == []
        return
    assert room in LEVELS, f"{path} has no place in the table"
    for name in imports_of(path):
        top, _, rest = name.partition(".")
        if top == "insertgen" and rest:
            other = rest.split(".")[0]
            allowed = other == room or LEVELS[other] < LEVELS[room]
            assert allowed, f"{path} ({room}, level {LEVELS[room]}) imports {name} (level {LEVELS[other]})"
        assert top not in DOORS or room in DOORS[top], f"{path} imports {name}: its door is {DOORS[top]}"


def test_check_never_imports_what_it_judges() -> None:
    for path in (PACKAGE / "check").glob("*.py"):
        for name in imports_of(path):
            assert not name.startswith(("insertgen.seats", "insertgen.sheets", "insertgen.arrange")), path


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_only_the_pipeline_writes_and_only_cli_talks(path: Path) -> None:
    room = room_of(path)
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if called in {"write_text", "write_bytes", "mkdir", "unlink", "rename", "rmtree"}:
            assert room == "pipeline", f"{path}:{node.lineno} writes to the disk"
        assert called != "print", f"{path}:{node.lineno} prints"


def test_functions_stay_short() -> None:
    long = []
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.end_lineno is not None:
                lines = node.end_lineno - node.lineno + 1
                if lines > 80:
                    long.append(f"{path.name}:{node.name} {lines}")
    assert long == []


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys\nfrom insertgen.cli.main import run\n"
        "try:\n    run(['--help'])\nexcept SystemExit:\n    pass\n"
        "print([m for m in ('cv2', 'ezdxf', 'shapely', 'numpy', 'scipy', 'pydantic', 'reportlab') if m in sys.modules],"
        " file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
    assert "Commands:" in done.stdout
