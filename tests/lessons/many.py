"""All exercises for many seeds: `python -m tests.lessons.many [SEEDS] [FIRST SEED] [TOPIC ...]`, 1,000 by itself.

Ends with 1 where any exercise of any seed does not hold. Times are of the processor, one exercise with its checks left
out.
"""

from __future__ import annotations

import sys
import time

from moldkit.errors import MoldkitError
from moldkit.lessons.exercises import count, problem_of, shown_to_the_apprentice, topics
from moldkit.lessons.problem import Pick, Problem
from moldkit.study.knowledge import Knowledge, load_knowledge
from tests.lessons.proofs import faults

SHOWN = 5


def main(seeds: int, first: int, names: list[str]) -> int:
    """Check the exercises of the topics for so many seeds, print one line each, return the exit code."""
    knowledge, wrong = load_knowledge(), 0
    for topic in names or list(topics()):
        for number in range(1, count(topic) + 1):
            wrong += _one(topic, number, range(first, first + seeds), knowledge)
    print(f"{wrong} faults" if wrong else "all hold")
    return 1 if wrong else 0


def _one(topic: str, number: int, seeds: range, knowledge: Knowledge) -> int:
    found: list[str] = []
    took: list[float] = []
    kind, mistakes = "", set[str]()
    for seed in seeds:
        begun = time.process_time()
        try:
            problem = problem_of(topic, seed, number, knowledge)
            took.append(time.process_time() - begun)
            shown = shown_to_the_apprentice(problem, topic, seed, number, knowledge)
            kind = shown.kind
            found += [f"seed {seed}: {fault}" for fault in faults(shown, problem)]
            mistakes |= _told(problem)
        except MoldkitError as fault:
            found.append(f"seed {seed}: {fault}")
    took.sort()
    middle, late = (1000 * took[int(share * (len(took) - 1))] if took else 0.0 for share in (0.5, 0.99))
    print(f"{topic:36s} {number} {kind:18s} {len(seeds):5d} seeds {len(found):4d} faults {len(mistakes):3d} mistakes "
          f"{middle:6.1f} ms in the middle, {late:6.1f} ms for 99 of 100", flush=True)  # fmt: skip
    for words in found[:SHOWN]:
        print(f"    {words}")
    return len(found)


def _told(problem: Problem) -> set[str]:
    """Return the kinds of mistakes that a problem tells."""
    if isinstance(problem, Pick):
        return {slip.mistake for slip in problem.slips.values()}
    return {each.slip.mistake for each in problem.slips}


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:3] if word.isdigit()]
    others = sys.argv[1 + len(numbers) :]
    sys.exit(main(*([*numbers, *(1000, 1)[len(numbers) :]]), others))
