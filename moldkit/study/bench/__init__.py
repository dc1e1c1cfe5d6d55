"""What the bench needs to know of a mold that was chosen: boards, coats, layers, mixes, molds in turn, cautions."""
