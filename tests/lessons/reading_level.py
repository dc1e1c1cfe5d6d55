"""How plain a text is: the Flesch-Kincaid grade, and the longest sentence.

Source: Kincaid, Fishburne, Rogers and Chissom, Derivation of New Readability Formulas, Research Branch Report 8-75
(1975), grade = 0.39 words/sentence + 11.8 syllables/word - 15.59, from memory. Syllables are counted by groups of
vowels, which is right for most English words.
"""

from __future__ import annotations

import re

_SENTENCE = re.compile(r"(?<=[.?!:;])\s+")
_WORD = re.compile(r"[A-Za-z][A-Za-z'-]*")
_VOWELS = re.compile(r"[aeiouy]+")


def sentences(text: str) -> list[str]:
    """Return the sentences of a text; a colon or semicolon ends one too, as a reader takes a breath there."""
    return [part for part in _SENTENCE.split(text.strip()) if _WORD.search(part)]


def words(text: str) -> list[str]:
    """Return the words of a text; figures, units beside them and signs are none."""
    return _WORD.findall(text)


def syllables(word: str) -> int:
    """Return about how many syllables a word has, at least one."""
    plain = word.lower()
    count = len(_VOWELS.findall(plain))
    if plain.endswith("e") and not plain.endswith(("le", "ee")) and count > 1:
        count -= 1
    return max(1, count)


def grade(text: str) -> float:
    """Return the school grade that reads a text with ease."""
    found = words(text)
    each = len(found) / len(sentences(text))
    return 0.39 * each + 11.8 * sum(map(syllables, found)) / len(found) - 15.59


def longest_sentence(text: str) -> int:
    """Return the words of the longest sentence."""
    return max(len(words(sentence)) for sentence in sentences(text))
