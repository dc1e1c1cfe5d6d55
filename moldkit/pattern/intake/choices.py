"""What a user may choose where a mesh cannot be judged: which body, and which larger mend."""

from __future__ import annotations

from collections.abc import Sequence

from moldkit.errors import InputError, unknown

# Each larger mend and what it does; none of them happens unasked.
MEND_MEANS: dict[str, str] = {
    "cap base": "cuts an open base off level at the top of its rim and closes it flat",
    "fill holes": "closes every hole from rim to rim",
    "fill hollow": "leaves out the inside surface of a hollow scan and keeps the outside",
}
MENDS: tuple[str, ...] = tuple(MEND_MEANS)
# Besides these, the number of one body counted by volume, "1" the largest.
BODIES: tuple[str, ...] = ("all", "largest")


def check_bodies(bodies: str, where: str) -> None:
    """Refuse a word that names no body.

    bodies: "all", "largest" or a whole number from "1"; where: the file, key or option. Raises InputError.
    """
    if bodies not in BODIES and not (bodies.isascii() and bodies.isdigit() and int(bodies) >= 1 and len(bodies) < 7):
        raise unknown("bodies", bodies, (*BODIES, "1", "2", "3"), where)


def check_mend(mend: Sequence[str], where: str) -> None:
    """Refuse a mend that is not among MENDS.

    mend: the mends asked for; where: the file, key or option. Raises InputError.
    """
    if isinstance(mend, str):
        raise InputError(f'{where}: mend is a list of words, such as ["{mend}"], and was given as one word.')
    for word in mend:
        if word not in MENDS:
            raise unknown("mend", str(word), MENDS, where)


def mends_offered(words: Sequence[str]) -> str:
    """Return the choices as they stand in a sentence, each with what it does."""
    return " or ".join(f'mend = "{word}" ({MEND_MEANS[word]})' for word in words)
