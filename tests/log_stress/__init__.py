"""Many writers of one mold log, killed at any moment: no row is lost, none torn."""
