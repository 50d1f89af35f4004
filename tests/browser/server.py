"""A `streamlit run app.py` of its own for a test: free port, own store, own data folder."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
START_S = 60.0
STOP_S = 10.0


@dataclass(frozen=True)
class Server:
    """A running server; `log` is all that it printed."""

    url: str
    store: Path
    log: Path

    def logged(self) -> str:
        """What the server has printed so far."""
        return self.log.read_text(errors="replace")


@contextmanager
def serving(folder: Path, script: Path = ROOT / "app.py") -> Iterator[Server]:
    """Serve the page over the store `folder`/cafe.db, which need not be there; stop it after."""
    port = _free_port()
    server = Server(f"http://127.0.0.1:{port}", folder / "cafe.db", folder / "server.log")
    with server.log.open("w") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "streamlit", "run", str(script), *_settings(port)],
            cwd=ROOT,
            env=_environment(folder, server.store),
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
        )
    try:
        _wait_for(server, process)
        yield server
    finally:
        process.terminate()
        try:
            process.wait(STOP_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _settings(port: int) -> list[str]:
    return [
        f"--server.port={port}",
        "--server.address=127.0.0.1",
        "--server.headless=true",
        "--server.fileWatcherType=none",
        "--logger.enableRich=false",
        "--browser.gatherUsageStats=false",
    ]


def _environment(folder: Path, store: Path) -> dict[str, str]:
    """The test's own environment, except that nothing of the user's own is touched."""
    own = {name: value for name, value in os.environ.items() if not name.startswith("STREAMLIT_")}
    mine = {
        "CABINET_STORE": str(store),
        "XDG_DATA_HOME": str(folder / "data"),
        "PYTHONPATH": str(ROOT),
        "PYTHONUNBUFFERED": "1",
    }
    return own | mine


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _wait_for(server: Server, process: subprocess.Popen[bytes]) -> None:
    """Until the server answers; an AssertionError with its log if it does not."""
    end = time.monotonic() + START_S
    while time.monotonic() < end and process.poll() is None:
        try:
            with urllib.request.urlopen(f"{server.url}/_stcore/health", timeout=5) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.05)
    raise AssertionError(f"the page's server did not start:\n{server.logged()}")
