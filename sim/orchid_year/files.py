"""Files: read as text whatever its form, written whole or not at all, and a folder named with '~' in full."""

from __future__ import annotations

import codecs
import contextlib
import os
import tempfile
from pathlib import Path

from .errors import InputError, shown

_HALF = ".half-written"  # ends the name of a file until it is whole
_STALE = 3600.0  # s: nothing of ours takes that long to write
_cleared: set[Path] = set()


def own_folder(folder: Path) -> Path:
    """The folder with '~' put in full; InputError where there is no such person."""
    try:
        return folder.expanduser().resolve()
    except RuntimeError:
        raise InputError(
            f"'{folder}' names a person whom this computer does not know. Please give another --folder."
        ) from None


def text_of(raw: bytes) -> str:
    """The text of a file in UTF-8 or UTF-16, with or without the mark at its beginning; UnicodeDecodeError for anything else."""
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return raw.decode("utf-16")
    zeros = [sign == 0 for sign in raw[:4]]  # a plain letter, as such files begin with, has a zero beside it
    if zeros in ([False, True] * 2, [True, False] * 2):
        return raw.decode("utf-16-be" if zeros[0] else "utf-16-le")
    return raw.decode("utf-8-sig")


def check_folder(folder: Path | None) -> None:
    """InputError where something that is no folder stands in a folder's place; said before a long run rather than after it."""
    if folder is not None and folder.exists() and not folder.is_dir():
        raise InputError(f"'{folder}' is a file, and a folder is wanted. Please name another.")


def check_file(path: Path | None) -> None:
    """InputError where a folder stands in a file's place."""
    if path is not None and path.is_dir():
        raise InputError(f"'{path}' is a folder, and a file is wanted. Please name another.")


def write_whole(path: str | Path, content: bytes) -> None:
    """Write a file whole or not at all, and down to the disk; InputError in words when the folder can't be written.

    The first write into a folder clears away what an earlier run, killed while it wrote, left there.
    """
    path = Path(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", suffix=_HALF, delete=False) as file:
            try:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
                file.close()
                _clear_stale(path.parent, os.stat(file.name).st_mtime)
                os.chmod(file.name, 0o644)
                os.replace(file.name, path)
            except BaseException:  # Ctrl-C as well
                Path(file.name).unlink(missing_ok=True)
                raise
        _settle(path.parent)
    except (OSError, ValueError) as fault:  # a zero sign or half a sign in a name is a ValueError
        why = fault.strerror if isinstance(fault, OSError) else "its name holds a sign that no file's name can"
        raise InputError(
            f"'{shown(str(path), 160)}' can't be written ({why}). Nothing was changed. Please choose another folder."
        ) from None


def _settle(folder: Path) -> None:
    """Bring a folder's list of names down to the disk, where the system lets a folder be opened for that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _clear_stale(folder: Path, now: float) -> None:
    """Take away our own half-written files that are older than an hour by the folder's own clock, once for each folder."""
    if folder in _cleared:
        return
    _cleared.add(folder)
    for half in folder.glob(f".*{_HALF}"):
        with contextlib.suppress(OSError):
            if now - half.stat().st_mtime > _STALE:
                half.unlink()
