"""The built wheel makes a sheet with no network and no checkout in sight."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pikepdf
import pytest

TOP = Path(__file__).resolve().parents[2]
VISIT = TOP / "tests/data/rower.yaml"


def run(*command: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    quiet = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "PIP_"))}
    return subprocess.run(
        [str(part) for part in command], cwd=cwd, env=quiet, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    built = run(sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", out, TOP, cwd=out)
    assert built.returncode == 0, built.stdout + built.stderr
    return next(out.glob("*.whl"))


def test_wheel_holds_the_shipped_folders_once(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for folder in ("exercise_library", "templates"):
        shipped = {path.relative_to(TOP / folder).as_posix() for path in (TOP / folder).rglob("*") if path.is_file()}
        prefix = f"homecare/_data/{folder}/"
        assert {name.removeprefix(prefix) for name in names if name.startswith(prefix)} == shipped != set()
    assert all(name.startswith(("homecare/", "homecare-")) for name in names)


def test_wheel_asks_for_its_typeface(wheel: Path) -> None:
    """The fonts are a package of their own; the wheel names it, and what reads them, so every install brings them."""
    with zipfile.ZipFile(wheel) as packed:
        asked = next(packed.read(name).decode() for name in packed.namelist() if name.endswith(".dist-info/METADATA"))
    for package in ("font-source-sans-pro", "fonttools", "typst"):
        assert f"Requires-Dist: {package}>=" in asked


@pytest.mark.slow
def test_installed_wheel_makes_a_sheet(wheel: Path, tmp_path: Path) -> None:
    """The clean environment sees this one's installed packages by a .pth line, but for the editable project."""
    venv.create(tmp_path / "venv", with_pip=True)
    python = tmp_path / "venv/bin/python"
    assert run(python, "-m", "pip", "install", "--no-index", "--no-deps", wheel, cwd=tmp_path).returncode == 0
    own = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=tmp_path).stdout.strip())
    # A plain path line: unlike a site directory, its own .pth files (the editable project's) are not read.
    (own / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n")

    where = run(python, "-I", "-c", "import homecare; print(homecare.__file__)", cwd=tmp_path).stdout.strip()
    assert Path(where).is_relative_to(own)
    made = run("unshare", "-rn", python, "-I", "-m", "homecare", "sheet", VISIT, "--out", "out", cwd=tmp_path)
    if "unshare" in made.stderr:  # a container may forbid network namespaces: then without that proof
        made = run(python, "-I", "-m", "homecare", "sheet", VISIT, "--out", "out", cwd=tmp_path)
    assert (made.returncode, made.stderr) == (0, "")
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"sheet.pdf", "plan.json", "phone.html", "note.txt"}
    with pikepdf.open(tmp_path / "out/sheet.pdf") as pdf:
        fonts = {str(font.BaseFont) for page in pdf.pages for font in page.Resources.Font.values()}
    assert fonts
    assert all("Source-Sans-Pro" in font or "SourceSansPro" in font for font in fonts), fonts
    listed = run(tmp_path / "venv/bin/homecare", "library", "check", cwd=tmp_path)
    assert listed.returncode == 0, listed.stderr
