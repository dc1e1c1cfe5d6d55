"""What a pattern is and measures: its mesh, its simple forms, its distance curve, its outline."""
