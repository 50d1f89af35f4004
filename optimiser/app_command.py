"""`app`: the page on this computer, or elsewhere behind a lock."""

from __future__ import annotations

import argparse
import getpass
import os
import socket
import sys
from contextlib import closing
from pathlib import Path

from optimiser.document import folder_document
from optimiser.lock import NO_LOCK, LockFault, is_this_machine, make_hash, read_lock, read_secrets
from optimiser.places import PLACE_VARIABLE, STORE_SUFFIX, is_store, is_url, page_store, somebody
from optimiser.store_faults import StoreFault

DONE, BAD_INPUT = 0, 2
HOME = "127.0.0.1"
FIRST_PORT, PORTS_TRIED = 8501, 50
WIDEST_PORT = 65_535


def add_app_verb(app: argparse.ArgumentParser) -> None:
    """The arguments of `app`."""
    add = app.add_argument
    add("place", metavar="FOLDER_OR_STORE", nargs="?",
        help="the store to open (one of your own, made with the sample cafe); of a folder of "
        "tables a store is made beside it")  # fmt: skip
    add(
        "--port",
        metavar="N",
        type=_port,
        help=f"where to listen (the first free from {FIRST_PORT})",
    )
    add("--address", metavar="A", default=HOME,
        help="the address to listen on (this computer only); another one needs a password or "
        "OpenID Connect")  # fmt: skip
    add("--no-browser", action="store_true", help="do not open a browser")
    add("--make-hash", action="store_true",
        help="ask for a password and print what secrets.toml keeps of it")  # fmt: skip


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= WIDEST_PORT:
        raise argparse.ArgumentTypeError(f"{text!r}: write a number from 1 to {WIDEST_PORT}")
    return int(text)


def app_command(args: argparse.Namespace) -> int:
    """Serve the page until it is ended; the exit code. Raises TableFaults, StoreFault."""
    try:
        if args.make_hash:
            return _print_hash()
        script = page_script()
        folders = (Path.home(), Path.cwd(), script.parent)
        lock = read_lock(os.environ, read_secrets(folders))
        if not lock.is_set and not is_this_machine(args.address):
            raise LockFault(NO_LOCK)
        port = _free_port(args.address, args.port)
    except LockFault as fault:
        print(fault, file=sys.stderr)
        return BAD_INPUT
    store = _store_of(args.place)
    os.environ[PLACE_VARIABLE] = store
    shown = "localhost" if args.address == HOME else args.address
    print(f"The page: http://{shown}:{port}  (Ctrl-C ends it)", flush=True)
    from optimiser.ui.serve import serve  # loads the server: not for a faulty folder

    return serve(script, _flags(args, port))


def page_script() -> Path:
    """app.py: inside an installed package, beside the package in a checkout."""
    package = Path(__file__).parent
    inside = package / "page" / "app.py"
    return inside if inside.is_file() else package.parent / "app.py"


def _print_hash() -> int:
    first = getpass.getpass("Password: ")
    if getpass.getpass("Again: ") != first:
        raise LockFault("The two are not the same; try again.")
    print(f'Into .streamlit/secrets.toml:\n\n[door]\npassword_hash = "{make_hash(first)}"')
    return DONE


def _free_port(address: str, asked: int | None) -> int:
    """The port asked for, else the first that nobody listens on. Raises StoreFault."""
    ports = [asked] if asked else range(FIRST_PORT, FIRST_PORT + PORTS_TRIED)
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    reason: str | None = ""
    for port in ports:
        with closing(socket.socket(family)) as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                trial.bind((address, port))
                return port
            except socket.gaierror as error:
                raise StoreFault(f"--address {address}: no address of this computer") from error
            except OSError as error:
                reason = error.strerror
    raise StoreFault(f"{address}, port {ports[0]}: {reason}; give another --address or --port")


def _store_of(place: str | None) -> str:
    """The store to open, made if need be. Raises TableFaults, StoreFault."""
    if place is None:
        chosen = page_store()
        _say_where(chosen)
        return chosen
    if is_store(place):
        from optimiser.store import Store

        Store.open(place, create=True).close()
        return place if is_url(place) else os.path.abspath(place)
    return _store_beside(Path(place))


def _store_beside(folder: Path) -> str:
    """The store made of a folder of tables, in the folder that it lies in; one that is
    there already is opened as it is."""
    from optimiser.store import Store

    document = folder_document(folder)
    folder = folder.resolve()
    beside = folder.with_name(folder.name + STORE_SUFFIX)
    there = beside.exists()
    with Store.open(beside, create=True) as store:
        head = store.head()
        if head is None:
            store.save(document, somebody(), f"The tables of {folder.name}", None)
        elif store.document(head.id) != document:
            print(
                f"{beside.name} is there already and holds other tables; it is opened as it is. "
                f"To take those of the folder: `store {beside.name} take {folder.name}`.",
                file=sys.stderr,
            )
    print(f"{'Opening' if there else 'Made'} the store {beside}", flush=True)
    return str(beside)


def _say_where(store: str) -> None:
    print("The store: " + ("the database set for it" if is_url(store) else store), flush=True)


def _flags(args: argparse.Namespace, port: int) -> list[str]:
    """Settings of the server beside those in its config.toml."""
    flags = {
        "server.address": args.address,
        "server.port": str(port),
        "server.headless": str(args.no_browser).lower(),
        "server.fileWatcherType": "none",
        "server.showEmailPrompt": "false",
        "logger.hideWelcomeMessage": "true",
        "browser.gatherUsageStats": "false",
    }
    if not is_this_machine(args.address):
        flags["server.allowedHosts"] = "*"  # whoever comes needs the key
    return [f"--{name}={value}" for name, value in flags.items()]
