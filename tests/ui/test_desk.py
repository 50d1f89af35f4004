"""The desk: the sample in a new store, faults in place, two people at once, undo."""

from __future__ import annotations

from optimiser.document_edits import with_cell
from optimiser.store import Store


def changes_a_cell(line, value, in_callback):
    import streamlit as st

    from optimiser.document_edits import with_cell
    from optimiser.ui.desk import desk, save, undo_bar

    now = desk()
    here = now if in_callback else st.session_state.setdefault("begun", now)  # an edit takes time

    def change():
        document = with_cell(here.document, "stock.csv", line, "qty", value)
        if save(document, "Counted", here) and not in_callback:
            st.rerun()

    undo_bar(now)
    if in_callback:
        st.button("Count", on_click=change)
    elif st.button("Count"):
        change()
    st.write(f"revision {now.revision}")


def opened(line=2, value="5", in_callback=False):
    from streamlit.testing.v1 import AppTest

    return AppTest.from_function(changes_a_cell, args=(line, value, in_callback)).run(timeout=30)


def click(test, label):
    next(one for one in test.button if one.label.startswith(label)).click().run()
    assert not test.exception
    return test


def texts(test):
    return " ".join(
        one.value for kind in (test.error, test.warning, test.markdown) for one in kind
    ).replace("\\", "")


def meanwhile(place, line, value):
    with Store.open(place) as store:
        held = store.held()
        document = with_cell(store.document(held.revision), "stock.csv", line, "qty", value)
        store.save(document, "Ben", "Ben counted", held.revision)


def quantities(place):
    with Store.open(place) as store:
        return [row[1] for row in store.document(store.head().id).tables["stock.csv"][1:]]


def test_a_new_store_is_made_with_the_sample_cafe(tmp_path, monkeypatch):
    monkeypatch.setenv("CABINET_STORE", str(tmp_path / "new.db"))
    test = opened()
    assert not test.exception and "revision 1" in texts(test)
    with Store.open(tmp_path / "new.db") as store:
        assert store.read().cafe.name == "The Pellan Larder"


def test_a_store_that_cannot_be_used_says_so(tmp_path, monkeypatch):
    (tmp_path / "no.db").write_bytes(b"SQLite format 3\x00 but not really")
    monkeypatch.setenv("CABINET_STORE", str(tmp_path / "no.db"))
    test = opened()
    assert not test.exception and "The store cannot be used" in texts(test)


def test_all_faults_are_shown_with_row_and_column_and_nothing_is_saved(page_store):
    for in_callback in (False, True):
        test = click(opened(2, "many", in_callback), "Count")
        assert "Nothing was saved" in texts(test)
        assert "stock.csv:2:qty: many" in texts(test)
    with Store.open(page_store) as store:
        assert len(store.history()) == 1


def test_a_save_that_came_too_late_is_kept_and_goes_on_top(page_store):
    for in_callback in (False, True):
        test = opened(2, "5" if in_callback else "6", in_callback)
        meanwhile(page_store, 4, "9" if in_callback else "8")
        click(test, "Count")
        assert "Ben counted" in texts(test) and "qty of quinoa, whole" in texts(test)
        assert quantities(page_store)[0] != ("5" if in_callback else "6")
        click(test, "Save mine on top")
        assert "Not saved yet" not in texts(test)
        saved = ["5", "9"] if in_callback else ["6", "8"]
        assert [quantities(page_store)[n] for n in (0, 2)] == saved


def test_what_both_changed_stays_theirs_or_mine_is_dropped(page_store):
    test = opened()
    meanwhile(page_store, 2, "7")
    click(test, "Count")
    assert "You both changed" in texts(test)
    assert not any(one.label.startswith("Save mine") for one in test.button)
    assert not any(one.label.startswith("Keep theirs") for one in test.button)  # nothing is left
    click(test, "Drop mine")
    assert "Not saved yet" not in texts(test) and quantities(page_store)[0] == "7"


def test_undo_says_what_it_takes_back_and_will_not_take_back_what_was_not_seen(page_store):
    test = click(opened(in_callback=True), "Count")
    assert [one.label for one in test.button][:2] == ["↶ Undo: Counted", "↷ Redo"]
    click(test, "↶ Undo")
    assert quantities(page_store)[0] == "3"
    click(test, "↷ Redo: Counted")
    assert quantities(page_store)[0] == "5"
    meanwhile(page_store, 4, "9")
    click(test, "↶ Undo")
    assert "somebody was faster" in texts(test) and quantities(page_store)[2] == "9"
