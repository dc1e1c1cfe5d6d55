"""Tests of the exercises: what every seed must hold, one question at a time."""
