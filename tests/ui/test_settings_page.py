"""Settings: opens, edits, faults in place, two people at once, history, files."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser import formats
from optimiser.document import read_document
from optimiser.document_edits import with_settings
from optimiser.exchange import folder_zip, store_backup
from optimiser.store import Store
from optimiser.tables import Reading
from optimiser.ui import settings_files
from optimiser.ui.settings_page import EDITED, OTHER

Open = Callable[[str], AppTest]


@pytest.fixture(autouse=True)
def _plain_formats() -> Iterator[None]:
    yield
    formats.use_locale(None)


def part(test: AppTest, name: str) -> AppTest:
    found = test.pills[0].set_value(name).run()
    assert not found.exception
    return found


def field(test: AppTest, label: str) -> Any:
    return next(one for one in test.text_input if one.label == label)


def button(test: AppTest, label: str) -> Any:
    return next(one for one in test.button if one.label.startswith(label))


def labels(test: AppTest) -> list[str]:
    return [one.label for one in test.button]


def now(store: Path) -> Reading:
    with Store.open(store) as opened:
        return opened.read()


def messages(store: Path) -> list[str]:
    with Store.open(store) as opened:
        return [one.message for one in opened.history()]


@pytest.mark.parametrize("name", [*EDITED, *OTHER])
def test_every_part_opens_and_changes_nothing_by_itself(
    name: str, page_store: Path, open_page: Open
):
    test = part(open_page("settings"), name)
    assert not test.error and "Save" not in labels(test)
    assert messages(page_store) == ["The bench"]


def test_a_name_is_changed_and_the_rest_of_the_file_is_as_it_was(page_store: Path, open_page: Open):
    test = open_page("settings")
    test = field(test, "Name").set_value("Bench & <b>Sons</b>").run()
    assert any("is now" in one.value for one in test.markdown)
    button(test, "Save").click().run()
    assert now(page_store).cafe.name == "Bench & <b>Sons</b>"
    assert messages(page_store)[-1] == "Settings: Café"
    with Store.open(page_store) as store:
        changed = store.difference(1, 2)
    assert [one.what for one in changed] == ["name"]


def test_open_days_and_money(page_store: Path, open_page: Open):
    test = open_page("settings")
    test = test.pills[1].set_value(["mon", "tue", "wed"]).run()
    assert "Save" in labels(test)
    test = button(test, "Drop").click().run()
    assert "Save" not in labels(test)
    test = part(test, "Money")
    test = field(test, "Disposal of binned food, cents per kg").set_value("35").run()
    button(test, "Save").click().run()
    assert now(page_store).cafe.money.disposal_cents_per_kg == 35


def test_a_bad_value_is_told_in_place_and_nothing_is_saved(page_store: Path, open_page: Open):
    test = part(open_page("settings"), "Money")
    test = field(test, "Left dry goods and tins are worth, %").set_value("a lot").run()
    test = button(test, "Save").click().run()
    words = " ".join(one.value for one in test.error).replace("\\", "")
    assert "cafe.toml: money.left_dry_pct: a lot: " in words
    assert messages(page_store) == ["The bench"]
    assert field(test, "Left dry goods and tins are worth, %").value == "a lot"


def test_courses_are_edited_in_their_table(page_store: Path, open_page: Open):
    test = part(open_page("settings"), "Courses")
    key = "Courses_1"
    test.session_state[key] = {"edited_rows": {0: {"price": "7.25"}}, "added_rows": [],
                               "deleted_rows": []}  # fmt: skip
    test = test.run()
    button(test, "Save").click().run()
    assert now(page_store).cafe.courses["salad"].price_cents == 725


def test_a_wrong_supplier_names_row_and_column(page_store: Path, open_page: Open):
    test = part(open_page("settings"), "Suppliers")
    test.session_state["Suppliers_1"] = {
        "edited_rows": {0: {"delivers": "someday"}}, "added_rows": [], "deleted_rows": []
    }  # fmt: skip
    test = test.run()
    test = button(test, "Save").click().run()
    words = " ".join(one.value for one in test.error).replace("\\", "")
    assert "suppliers.csv:2:delivers: someday" in words
    assert messages(page_store) == ["The bench"]


def test_a_language_is_chosen_and_shown_before_it_is_saved(page_store: Path, open_page: Open):
    test = part(open_page("settings"), "Measures and formats")
    assert any("Mon 2026-11-30" in one.value for one in test.caption)
    test = test.selectbox[0].set_value("de_AT").run()
    assert any("Mo., 30. Nov. 2026" in one.value for one in test.caption)
    button(test, "Save").click().run()
    assert now(page_store).cafe.locale == "de_AT"


def test_who_comes_too_late_loses_nothing(page_store: Path, open_page: Open):
    test = field(open_page("settings"), "Name").set_value("Mine").run()
    with Store.open(page_store) as store:
        document = with_settings(store.document(1), {"cup_ml": 240})
        store.save(document, "Ben", "Smaller cups", 1)
    test = button(test, "Save").click().run()
    assert any("not lost" in one.value for one in test.warning)
    assert any("Smaller cups" in one.value for one in test.markdown)
    button(test, "Save mine on top").click().run()
    cafe = now(page_store).cafe
    assert (cafe.name, cafe.cup_ml) == ("Mine", 240)


def test_history_tells_what_changed_and_goes_back(page_store: Path, open_page: Open):
    with Store.open(page_store) as store:
        store.save(with_settings(store.document(1), {"cup_ml": 240}), "Ben", "Smaller cups", 1)
    test = part(open_page("settings"), "History")
    assert any("cup_ml" in one.value.replace("\\", "") for one in test.markdown)
    assert any(label.endswith("Smaller cups") for label in labels(test))
    first = test.selectbox[0].options[-1]
    test = test.selectbox[0].select(first).run()
    button(test, "Take the tables of revision 1").click().run()
    assert now(page_store).cafe.cup_ml == 250 and messages(page_store)[-1] == "Back to revision 1"


@pytest.fixture
def upload(monkeypatch: pytest.MonkeyPatch) -> Callable[[str, bytes], None]:
    """`upload("a.zip", content)`: as if that file lay in the field that takes its kind."""

    def given(name: str, content: bytes) -> None:
        def uploader(label: str, type: list[str], **_: Any) -> Any:
            fits = name.rpartition(".")[2] in type
            return SimpleNamespace(name=name, getvalue=lambda: content) if fits else None

        monkeypatch.setattr(settings_files.st, "file_uploader", uploader)

    return given


def test_tables_that_come_in_are_looked_at_then_saved(
    page_store: Path, open_page: Open, upload: Callable[[str, bytes], None]
):
    with Store.open(page_store) as store:
        document = with_settings(store.document(1), {"tbsp_ml": 15})
    upload("new.zip", folder_zip(document))
    test = part(open_page("settings"), "Backup and files")
    assert any("tbsp_ml" in one.value.replace("\\", "") for one in test.markdown)
    assert messages(page_store) == ["The bench"]
    button(test, "Take 1 change").click().run()
    assert now(page_store).cafe.tbsp_ml == 15
    assert messages(page_store)[-1] == "Taken from new.zip"


def test_a_backup_is_restored(
    page_store: Path, open_page: Open, upload: Callable[[str, bytes], None]
):
    with Store.open(page_store) as store:
        backup = store_backup(store)
        store.save(with_settings(store.document(1), {"cup_ml": 240}), "Ben", "Smaller", 1)
    upload("old.db", backup)
    test = part(open_page("settings"), "Backup and files")
    button(test, "Take 1 change").click().run()
    assert now(page_store).cafe.cup_ml == 250
    assert messages(page_store)[-1].startswith("Restored from old.db, revision 1")


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("bad.zip", b"nothing", "cannot be unpacked"),
        ("bad.xlsx", b"nothing", "not a workbook"),
        ("bad.db", b"nothing", "is not a store"),
    ],
)
def test_a_file_that_cannot_be_taken_is_explained(
    name: str, content: bytes, words: str, page_store: Path, open_page: Open,
    upload: Callable[[str, bytes], None],
):  # fmt: skip
    upload(name, content)
    test = part(open_page("settings"), "Backup and files")
    assert any(words in one.value.replace("\\", "") for one in test.error)
    assert not any(label.startswith("Take 1") for label in labels(test))


def test_a_broken_table_names_row_and_column(
    page_store: Path, open_page: Open, upload: Callable[[str, bytes], None]
):
    with Store.open(page_store) as store:
        document = store.document(1)
    broken = type(document)(
        document.settings,
        {**document.tables, "stock.csv": (("item", "qty", "unit", "use_by", "state"),
                                          ("squash", "x", "g", "", "whole"))},
    )  # fmt: skip
    upload("tables.zip", folder_zip(broken))
    test = part(open_page("settings"), "Backup and files")
    words = " ".join(one.value for one in test.error).replace("\\", "")
    assert "stock.csv:2:qty: x" in words
    assert read_document(document).cafe == now(page_store).cafe
