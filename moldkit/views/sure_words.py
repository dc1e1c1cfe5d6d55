"""How firm the verdict is, in plain words: odds, regret, what finding out is worth, what would turn the choice."""

from __future__ import annotations

from moldkit.study.uncertainty.decision import Worth
from moldkit.study.uncertainty.inputs import APART
from moldkit.study.uncertainty.sensitivity import Sensitivity
from moldkit.study.uncertainty.spread import Firmness, Spread
from moldkit.units import count_text, money_text, number_text
from moldkit.views.verdict import NO_BREAK, castings, spoken

MEDIAN, LEVEL = "median mold life, ", "price level, "
# A life that the job itself gives, as a range.
OWN_LIFE = f"{MEDIAN}from the job"
FIRST_MOLD, ALL_HOURS, OF_TECHNIQUE = "hours of a first mold, ", ": all hours", "hours of "
# From this share on a verdict is sure, and from that one on another technique is told as near it.
SURE, OFTEN_NEAR = 0.95, 0.5
# What happens in fewer shops than this is told as "fewer than 1 of 100".
HARDLY_EVER = 0.005


def money_words(value: float, currency: str) -> str:
    """Return money as one says it: three digits, no cents from ten up, "less than 1" below one."""
    if 0.0 <= value < 1.0:
        return f"less than 1{NO_BREAK}{currency}" if value > 0.0 else f"0{NO_BREAK}{currency}"
    text = number_text(value) if value >= 100 else (f"{value:.0f}" if value >= 10 else money_text(value))
    return f"{text}{NO_BREAK}{currency}"


def of_hundred(share: float) -> str:
    """Return a share as a number of a hundred; what is nearly none or nearly all is not told as none or all."""
    if 0.0 < share < HARDLY_EVER:
        return "fewer than 1"
    return "more than 99" if 1.0 - HARDLY_EVER <= share < 1.0 else f"{100 * share:.0f}"


def firm(firmness: Firmness) -> str:
    """Return the few words the verdict gains: "cheapest in 94 of 100 plausible shops"."""
    what = "the only technique that works," if firmness.alone else "cheapest"
    return f"{what} in {_of_shops(firmness.share)}"


def _of_shops(share: float) -> str:
    return "every plausible shop" if share == 1.0 else f"{of_hundred(share)} of 100 plausible shops"


def firmness_words(spread: Spread) -> str:
    """Return how firm the verdict is, in one to three sentences; empty where nothing works."""
    found = spread.firmness
    if found is None:
        return ""
    how = "Reckoned by weight, without whole kits, the" if spread.kits_left_out else "The"
    said = f"{how} {spoken(found.technique)} is {firm(found)}"
    if found.share < 1.0 and not found.alone:
        said += f", and within 10{NO_BREAK}% of the cheapest in {of_hundred(found.near)}"
    said += "."
    if found.beside is not None and found.share >= SURE and found.beside_share >= OFTEN_NEAR:
        said += f" {_near(found, found.beside)}"
    if found.rival is not None:
        said += f" {_rival(found)}"
    if not found.expected and spread.decision.choice is not None:
        said += f" On average over all of them the {spoken(spread.techniques[spread.decision.choice])} costs least."
    return said


def _near(found: Firmness, beside: str) -> str:
    return (
        f"Near in cost, but surely the cheapest: the {spoken(beside)} comes within 10{NO_BREAK}% of it in "
        f"{of_hundred(found.beside_share)} of 100."
    )


def _rival(found: Firmness) -> str:
    rival, hundred = spoken(found.rival or ""), of_hundred(found.rival_share)
    if hundred == of_hundred(found.share):
        return f"The {rival} is the cheapest as often ({hundred})."
    if found.rival_share > found.share:
        return f"The {rival} is the cheapest more often ({hundred}), though not at the likely figures."
    return f"Otherwise it is mostly the {rival} ({hundred} of 100)."


def drawn_words(spread: Spread) -> str:
    """Return how the shops were drawn, and how far the figure is a matter of the draw."""
    draws = spread.draws
    said = f"{count_text(draws.count)} plausible shops drawn by {draws.points}, seed {draws.seed}"
    if spread.firmness is None:
        return f"{said}."
    error = 100 * spread.firmness.error
    return f"{said}; another seed moves the odds by about {max(0.1, error):.1f} in a hundred."


def odds_words(spread: Spread) -> str:
    """Return the odds at the run asked for, the likeliest first."""
    chance = spread.decision.chance
    ranked = sorted((place for place in range(len(chance)) if chance[place] > 0), key=lambda place: -chance[place])
    if not ranked:
        return "No technique works in any of the plausible shops."
    names = [f"{spoken(spread.techniques[place])} in {of_hundred(float(chance[place]))}" for place in ranked]
    rest = f"; {', '.join(names[1:])}" if names[1:] else ""
    return f"Cheapest for {castings(spread.run)}: {names[0]} of 100 plausible shops{rest}."


