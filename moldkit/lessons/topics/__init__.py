"""One file a topic: NAME, PLACE among the lessons, and MAKERS, each of which makes one exercise from a draw."""
