"""The techniques: one file each, paired with its row in data/techniques.csv."""
