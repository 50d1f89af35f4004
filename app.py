"""Navigation between the pages: `streamlit run app.py`."""

from __future__ import annotations

import streamlit as st

from optimiser.ui import (
    dishes_page,
    larder_page,
    prices_page,
    rules_page,
    settings_page,
    sheets_page,
    ways,
    week_page,
    why_page,
)
from optimiser.ui.door import require_door
from optimiser.ui.look import style

PAGES = [
    st.Page(week_page.page, title="The week", default=True),
    st.Page(rules_page.page, title="Rules", url_path="rules"),
    st.Page(larder_page.page, title="Larder", url_path="larder"),
    st.Page(prices_page.page, title="Prices", url_path="prices"),
    st.Page(dishes_page.page, title="Dishes", url_path="dishes"),
    st.Page(why_page.page, title="Why", url_path="why"),
    st.Page(sheets_page.page, title="Sheets", url_path="sheets"),
    st.Page(settings_page.page, title="Settings", url_path="settings"),
]

WEEK_BY_NAME = st.Page(week_page.page, title="The week", url_path="week", visibility="hidden")
"""The page that opens first has no path of its own: /week leads there as well."""

st.set_page_config(page_title="Cabinet week", page_icon="🥗", layout="wide")
style()
# Before the door, which then opens on this page.
here = st.navigation([*PAGES, WEEK_BY_NAME], position="top")
require_door()
ways.remember(PAGES)
here.run()
