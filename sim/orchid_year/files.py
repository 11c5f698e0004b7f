"""Files: written whole or not at all, and a folder named with '~' in full."""

from __future__ import annotations

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
