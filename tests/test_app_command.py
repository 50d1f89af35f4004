"""The verb `app`: serves the page, makes a store beside a folder, asks for a lock."""

from __future__ import annotations

import argparse
import os
import signal
import socket
import subprocess
import sys
import time
import tomllib
import urllib.request
from pathlib import Path

import pytest

from optimiser import app_command, cli
from optimiser.store import Store
from tests.cafe_folder import FILES, write_folder

ROOT = Path(__file__).parent.parent
START_SECONDS = 60


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def get(url: str) -> str:
    with urllib.request.urlopen(url, timeout=5) as answer:
        return str(answer.read().decode())


def started(*args: str, env: dict[str, str]) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "optimiser", "app", "--no-browser", *args],
        cwd=ROOT,
        env={**os.environ, **env},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_it_starts_answers_and_ends(tmp_path: Path):
    port = free_port()
    store = tmp_path / "own.db"
    home = {"CABINET_STORE": str(store), "HOME": str(tmp_path)}
    with started("--port", str(port), env=home) as process:
        try:
            end = time.monotonic() + START_SECONDS
            answer = ""
            while answer != "ok" and time.monotonic() < end and process.poll() is None:
                try:
                    answer = get(f"http://localhost:{port}/_stcore/health")
                except OSError:
                    time.sleep(0.2)
            assert answer == "ok", process.communicate(timeout=5)
            assert "<title>" in get(f"http://localhost:{port}/")
        finally:
            process.send_signal(signal.SIGINT)
            said, errors = process.communicate(timeout=20)
    assert process.returncode == 0, errors
    assert f"http://localhost:{port}" in said and str(store) in said
    assert "Traceback" not in errors
    with pytest.raises(OSError):
        get(f"http://localhost:{port}/_stcore/health")


@pytest.mark.parametrize("address", ["0.0.0.0", "192.0.2.7", "::", "cafe.example"])
def test_another_address_needs_a_lock(
    address: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
):
    monkeypatch.delenv("CABINET_PASSWORD", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    assert cli.main(["app", "--address", address]) == 2
    said = capsys.readouterr().err
    assert "CABINET_PASSWORD" in said and "OpenID Connect" in said
    monkeypatch.setenv("CABINET_PASSWORD", "short")
    assert cli.main(["app", "--address", address]) == 2
    assert "at least 10" in capsys.readouterr().err


def test_a_folder_becomes_a_store_beside_it_and_is_never_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    folder = write_folder(tmp_path / "bench")
    beside = tmp_path / "bench.db"
    assert app_command._store_of(str(folder)) == str(beside)
    assert f"Made the store {beside}" in capsys.readouterr().out
    with Store.open(beside) as store:
        assert [one.message for one in store.history()] == ["The tables of bench"]
        assert store.read().cafe.name == "The Test Bench"
    assert app_command._store_of(str(folder)) == str(beside)
    assert capsys.readouterr().err == ""
    settings = folder / "cafe.toml"
    settings.write_text(FILES["cafe"].replace("Test Bench", "New Bench"), encoding="utf-8")
    assert app_command._store_of(str(folder)) == str(beside)
    said = capsys.readouterr()
    assert "holds other tables" in said.err and "Opening the store" in said.out
    with Store.open(beside) as store:
        assert len(store.history()) == 1


def test_a_faulty_folder_and_a_file_that_is_no_store_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    folder = write_folder(
        tmp_path / "bench", stock="item,qty,unit,use_by,state\nsquash,x,g,,whole\n"
    )
    assert cli.main(["app", str(folder)]) == 2
    assert "stock.csv:2:qty: x" in capsys.readouterr().err
    assert not (tmp_path / "bench.db").exists()
    other = tmp_path / "other.db"
    other.write_text("no database", encoding="utf-8")
    assert cli.main(["app", str(other)]) == 2
    assert "is not a store" in capsys.readouterr().err


def test_flags_keep_the_page_to_this_machine_or_behind_the_lock():
    here = argparse.Namespace(address="127.0.0.1", no_browser=True)
    flags = app_command._flags(here, 8501)
    assert "--server.address=127.0.0.1" in flags
    assert not any("allowedHosts" in flag for flag in flags)
    there = argparse.Namespace(address="0.0.0.0", no_browser=False)
    flags = app_command._flags(there, 8501)
    assert "--server.allowedHosts=*" in flags


def test_the_hash_is_printed_and_the_password_is_not(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setattr("getpass.getpass", lambda _: "flour on my hands")
    assert cli.main(["app", "--make-hash"]) == 0
    said = capsys.readouterr().out
    kept = tomllib.loads(said.partition("\n\n")[2])["door"]["password_hash"]
    assert "flour" not in said
    from optimiser.lock import fits_hash

    assert fits_hash("flour on my hands", kept)


def test_settings_of_the_server_keep_to_this_machine():
    config = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text(encoding="utf-8"))
    assert config["server"]["address"] == "127.0.0.1"
    assert set(config["server"]["allowedHosts"]) == {"localhost", "127.0.0.1", "[::1]"}
    assert config["browser"] == {"gatherUsageStats": False, "serverAddress": "localhost"}
    assert config["server"]["showEmailPrompt"] is False


def test_a_wheel_carries_the_page_and_its_settings():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    carried = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    inside = Path(app_command.__file__).parent / "page"
    assert carried["app.py"] == f"optimiser/{(inside / 'app.py').relative_to(inside.parent)}"
    assert carried[".streamlit/config.toml"] == "optimiser/page/.streamlit/config.toml"
    assert app_command.page_script() == ROOT / "app.py"


def test_a_port_that_is_taken_is_told(tmp_path: Path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        env = {"CABINET_STORE": str(tmp_path / "own.db"), "HOME": str(tmp_path)}
        with started("--port", str(port), env=env) as process:
            said, errors = process.communicate(timeout=START_SECONDS)
    assert process.returncode == 2 and "Traceback" not in errors
    assert f"port {port}" in errors and "The page:" not in said
