"""Takes the README's picture of the week page: the sample cafe, planned for a while.

python -m tests.browser.picture [--seconds 30] [--to tests/data/week_page.png]
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from tests.browser.kept import SAMPLE, keep_planned
from tests.browser.screen import CHROMIUMS, FLAGS, Screen
from tests.browser.server import ROOT, serving

PICTURE = ROOT / "tests" / "data" / "week_page.png"
SIZE = {"width": 1280, "height": 1000}
COLOURS = 256


def main() -> None:
    parser = argparse.ArgumentParser(prog="picture", allow_abbrev=False)
    parser.add_argument("--seconds", type=float, default=30.0, help="to plan for (30)")
    parser.add_argument("--to", type=Path, default=PICTURE)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        taken = _take(Path(folder), args.seconds)
        smaller(taken, args.to)
    print(f"{args.to}: {args.to.stat().st_size} bytes")


def _take(folder: Path, seconds: float) -> Path:
    """The week page as it stands when opened."""
    keep_planned(folder / "cafe.db", SAMPLE, seconds)
    chromium = next(filter(None, map(shutil.which, CHROMIUMS)))
    with serving(folder) as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
        screen = Screen(browser.new_page(viewport=SIZE), server, folder, "picture")
        screen.open()
        screen.page.screenshot(path=folder / "week.png")
        screen.check()
        browser.close()
    return folder / "week.png"


def smaller(taken: Path, to: Path) -> None:
    """The same picture in few colours, which nobody sees and which saves most of its size."""
    with Image.open(taken) as whole:
        few = whole.convert("RGB").quantize(
            COLOURS, Image.Quantize.MAXCOVERAGE, kmeans=2, dither=Image.Dither.NONE
        )
        few.save(to, optimize=True)


if __name__ == "__main__":
    main()
