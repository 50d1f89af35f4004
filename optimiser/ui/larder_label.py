"""Short words on a button, and the whole of what it does for those who hear the page."""

from __future__ import annotations

import re

_MARKDOWN = re.compile(r"([\\`*_{}\[\]()#+\-.!$:~<>|])")


def short_label(seen: str, heard: str) -> str:
    """A label of which `seen` shows and `heard` is read out too: larder.css hides what is not
    bold on the larder's buttons. Many buttons that say `Use this up` would all sound alike."""
    return f"**{_MARKDOWN.sub(_escaped, seen)}** {_MARKDOWN.sub(_escaped, heard)}"


def _escaped(found: re.Match[str]) -> str:
    return f"\\{found[1]}"
