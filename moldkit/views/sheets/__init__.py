"""The bench sheets: pure functions from a comparison and a technique to documents."""
