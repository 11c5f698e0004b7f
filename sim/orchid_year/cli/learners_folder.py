"""The learner's own folder: the shipped notebooks are laid into it, and what the learner changed is never overwritten."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path

from ..errors import InputError
from ..files import write_whole
from ..serving.command import OWN


@dataclass(frozen=True)
class Laid:
    """What became of the shipped files, by name: new, renewed, kept as the learner changed them; and of those, out of date."""

    new: tuple[str, ...] = ()
    renewed: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    behind: tuple[str, ...] = ()

    def sentences(self) -> list[str]:
        """One plain sentence for each that matters to the learner."""
        said = []
        if self.new:
            said.append(f"New in your folder: {', '.join(self.new)}.")
        if self.renewed:
            said.append(f"Brought up to date: {', '.join(self.renewed)}.")
        if self.kept:
            said.append(f"Kept as you changed them: {', '.join(self.kept)}.")
        if self.behind:
            said.append(f"There is a newer {', '.join(self.behind)}; rename or move yours to get it next time.")
        return said


def shipped() -> Path:
    """The folder of shipped notebooks: inside the installed package, or beside `sim` in a source checkout."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "notebooks", package.parents[1] / "notebooks"):
        if any(folder.glob("*.ipynb")):
            return folder
    raise InputError("The notebooks of the workshop are not here. Please install Orchid Year again.")


def lay_out(source: Path, folder: Path) -> Laid:
    """Copy the shipped files into the learner's folder; what the learner changed is never overwritten.

    A file counts as unchanged when its hash is the one that was noted when it was laid there.
    """
    note = folder / OWN / "laid.json"
    known = _noted(note)
    now = dict(known)
    new, renewed, kept, behind = [], [], [], []
    for path in _files(source):
        name = path.relative_to(source).as_posix()
        target, content = folder / name, path.read_bytes()
        ours, there = _hash(content), _hash_of(target)
        if there is None or there in (ours, known.get(name)):
            if there != ours:
                write_whole(target, content)
                (new if there is None else renewed).append(name)
            now[name] = ours
        else:
            kept.append(name)
            if known.get(name) != ours:
                behind.append(name)
    if now != known or not note.exists():
        write_whole(note, (json.dumps(now, indent=1, sort_keys=True) + "\n").encode())
    return Laid(tuple(new), tuple(renewed), tuple(kept), tuple(behind))


def _files(source: Path) -> list[Path]:
    """The files to lay out, by name; hidden ones and caches left out."""
    return sorted(
        path
        for path in source.rglob("*")
        if path.is_file() and not any(part.startswith((".", "__")) for part in path.relative_to(source).parts)
    )


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _hash_of(path: Path) -> str | None:
    """The hash of what stands at a path; None when nothing does, '' for a folder or a link that leads nowhere."""
    if not os.path.lexists(path):
        return None
    try:
        return _hash(path.read_bytes()) if path.is_file() else ""
    except OSError:
        return ""


def _noted(note: Path) -> dict[str, str]:
    """The hash list; empty when missing or damaged, so that in doubt a file counts as the learner's own."""
    try:
        found = json.loads(note.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(value) for name, value in found.items()} if isinstance(found, dict) else {}
