"""The README's picture of the workshop, taken in chromium: `python docs/screenshot.py`. The counts in it stand in its description too."""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "browser"))
from PIL import Image, PngImagePlugin

from orchid_year.files import write_whole
from orchid_year.lessons.lesson import load_lesson
from orchid_year.lessons.result import Request, picture

LESSON, ROUND = "05", 0


def expected() -> str:
    """What the picture shows in words, worked out by the model now."""
    turn = load_lesson(LESSON).rounds[ROUND]
    return picture(turn.pictures[0], Request(LESSON, ROUND, tuple(sorted(turn.start().items())))).alt


def take() -> bytes:
    """Open the lesson as a page, predict, run, and photograph it from the controls downwards."""
    from playwright.sync_api import sync_playwright

    import conftest

    folder = Path(tempfile.mkdtemp())
    with conftest.server(folder, page=True) as served, sync_playwright() as play:
        tab = play.chromium.launch(executable_path=conftest.browser_path(), args=conftest.FLAGS).new_page(
            viewport={"width": 1060, "height": 3000}
        )
        conftest.enter(tab, served.address, served.token, "05_repotting_and_roots.ipynb", "Pat")
        tab.wait_for_selector(".oy h1", timeout=60_000)
        tab.locator(".oy .widget-radio input").nth(1).check()
        tab.get_by_label("because").fill("winter is a time of rest")
        tab.get_by_role("button", name="Keep my prediction").click()
        tab.get_by_role("button", name="Run the year").click()
        tab.wait_for_selector(".oy-frame img", timeout=60_000)
        tab.wait_for_timeout(1000)
        top = tab.locator(".oy h2", has_text=load_lesson(LESSON).rounds[ROUND].title).bounding_box()["y"]
        end = tab.locator(".oy h2", has_text="Why?").last.bounding_box()["y"]
        tab.evaluate("window.scrollTo(0, 0)")
        return tab.screenshot(clip={"x": 0, "y": top - 10, "width": 1060, "height": end - top})


def main() -> None:
    """Take the picture and put its words into the file."""
    about = PngImagePlugin.PngInfo()
    about.add_itxt("Description", expected())
    buffer = io.BytesIO()
    with Image.open(io.BytesIO(take())) as shot:
        shot.convert("P", palette=Image.Palette.ADAPTIVE, colors=128).save(buffer, "PNG", optimize=True, pnginfo=about)
    write_whole(Path(__file__).parent / "workshop.png", buffer.getvalue())


if __name__ == "__main__":
    main()
