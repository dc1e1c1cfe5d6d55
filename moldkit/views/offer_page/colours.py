"""The page's colours, light and dark, with the shop's own made to stand out enough."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

# Of the eight-colour palette published for colour-blind readers, as in all of the kit's charts.
OWN = ("#0072b2", "#d55e00")
LIGHT = {
    "ground": "#ffffff",
    "card": "#f4f5f6",
    "ink": "#1b1d1f",
    "quiet": "#53585e",
    "edge": "#73797f",
    "hair": "#d5d8db",
}
DARK = {
    "ground": "#14171a",
    "card": "#1f2429",
    "ink": "#f3f4f5",
    "quiet": "#b9bfc5",
    "edge": "#8f969d",
    "hair": "#3b4249",
}
GROUNDS = ("ground", "card")
# What is read needs 4.5:1, what is only seen 3:1: WCAG 2.2, success criteria 1.4.3 and 1.4.11.
TEXT, MARK = 4.5, 3.0
READ = {"ink": TEXT, "quiet": TEXT, "main-text": TEXT, "warn": TEXT, "edge": MARK, "main": MARK, "second": MARK}
WARN = "#b3261e"
STEPS = 100


def _parts(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb", 0 to 1.

    Source: WCAG 2.2, definition of relative luminance.
    """
    shares = (part / 255 for part in _parts(colour))
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours "#rrggbb", 1 to 21.

    Source: WCAG 2.2, definition of contrast ratio.
    """
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def readable(colour: str, grounds: Sequence[str], least: float) -> str:
    """Return the colour, or as little darker or lighter a one as reaches a contrast of `least` with every ground."""
    end = "#000000" if luminance(grounds[0]) > 0.18 else "#ffffff"
    for step in range(STEPS + 1):
        mixed = _mixed(colour, end, step / STEPS)
        if all(contrast(mixed, ground) >= least for ground in grounds):
            return mixed
    return end


def _mixed(colour: str, other: str, share: float) -> str:
    pairs = zip(_parts(colour), _parts(other), strict=True)
    return "#" + "".join(f"{round(one + (two - one) * share):02x}" for one, two in pairs)


def theme(shop: Sequence[str], base: Mapping[str, str]) -> dict[str, str]:
    """Return every colour of the page by name.

    shop: its colours "#rrggbb", the main one first, none for the kit's own; base: LIGHT or DARK.
    """
    main, second = (*shop, *OWN[len(shop) :])[:2]
    grounds = [base[name] for name in GROUNDS]
    return {
        **base,
        "main": readable(main, grounds, MARK),
        "main-text": readable(main, grounds, TEXT),
        "second": readable(second, grounds, MARK),
        "warn": readable(WARN, grounds, TEXT),
    }


def colour_rules(shop: Sequence[str]) -> str:
    """Return the style rules that set the page's colours: light, dark where the reader wants it, light on paper."""
    light, dark = (_declared(theme(shop, base)) for base in (LIGHT, DARK))
    return (
        f":root{{color-scheme:light;{light}}}\n"
        f"@media screen and (prefers-color-scheme:dark)"
        f"{{:root:not([data-theme=light]){{color-scheme:dark;{dark}}}}}\n"
        f"@media screen{{:root[data-theme=dark]{{color-scheme:dark;{dark}}}}}\n"
    )


def _declared(colours: Mapping[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())
