"""Points for draws: Latin hypercube or scrambled Sobol' points, from a seed."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError, unknown

Floats = NDArray[np.float64]
LATIN, SOBOL = "latin hypercube", "sobol"
KINDS = (LATIN, SOBOL)
LEAST, MOST = 16, 200_000
# Drawn where nothing else is asked for.
DRAWS, SEED = 2_000, 1


def scores(draws: int, inputs: int, seed: int, kind: str = LATIN) -> Floats:
    """Return standard normal scores, shape (inputs, d), the same for the same seed.

    draws: how many are wanted, 16 to 200,000: `d` is that number of Latin hypercube draws, or the next power of two of
    scrambled Sobol' points; inputs: how many independent inputs. Raises InputError for another kind or number.
    """
    if kind not in KINDS:
        raise unknown("kind of points", kind, KINDS, "points")
    if not LEAST <= draws <= MOST:
        raise InputError(f"draws: {draws} is outside {LEAST} to {MOST:,}; give a number between.")
    if seed < 0:
        raise InputError(f"seed: {seed} is below 0; give a whole number from 0 up.")
    found = _scores(draws, max(1, inputs), seed, kind)
    return found[:inputs]


@lru_cache(maxsize=4)
def _scores(draws: int, inputs: int, seed: int, kind: str) -> Floats:
    from scipy.special import ndtri

    shares = _sobol(draws, inputs, seed) if kind == SOBOL else _latin(draws, inputs, seed)
    found = np.asarray(ndtri(shares))
    found.flags.writeable = False
    return found


def _latin(draws: int, inputs: int, seed: int) -> Floats:
    from scipy.stats import qmc

    return np.ascontiguousarray(qmc.LatinHypercube(inputs, rng=np.random.default_rng(seed)).random(draws).T)


def _sobol(draws: int, inputs: int, seed: int) -> Floats:
    """Return scrambled Sobol' points, a power of two of them, kept off 0 and 1."""
    from scipy.stats import qmc

    exponent = max(0, (draws - 1).bit_length())
    points = qmc.Sobol(inputs, scramble=True, rng=np.random.default_rng(seed)).random_base2(exponent)
    return np.ascontiguousarray(np.clip(points, 2.0**-34, 1.0 - 2.0**-34).T)
