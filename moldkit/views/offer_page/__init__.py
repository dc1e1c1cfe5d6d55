"""The page that is left with a client: one file that opens anywhere, with prices for every run and size in it."""
