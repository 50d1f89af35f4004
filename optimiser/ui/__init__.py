"""Pages: thin, over reports, store, changes, verify and planner."""
