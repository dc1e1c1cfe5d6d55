"""The casting methods: one file each, paired with its row in data/casting_methods.csv."""
