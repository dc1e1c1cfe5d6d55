"""From a fresh clone on a bare Python to a running command, with nothing but the standard library."""
