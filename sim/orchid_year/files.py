"""Files: read as text whatever its form, written whole or not at all, and a folder named with '~' in full."""

from __future__ import annotations

import codecs
import os
import tempfile
from pathlib import Path

from .errors import InputError


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
    """Write a file whole or not at all; InputError in words when the folder can't be written."""
    path = Path(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
            try:
                file.write(content)
                file.close()
                os.chmod(file.name, 0o644)
                os.replace(file.name, path)
            except OSError:
                Path(file.name).unlink(missing_ok=True)
                raise
    except OSError as fault:
        raise InputError(
            f"'{path}' can't be written ({fault.strerror}). Nothing was changed. Please choose another folder."
        ) from None
