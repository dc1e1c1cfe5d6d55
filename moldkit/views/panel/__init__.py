"""The notebooks' panels: widgets in, a case, its result, charts out; no arithmetic."""
