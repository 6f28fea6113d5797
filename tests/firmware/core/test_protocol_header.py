"""The numbers that the firmware is built with are those of the Python tables."""

from __future__ import annotations

import subprocess
import sys

from tests.firmware.core.bench import ROOT


def test_the_header_is_as_the_tables_say() -> None:
    tool = ROOT / "firmware_stub" / "tools" / "protocol_h.py"
    done = subprocess.run([sys.executable, str(tool), "--check"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
