"""Files: written whole or not at all, and a folder named with '~' in full."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from .quantity import InputError


def own_folder(folder: Path) -> Path:
    """The folder with '~' put in full; InputError where there is no such person."""
    try:
        return folder.expanduser().resolve()
    except RuntimeError:
        raise InputError(
            f"'{folder}' names a person whom this computer does not know. Please give another --folder."
        ) from None


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
