"""Damaged mesh files by the thousand: each is refused in one sentence or read right."""
