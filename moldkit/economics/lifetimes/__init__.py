"""Mold life learned from a shop's molds: curve, fits, bounds, the table's word weighed against the log's."""
