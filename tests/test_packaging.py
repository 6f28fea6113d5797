"""What is installed is whole: a wheel finds its grammar, shelf and shows without the checkout beside it."""

from __future__ import annotations

import base64
import os
import re
import subprocess
import sys
import sysconfig
import zipfile
import zlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of the tracked files, unpacked by itself, as an installer lays it down."""
    place = tmp_path_factory.mktemp("wheel")
    clone = place / "clone"
    tracked = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    for name in filter(None, tracked.decode().split("\0")):
        if (ROOT / name).is_file():
            (clone / name).parent.mkdir(parents=True, exist_ok=True)
            (clone / name).write_bytes((ROOT / name).read_bytes())
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(place), str(clone)]
    subprocess.run(build, check=True, capture_output=True)
    (wheel,) = place.glob("*.whl")
    zipfile.ZipFile(wheel).extractall(place / "site")
    return place / "site"


def run(installed: Path, where: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command of the wheel, with the libraries of this environment, from a folder that knows no checkout."""
    libraries = sysconfig.get_paths()["purelib"]
    environment = {**os.environ, "HOME": str(where), "XDG_STATE_HOME": str(where)}
    command = [sys.executable, "-I", "-c", _START, str(installed), libraries, *words]
    return subprocess.run(command, cwd=where, env=environment, capture_output=True, text=True, encoding="utf-8")


_START = """
import sys
installed, libraries, *sys.argv[1:] = sys.argv[1:]
sys.path[:] = [installed, libraries, *(path for path in sys.path if "site-packages" not in path)]
import sequencer
assert sequencer.__file__.startswith(installed), sequencer.__file__
from sequencer.cli import main
sys.exit(main())
"""


def test_the_demo_of_a_wheel_runs_without_the_checkout(installed: Path, tmp_path: Path) -> None:
    ran = run(installed, tmp_path, "demo")
    assert ran.returncode == 0, ran.stderr
    assert "read back and confirmed" in ran.stdout


def test_a_wheel_brings_its_shelf_and_checks_a_new_show(installed: Path, tmp_path: Path) -> None:
    assert "valve_5_2_quarter" in run(installed, tmp_path, "shelf", "valve").stdout
    assert run(installed, tmp_path, "new", "mine").returncode == 0
    ran = run(installed, tmp_path, "check", "mine.show")
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_a_wheel_brings_what_the_page_needs(installed: Path, tmp_path: Path) -> None:
    assert run(installed, tmp_path, "new", "mine").returncode == 0
    ran = run(installed, tmp_path, "dryrun", "mine.show", "--for", "20s", "--seed", "1", "--page", "mine.html")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    page = (tmp_path / "mine.html").read_text(encoding="utf-8")
    code = re.search('id="code">([^<]+)<', page)
    assert code and b"requestAnimationFrame" in zlib.decompress(base64.b64decode(code[1]))
    assert "prefers-reduced-motion" in page


def test_a_wheel_brings_no_tests_and_no_compiled_part(installed: Path) -> None:
    names = {path.name for path in installed.iterdir()}
    assert {name for name in names if not name.endswith(".dist-info")} == {"sequencer"}
    assert not list(installed.rglob("*.so"))
