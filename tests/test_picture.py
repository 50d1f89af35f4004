"""The README's picture of the week page. `python -m tests.browser.picture` takes it anew."""

from __future__ import annotations

import re
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
MOST_BYTES = 250_000


def test_the_readme_shows_one_picture_with_words_for_it_and_it_is_small() -> None:
    found = re.findall(r"!\[([^\]]+)\]\(([^)]+)\)", (ROOT / "README.md").read_text("utf-8"))
    assert [path for _, path in found] == ["tests/data/week_page.png"]
    assert len(found[0][0]) > 40
    picture = ROOT / found[0][1]
    assert picture.stat().st_size < MOST_BYTES
    with Image.open(picture) as shown:
        assert shown.width == 1280
