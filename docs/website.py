"""Build the documents as a site: `python docs/website.py FOLDER`. Warnings are errors, and every link is checked without a network.

The pages lie in the site as they lie in the repository, so that a link holds in both.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

ROOT = Path(__file__).resolve().parents[1]
CHAPTERS = {
    "For leaders": ["docs/leaders_guide", "lesson_plans/*", "docs/cautions"],
    "For learners": ["docs/first_page", "docs/glossary", "docs/model_in_plain_words", "docs/limits", "docs/accessibility"],
    "The model": ["docs/model", "docs/validation", "docs/causes", "docs/quantities", "docs/coefficients", "docs/evidence", "docs/sources"],
    "For contributors": ["DEVELOPERS", "docs/adding"],
}  # fmt: skip


def stage(folder: Path) -> None:
    """Put the pages, the pictures and a contents list into a folder for Sphinx."""
    shutil.copytree(ROOT / "lesson_plans", folder / "lesson_plans")
    shutil.copytree(ROOT / "docs", folder / "docs", ignore=shutil.ignore_patterns("*.py", "*.toml", "__pycache__"))
    shutil.copy(ROOT / "DEVELOPERS.md", folder)
    shutil.copy(ROOT / "docs" / "conf.py", folder)
    (folder / "_static").mkdir()
    shutil.move(folder / "docs" / "site.css", folder / "_static" / "site.css")
    lists = []
    for caption, pages in CHAPTERS.items():
        glob = "\n:glob:" if any("*" in page for page in pages) else ""
        listed = "\n".join(pages)
        lists.append(f"```{{toctree}}\n:hidden:\n:titlesonly:\n:caption: {caption}{glob}\n\n{listed}\n```")
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (folder / "index.md").write_text("\n\n".join([text, *lists]), encoding="utf-8")


def build(folder: Path) -> list[str]:
    """Build the site into a folder; returns what is wrong, in sentences: nothing when all is well."""
    from sphinx.cmd.build import main

    with tempfile.TemporaryDirectory() as scratch:
        source = Path(scratch) / "source"
        source.mkdir()
        stage(source)
        with (Path(scratch) / "warnings.txt").open("w+", encoding="utf-8") as warnings:
            done = main(
                ["-q", "-W", "--keep-going", "-w", warnings.name, "-d", f"{scratch}/doctrees", str(source), str(folder)]
            )
            told = [line.replace(str(source), "") for line in warnings.read().splitlines() if line.strip()]
    shutil.rmtree(folder / ".doctrees", ignore_errors=True)
    return [*told, *([] if done == 0 or told else ["Sphinx failed without a word."]), *broken(folder)]


class _Page(HTMLParser):
    """The addresses that a page points to, what it loads, and the names in it that can be pointed to."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.names: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note addresses and names."""
        given = {name: value or "" for name, value in attrs}
        self.names |= {given[name] for name in ("id", "name") if name in given}
        if tag == "a" and "href" in given:
            self.links.append(given["href"])
        elif tag in ("link", "script", "img"):
            self.loads += [given[name] for name in ("href", "src") if name in given]


def broken(folder: Path) -> list[str]:
    """Links and pictures of a built site that lead nowhere, and anything that it would load from elsewhere."""
    pages = {path: _Page(path.read_text(encoding="utf-8")) for path in folder.rglob("*.html")}
    found = []
    for path, page in sorted(pages.items()):
        here = path.relative_to(folder).as_posix()
        for address in (*page.links, *page.loads):
            parts = urlsplit(address)
            if parts.scheme in ("http", "https") or address.startswith("//"):
                if address in page.loads:
                    found.append(f"{here} loads '{address}' from elsewhere.")
                continue
            if parts.scheme:
                continue
            target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            if not target.is_file():
                found.append(f"{here} points to '{address}', which is not there.")
            elif parts.fragment and target in pages and unquote(parts.fragment) not in pages[target].names:
                found.append(f"{here} points to '{address}', and there is no such heading.")
    return found


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Please name the folder to build into: python docs/website.py FOLDER")
    wrong = build(Path(sys.argv[1]).resolve())
    print("\n".join(wrong) or f"The site is in {sys.argv[1]}; every link leads somewhere.")
    sys.exit(bool(wrong))
