"""Keeping a learner's work: whole files only, the last good one at hand, and a short code to share a scenario by mail."""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from ..errors import InputError
from ..files import write_whole

FOLDER = Path("saved")  # beside the notebook
LEARNER = (
    "ORCHID_YEAR_LEARNER"  # the surroundings of a lesson on a page name its learner here, as an address would write it
)
LONGEST_NICKNAME = 30  # letters, as in homework
_MOST_BYTES = 1_000_000
FORM = 1  # version of the saved file
State = dict[str, Any]  # a learner's work as JSON holds it: what lies under a name is for the reader to check


def checked_nickname(typed: str) -> str:
    """A nickname as it is kept; InputError where it is no plain name: letters of any script, digits, blanks, hyphens, apostrophes."""
    name = " ".join(unicodedata.normalize("NFKC", typed).replace("’", "'").split())
    kinds = [unicodedata.category(letter)[0] for letter in name]
    plain = all(kind in "LMN" or letter in " -'" for letter, kind in zip(name, kinds, strict=True))
    if not 1 <= len(name) <= LONGEST_NICKNAME or not plain or kinds[0] not in "LN":
        given = f"'{name[:40]}'" if name.isprintable() and name else "nothing that can be shown"
        raise InputError(
            f"A nickname must be 1 to {LONGEST_NICKNAME} letters, digits, blanks, hyphens or apostrophes, and begin with "
            f"a letter or digit (got {given}). Please type another."
        )
    return name


def own_folder_of(nickname: str) -> Path:
    """Where the work of a learner on a page is kept, beside the notebook; no name of a folder can mean a device or a path."""
    return FOLDER / f"by {checked_nickname(nickname)}"


def work_folder(surroundings: Mapping[str, str]) -> Path:
    """Where work is kept, by the environment that a lesson runs in: on a page in the learner's own folder, else beside the notebook."""
    learner = surroundings.get(LEARNER)
    return FOLDER if learner is None else own_folder_of(unquote(learner))


@dataclass(frozen=True)
class Opened:
    """What was saved, and a sentence where something was wrong with it."""

    state: State
    notice: str = ""


class Shelf:
    """A folder of saved work. Every save keeps the one before, so that a damaged file costs one change at most."""

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)

    def path(self, name: str) -> Path:
        """The file of a saved name; letters, digits, blanks and hyphens only."""
        clean = " ".join(re.sub(r"[^\w \-]", " ", name).split())[:60]
        if not clean:
            raise InputError("A name to save under needs at least one letter or digit. Please type one.")
        return self.folder / f"{clean}.json"

    def save(self, name: str, state: State) -> Path:
        """Write the work whole, the last good save beside it."""
        path = self.path(name)
        text = json.dumps({"form": FORM, "state": state}, ensure_ascii=False, indent=1)
        # Half a sign, as a broken paste may hold, is kept as JSON's own escape of it.
        text = text.encode("utf-8", "backslashreplace")
        good = _read(path)
        if good is not None:
            write_whole(path.with_suffix(".before.json"), json.dumps({"form": FORM, "state": good}).encode())
        write_whole(path, text)
        return path

    def fingerprint(self, name: str) -> str:
        """What tells one save of a name from the next; empty where there is none."""
        try:
            return hashlib.sha256(self.path(name).read_bytes()).hexdigest()
        except OSError:
            return ""

    def free_name(self, wanted: str) -> str:
        """The wanted name, or the first with a number behind it that is not taken."""
        tries = (wanted, *(f"{wanted} {number}" for number in range(2, 1000)))
        return next(name for name in tries if not self.path(name).exists())

    def open(self, name: str) -> Opened:
        """The work of that name; a damaged file is set aside and named, and the last good one used."""
        path = self.path(name)
        if not path.exists():
            return Opened({})
        state = _read(path)
        if state is not None:
            return Opened(state)
        aside = path.with_suffix(".damaged.json")
        number = 1
        while aside.exists():
            number += 1
            aside = path.with_suffix(f".damaged-{number}.json")
        try:
            path.replace(aside)
        except OSError as fault:
            return Opened(
                {},
                f"The saved work in '{path.name}' is damaged and can't be set aside ({fault.strerror}). We start afresh.",
            )
        before = _read(path.with_suffix(".before.json"))
        if before is None:
            return Opened(
                {},
                f"The saved work was damaged; it is kept as '{aside.name}'. There was no earlier save, so we start afresh.",
            )
        return Opened(before, f"The saved work was damaged; it is kept as '{aside.name}'. This is the save before it.")

    def names(self) -> list[str]:
        """All names saved here, in order."""
        if not self.folder.is_dir():
            return []
        found = [path.stem for path in self.folder.glob("*.json")]
        return sorted(name for name in found if not re.search(r"\.(before|damaged(-\d+)?)$", name))


def _read(path: Path) -> State | None:
    """The state in a file, or None when it is missing, damaged, oversized or foreign."""
    try:
        if path.stat().st_size > _MOST_BYTES:
            return None
        whole = json.loads(path.read_bytes().decode("utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if isinstance(whole, dict) and whole.get("form") == FORM and isinstance(whole.get("state"), dict):
        return whole["state"]
    return None
