"""How sure we are: uncertain figures carried through the model to the decision under it."""
