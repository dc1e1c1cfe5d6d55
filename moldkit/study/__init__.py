"""Studies: one case compared across techniques, sizes and runs."""