def bands_words(spread: Spread) -> str:
    """Return what the run may cost by the cheapest technique."""
    name = spread.cheapest
    if name is None:
        return "Nothing works at the likely figures."
    at = int(list(spread.runs).index(spread.run))
    low, middle, high = (float(cost) for cost in spread.bands[:, spread.techniques.index(name), at])
    return (
        f"{castings(spread.run)} as a {spoken(name)}: {money_words(low, spread.currency)} to "
        f"{money_words(high, spread.currency)} in eight of ten plausible shops, half of them under "
        f"{money_words(middle, spread.currency)}; {of_hundred(spread.within_likely)} of 100 stay within the "
        f"{money_words(spread.likely, spread.currency)} of the likely figures."
    )


def plain_input(name: str, kind: str) -> str:
    """Return an uncertain figure's name as a chart says it."""
    if name.endswith(APART):
        return f"hours: {name.removesuffix(APART)}"
    if name == OWN_LIFE:
        return "mold life given by the job"
    if name.startswith(MEDIAN):
        return f"mold life, {name.removeprefix(MEDIAN)}"
    return f"price of {name.removeprefix(LEVEL)}" if name.startswith(LEVEL) else name


def worth_words(spread: Spread, most: int = 2) -> str:
    """Return what deciding now may be regretted by, and what finding out would be worth before deciding."""
    decision, currency = spread.decision, spread.currency
    if decision.choice is None:
        return "Nothing works at the likely figures, so there is nothing to decide."
    name = spoken(spread.techniques[decision.choice])
    if spread.firmness is not None and spread.firmness.alone:
        return f"The {name} is the only technique that works: nothing is worth finding out for this decision."
    if decision.worth_of_all <= 0.0:
        return f"The {name} costs least in every plausible shop: nothing is worth finding out for this decision."
    said = (
        f"Deciding for the {name} now costs {money_words(decision.worth_of_all, currency)} more, on average, than "
        "deciding with every figure known: that is the most that any finding out is worth."
    )
    worth = [each for each in decision.worth if each.money > 0.0][:most]
    if not worth:
        return f"{said} No single figure would change the decision often enough to be worth finding out alone."
    parts = [f"{_finding(each)} {_up_to(each.money, currency)} before deciding" for each in worth]
    said = f"{said} {capital('; '.join(parts))}."
    if decision.worth_of_all < spread.hour:
        wage = money_words(spread.hour, currency)
        said += f" Even knowing all is worth less than an hour's wage ({wage}): decide by what else counts."
    return said


def _up_to(money: float, currency: str) -> str:
    words = money_words(money, currency)
    return f"would be worth {words}" if words.startswith("less") else f"would be worth up to {words}"


def _finding(worth: Worth) -> str:
    """Return the way to find a figure out."""
    if worth.name.startswith(FIRST_MOLD):
        return f"timing a first mold made as a {spoken(worth.name.removeprefix(FIRST_MOLD))}"
    if worth.name == OWN_LIFE:
        return "knowing the life of this job's molds from your own log"
    if worth.name.startswith(MEDIAN):
        return f"knowing the life of {worth.name.removeprefix(MEDIAN)} from your own log"
    plain = plain_input(worth.name, worth.kind)
    if worth.kind == "hours":
        return f"timing {_step(plain.removeprefix('hours: '))}"
    return f"{'asking' if worth.kind == 'price' else 'knowing'} the {plain}"


def _step(name: str) -> str:
    """Return a step or a worker's pace as it stands in a sentence."""
    return f"the {name}" if name.startswith("worker") else f"“{name}”"


def capital(text: str) -> str:
    """Return a sentence with its first letter large."""
    return text[:1].upper() + text[1:]


def doubt_words(found: Sensitivity | None) -> str:
    """Return what the doubt between the cheapest technique and the next hangs on."""
    if found is None:
        return "Fewer than two techniques work, so there is no doubt between them."
    cheapest, rival = spoken(found.cheapest), spoken(found.next)
    pair = f"the {cheapest} or the {rival}"
    if found.shares.variance <= 0.0:
        return f"Whether {pair} is cheaper does not hang on any uncertain figure."
    first = [
        f"{_doubtful(name, kind)} ({100 * share:.0f}{NO_BREAK}%)"
        for name, kind, share in zip(found.names[:2], found.kinds, found.shares.total, strict=False)
    ]
    hangs = f"hangs most on {', then on '.join(first)}."
    if found.overtaken < HARDLY_EVER:
        shops = _of_shops(1.0 - found.overtaken)
        return f"The {cheapest} is cheaper than the {rival} for {castings(found.run)} in {shops}; by how much {hangs}"
    return f"Whether {pair} is cheaper for {castings(found.run)} {hangs}"


def _doubtful(name: str, kind: str) -> str:
    plain = plain_input(name, kind)
    return f"the time for “{plain.removeprefix('hours: ')}”" if plain.startswith("hours: ") else f"the {plain}"
