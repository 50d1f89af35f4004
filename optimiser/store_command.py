"""`store FILE ...`: tables into a store and out of it, its history, undo, backups."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from optimiser.document import Document, folder_document
from optimiser.folder_out import write_file, write_folder
from optimiser.places import somebody
from optimiser.store_faults import StoreFault, change_lines

BOOK_SUFFIX = ".xlsx"
DONE = 0


def add_store_verb(store: argparse.ArgumentParser) -> None:
    """The arguments of `store`."""
    store.add_argument("store", metavar="FILE", help="the store: a file, or a database's URL")
    verbs = store.add_subparsers(
        dest="deed", required=True, metavar="take|give|history|undo|redo|backup|restore"
    )

    def verb(
        name: str, text: str, deed: Callable[[argparse.Namespace], int]
    ) -> Callable[..., object]:
        parser = verbs.add_parser(name, allow_abbrev=False, help=text, description=text)
        parser.set_defaults(do=deed)
        return parser.add_argument

    add = verb("take", "keep the tables of a folder or workbook as a new revision", _take)
    add("tables", metavar="FOLDER_OR_XLSX")
    add("--message", default="", metavar="TEXT", help="what was changed, or why")
    add("--parent", type=int, metavar="N", help="the revision these tables were made from: "
        "refused if there are newer ones")  # fmt: skip
    _add_who(add)
    add = verb("give", "write the tables to a new folder or workbook", _give)
    add("tables", metavar="FOLDER_OR_XLSX")
    add("--revision", type=int, metavar="N", help="an older revision (the present one)")
    add("--replace", action="store_true", help="put them in the place of older tables")
    verb("history", "list all revisions, newest first", _history)
    _add_who(verb("undo", "go back to the revision before", _undo))
    _add_who(verb("redo", "take the last undo back", _redo))
    add = verb("backup", "write the whole store to a new file", _backup)
    add("path", metavar="PATH")
    add = verb("restore", "take the tables of a backup as a new revision", _restore)
    add("path", metavar="PATH")
    _add_who(add)


def _add_who(add: Callable[..., object]) -> None:
    add("--who", metavar="NAME", help="whom the history names (your login)")


def store_command(args: argparse.Namespace) -> int:
    """Do what was asked; the exit code. Raises TableFaults, StoreFault, OutFault."""
    do: Callable[[argparse.Namespace], int] = args.do
    return do(args)


def _who(args: argparse.Namespace) -> str:
    return somebody() if args.who is None else str(args.who)


def _take(args: argparse.Namespace) -> int:
    from optimiser.store import Store

    document = _read(Path(args.tables))
    with Store.open(args.store, create=True) as store:
        head = store.head()
        parent = args.parent if args.parent is not None or head is None else head.id
        if head is not None and parent == head.id and store.document(head.id) == document:
            _say(f"These are the tables of revision {head.id}; nothing to save.")
            return DONE
        saved = store.save(document, _who(args), args.message, parent)
        _say(f"Saved as {saved}")
        if parent is not None:
            _say(*change_lines(store.difference(parent, saved.id)))
    return DONE


def _read(path: Path) -> Document:
    """The tables of a folder or workbook. Raises TableFaults."""
    if path.suffix.lower() == BOOK_SUFFIX and not path.is_dir():
        from optimiser.book import read_book

        return read_book(path)
    return folder_document(path)


def _give(args: argparse.Namespace) -> int:
    from optimiser.store import Store

    with Store.open(args.store) as store:
        head = store.head()
        number = args.revision if args.revision is not None or head is None else head.id
        if number is None:
            raise StoreFault(f"{store.name} holds no tables yet; `store FILE take FOLDER`")
        document = store.document(number)
    path = Path(args.tables)
    if path.suffix.lower() == BOOK_SUFFIX:
        from optimiser.book import write_book

        write_file(write_book(document), path, args.replace)
    else:
        write_folder(document, path, args.replace)
    _say(
        f"Wrote revision {number} to {args.tables}. After changing it: "
        f"`store FILE take {args.tables} --parent {number}`."
    )
    return DONE


def _history(args: argparse.Namespace) -> int:
    from optimiser.store import Store

    with Store.open(args.store) as store:
        head, revisions = store.head(), store.history()
    before = [None, *(revision.id for revision in revisions)]
    for revision, previous in reversed(list(zip(revisions, before, strict=False))):
        sign = "*" if head is not None and revision.id == head.id else " "
        branches = revision.parent not in (previous, None)
        _say(f"{sign} {revision}" + (f" (made from {revision.parent})" if branches else ""))
    if not revisions:
        _say("There is no revision yet.")
    return DONE


def _undo(args: argparse.Namespace) -> int:
    from optimiser.store import Store

    with Store.open(args.store) as store:
        _say(f"Back at {store.undo(_who(args))}")
    return DONE


def _redo(args: argparse.Namespace) -> int:
    from optimiser.store import Store

    with Store.open(args.store) as store:
        _say(f"Forward to {store.redo(_who(args))}")
    return DONE


def _backup(args: argparse.Namespace) -> int:
    from optimiser.store import Store

    with Store.open(args.store) as store:
        store.backup(Path(args.path))
        count = len(store.history())
    _say(f"Wrote {count} {'revision' if count == 1 else 'revisions'} to {args.path}.")
    return DONE


def _restore(args: argparse.Namespace) -> int:
    from optimiser.store import Store, head_of_backup

    head_of_backup(Path(args.path))  # if it is none, no new store is left behind
    with Store.open(args.store, create=True) as store:
        _say(f"Saved as {store.restore(Path(args.path), _who(args))}")
    return DONE


def _say(*lines: str) -> None:
    for line in lines:
        print(line, flush=True)
