"""The page's server in this process, which asks nobody on the internet anything."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


def serve(script: Path, flags: Sequence[str]) -> int:
    """Serve the page until it is ended from outside; the exit code."""
    from streamlit import net_util
    from streamlit.web.cli import main

    # Else a browser that comes under an unknown name makes the server ask a host outside
    # for its own address.
    net_util.get_external_ip = lambda: None
    try:
        main(["run", str(script), *flags], prog_name="streamlit", standalone_mode=False)
    except SystemExit as end:
        return int(end.code or 0) if isinstance(end.code, int | None) else 1
    return 0
