"""How the demo patterns are sculpted: one file a pattern, and the tools they share."""
