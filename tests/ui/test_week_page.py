"""The week page."""


def test_it_opens(planned_store, open_page):
    assert not open_page("week").exception
