"""What the casting demands of the mold: one rule a function, paired with its row in data/rules.csv."""
