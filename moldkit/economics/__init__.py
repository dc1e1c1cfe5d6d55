"""What a run costs: mold life, renewal, the cost curve."""
