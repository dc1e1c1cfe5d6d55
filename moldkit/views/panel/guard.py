"""Doing what a page asks, so that trouble is told in the page."""

from __future__ import annotations

import logging
from collections.abc import Callable

from moldkit.errors import MoldkitError

logger = logging.getLogger(__name__)


def guarded(action: Callable[[], object], tell: Callable[[str], object]) -> None:
    """Do what a control asks; what goes wrong is told in one sentence. tell: called with the sentence."""
    try:
        action()
    except MoldkitError as fault:
        tell(str(fault))
    except Exception as fault:
        # a callback's exception would otherwise vanish into a log that nobody reads
        logger.exception("a control failed")
        tell(f"This could not be done ({type(fault).__name__}: {fault}).")
