"""Who is who on a shared workshop: each nickname belongs to whoever took it first, and a short code opens it elsewhere."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote, unquote

from ..codes import from_letters, to_letters
from ..errors import InputError
from ..files import write_whole
from ..screens.saved_work import checked_nickname
from .command import OWN

MOST = 500  # nicknames in one folder: no club is larger, and nobody fills the disk with names
_CODES = 10**8  # different codes: eight letters to copy down


@dataclass(frozen=True)
class Learner:
    """Somebody with a nickname, and the code that shows it."""

    nickname: str
    code: str

    def cookie(self) -> str:
        """Both as a browser keeps them."""
        return f"{quote(self.nickname)}.{self.code}"


class Learners:
    """The nicknames taken in one folder, kept there with a digest of each one's code."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / OWN / "learners.json"

    def enter(self, nickname: str, code: str = "") -> Learner:
        """Take a free nickname, or come back to one's own with its code; InputError for no plain name, or somebody else's."""
        name, taken = checked_nickname(nickname), self._taken()
        key = name.casefold()
        if key in taken:
            if not self._fits(code, taken[key]):
                raise InputError(
                    f"The nickname '{name}' is taken. If it is yours, please type its code too; if not, please choose another."
                )
            return Learner(taken[key]["nickname"], _spelt(code))
        if len(taken) >= MOST:
            raise InputError(f"This folder holds {MOST} nicknames, which is the most. Please ask for a new folder.")
        new = to_letters(secrets.randbelow(_CODES) + 1)
        taken[key] = {"nickname": name, "code": _digest(new)}
        write_whole(self._path, (json.dumps(taken, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode())
        return Learner(name, new)

    def known(self, cookie: str | None) -> Learner | None:
        """Whoever a browser says that it belongs to; None for nobody, and for a code that is not the right one."""
        name, _, code = (cookie or "").rpartition(".")
        try:
            nickname = checked_nickname(unquote(name))
            entry = self._taken().get(nickname.casefold())
        except InputError:
            return None
        return Learner(entry["nickname"], _spelt(code)) if entry and self._fits(code, entry) else None

    def _fits(self, code: str, entry: dict[str, str]) -> bool:
        return secrets.compare_digest(_digest(code), entry["code"])

    def _taken(self) -> dict[str, dict[str, str]]:
        """Nicknames by their folded spelling. A damaged list is never taken for an empty one, which would give names away."""
        try:
            found = json.loads(self._path.read_bytes())
            return {str(key): {"nickname": checked_nickname(one["nickname"]), "code": str(one["code"])} for key, one in found.items()}  # fmt: skip
        except FileNotFoundError:
            return {}
        except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
            raise InputError(
                f"The list of nicknames, '{self._path.name}', can't be read. Please ask whoever runs the workshop to move it "
                "away; then everybody can take their nickname again."
            ) from None


def _spelt(code: str) -> str:
    """A code as it was given out, however it was typed."""
    number = from_letters(code)
    return "" if not number else to_letters(number)


def _digest(code: str) -> str:
    return hashlib.sha256(re.sub(r"[\s\-]", "", code.upper()).encode()).hexdigest()
