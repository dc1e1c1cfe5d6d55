"""Exercises for apprentices: drawn from a seed, answered by the kit, wrong answers told by the kind of mistake."""
