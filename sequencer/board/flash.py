"""Loads a program onto a board: looks, keeps the old one, writes, reads back, and only then makes it live.

Takes an image and an open, greeted link. Asking the person and showing the caution `flash` come before this
and are the command's.
"""

from __future__ import annotations

import os
import zlib
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.errors import (
    BackupFailed,
    BadImage,
    BoardRefused,
    FlashError,
    VerifyFailed,
    WrongBoardKind,
)
from sequencer.board.fitness import Unfit, fit_program
from sequencer.board.link import BoardState, Identity, Link, Progress
from sequencer.board.profiles import Profile, profile_by_kind
from sequencer.board.protocol import refusal_named
from sequencer.board.store import Standing
from sequencer.steps import Mode


@dataclass(frozen=True, slots=True)
class FlashReport:
    """What was done: `written` is False where the board held this very program already."""

    written: bool
    length: int
    crc: int
    generation: int
    backup: Path | None
    bytes_sent: int
    bytes_received: int
    repeats: int


def flash(
    link: Link,
    image: bytes,
    profile: Profile,
    progress: Progress | None = None,
    backup_path: Path | None = None,
) -> FlashReport:
    """Loads `image` onto the board behind `link`.

    `progress` is told bytes done of all that are to be sent and read back. `backup_path` takes the program
    that the board held, where there was one and it is another. Raises BoardError; the old program is then
    still the live one, unless the fault came after the new one was read back whole and committed.
    """
    fit = fit_program(image, profile)
    if isinstance(fit, Unfit):
        raise BadImage(fit.sentence)
    board = link.identify()
    _same_kind(board, profile)
    state = link.state()
    if state.mode is Mode.ARMED:
        raise BoardRefused("open upload", refusal_named("armed").code, 0)
    if (state.length, state.crc) == (len(image), zlib.crc32(image)):
        return _already_there(link, state)
    backup = _keep_old(link, state, backup_path)
    _send(link, image, profile.kind, progress)
    link.commit()
    state = _on_trial(link, image)
    link.confirm()
    traffic = link.traffic
    return FlashReport(
        True, len(image), state.crc, state.generation, backup, traffic.sent, traffic.received, traffic.repeats
    )


def _same_kind(board: Identity, profile: Profile) -> None:
    if board.kind != profile.kind:
        found = profile_by_kind(board.kind)
        raise WrongBoardKind(profile.name, found.name if found else f"of unknown kind {board.kind}")


def _already_there(link: Link, state: BoardState) -> FlashReport:
    if state.standing is Standing.ON_TRIAL:
        link.confirm()
    traffic = link.traffic
    return FlashReport(
        False,
        state.length,
        state.crc,
        state.generation,
        None,
        traffic.sent,
        traffic.received,
        traffic.repeats,
    )


def _keep_old(link: Link, state: BoardState, path: Path | None) -> Path | None:
    """Writes the board's program to a file, whole or not at all."""
    if path is None or state.length == 0:
        return None
    old = link.read_back(state.length)
    if zlib.crc32(old) != state.crc:
        raise BackupFailed(str(path), "what was read back does not have the checksum the board tells")
    half = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        half.write_bytes(old)
        os.replace(half, path)
    except OSError as fault:
        raise BackupFailed(str(path), fault.strerror or str(fault)) from fault
    return path


def _send(link: Link, image: bytes, kind: int, progress: Progress | None) -> None:
    """Uploads, has the board verify, and compares what its memory holds."""
    whole = 2 * len(image)

    def at_least(done: int, _: int) -> None:
        if progress is not None:
            progress(done, whole)

    def past_half(done: int, _: int) -> None:
        if progress is not None:
            progress(len(image) + done, whole)

    link.upload(image, kind, at_least)
    held = link.read_back(len(image), upload=True, progress=past_half)
    if held != image:
        pairs = zip(image, held, strict=False)
        offset = next((n for n, (ours, theirs) in enumerate(pairs) if ours != theirs), len(held))
        raise VerifyFailed(offset, len(image), len(held))


def _on_trial(link: Link, image: bytes) -> BoardState:
    """The state of the board on its new program. Raises FlashError where it is not that program, at rest."""
    state = link.state()
    if (state.length, state.crc) != (len(image), zlib.crc32(image)):
        raise FlashError("The board does not run the program it was given; read its state before anything else.")
    if state.mode is Mode.ARMED:
        raise FlashError("The board came up armed on the new program, which it must not; cut its power.")
    return state
