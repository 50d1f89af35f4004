"""Text of the cafe's own where Streamlit reads Markdown."""

from __future__ import annotations

import re

_MARKS = re.compile(r"([\\`*_{}\[\]()#+.!|<>~$:&-])")


def plain_markdown(text: str) -> str:
    """`text` with everything marked that Markdown would take for its own, on one line."""
    return _MARKS.sub(r"\\\1", " ".join(text.split()))
