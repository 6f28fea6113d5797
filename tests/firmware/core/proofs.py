"""The firmware's proof of programs as a shared library, and what Python says of the same bytes."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

from sequencer.board.fitness import Unfit, fit_program
from sequencer.board.profiles import Profile
from sequencer.board.protocol import REFUSALS
from tests.firmware.core.bench import CORE

FILES = ("image", "memory", "decode", "proof", "proof_format", "proof_tables", "proof_flow", "crc")
_NAMES = {refusal.code: refusal.name for refusal in REFUSALS}
NOT_A_PROGRAM = "not a program"

Verdict = tuple[str, int]
"""The name of a refusal and its detail; two empty ones for a program that may run."""


class Proof:
    """The proof that one kind of board makes."""

    def __init__(self, folder: Path, profile: Profile, core: Path = CORE, flags: Sequence[str] = ("-O1",)) -> None:
        compiler = shutil.which("gcc")
        assert compiler, "the tests of the firmware need gcc"
        target = folder / f"proof_{profile.name}.so"
        sources = [str(core / f"{name}.c") for name in FILES]
        subprocess.run(
            [compiler, "-std=c11", "-shared", "-fPIC", *flags, f"-DBOARD_KIND={profile.kind}", f"-I{core}",
             str(Path(__file__).with_name("proof_board.c")), *sources, "-o", str(target)],
            check=True,
        )  # fmt: skip
        self._library = ctypes.CDLL(str(target))
        self._library.proof_of.argtypes = [ctypes.c_char_p, ctypes.c_uint16]
        self._library.proof_of.restype = ctypes.c_uint32

    def __call__(self, image: bytes) -> Verdict:
        """What the board says of the image."""
        said = self._library.proof_of(image, len(image))
        return _NAMES.get(said >> 16, ""), said & 0xFFFF


def python_says(image: bytes, profile: Profile) -> Verdict:
    """What the Python rules say of it."""
    fit = fit_program(image, profile)
    return (fit.refusal, fit.detail) if isinstance(fit, Unfit) else ("", 0)


def same(board: Verdict, python: Verdict) -> bool:
    """Whether they mean the same. A board counts no places beyond its limits: it stops at the first."""
    return board == python if python[0] == NOT_A_PROGRAM else board[0] == python[0]
