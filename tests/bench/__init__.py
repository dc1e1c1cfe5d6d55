"""Speeds, measured as ratios in one run, so that a slow or busy machine changes both sides alike."""
