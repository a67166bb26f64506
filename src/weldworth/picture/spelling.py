"""From a reader's frames to numbers with probabilities: beam search over frames, known confusions, the check digit.

A reader gives for each narrow upright strip of the line the probability of each character or of none (blank). A text's
probability is the sum over all ways to spell it over the strips (Graves et al. 2006, Connectionist temporal classification,
ICML, 369-376).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations_with_replacement, product

import numpy as np
import numpy.typing as npt

from weldworth.vehicle.number import EXCLUDED, LENGTH, MISREAD, SERIAL_FROM, VALUES, YEAR_CODES, check_digit

Floats = npt.NDArray[np.float64]
ALPHABET = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
SHORTEST, LONGEST = 5, 17
_BEAM = 40
_NEGLIGIBLE = 3e-4
_LEAST = 1e-300
_ODD_LENGTHS = (14, 15, 16)


def columns(characters: Sequence[str]) -> Floats:
    """Matrix (len(characters), 1 + len(ALPHABET)): a reader's characters to blank and ALPHABET.

    Small letters count as capitals; I, O and Q, which a vehicle's number never holds (49 CFR 565), as 1, 0 and 0; all else as
    blank. The reader's first character is its blank.
    """
    matrix = np.zeros((len(characters), 1 + len(ALPHABET)))
    for row, char in enumerate(characters):
        capital = EXCLUDED.get(char.upper(), char.upper())
        place = ALPHABET.find(capital) if row and len(capital) == 1 else -1
        matrix[row, place + 1] = 1
    return matrix


def blurred(frames: Floats, terms: Mapping[str, float]) -> Floats:
    """Frames (t, 1 + alphabet) with part of each character's score given to those it is taken for, and a little to all."""
    share = np.eye(len(ALPHABET))
    for rank, pair in enumerate(MISREAD):
        for one, other in ((pair[0], pair[1]), (pair[1], pair[0])):
            if one in ALPHABET and other in ALPHABET:
                share[ALPHABET.index(one), ALPHABET.index(other)] += terms["confused"] / (1 + 0.15 * rank)
    share += terms["any_other"] / len(ALPHABET)
    share /= share.sum(axis=1, keepdims=True)
    return np.concatenate([frames[:, :1], frames[:, 1:] @ share], axis=1)


def spellings(frames: Floats, most: int = _BEAM) -> list[str]:
    """The likeliest texts of frames (t, 1 + alphabet), best first, by prefix beam search (Hannun et al. 2014,
    arXiv:1408.2873)."""
    beams: dict[str, tuple[float, float]] = {"": (1.0, 0.0)}
    for frame in frames:
        grown: dict[str, list[float]] = {}
        likely = np.flatnonzero(frame[1:] > _NEGLIGIBLE)
        for text, (after_blank, after_char) in beams.items():
            entry = grown.setdefault(text, [0.0, 0.0])
            entry[0] += (after_blank + after_char) * frame[0]
            if text:
                entry[1] += after_char * frame[1 + ALPHABET.index(text[-1])]
            if len(text) > LONGEST:
                continue
            for place in likely:
                char, chance = ALPHABET[place], frame[1 + place]
                longer = grown.setdefault(text + char, [0.0, 0.0])
                longer[1] += (after_blank if text and char == text[-1] else after_blank + after_char) * chance
        kept = sorted(grown.items(), key=lambda item: -(item[1][0] + item[1][1]))[:most]
        total = sum(kept[0][1]) or 1.0
        beams = {text: (blank / total, char / total) for text, (blank, char) in kept}
    return list(beams)


def log_scores(frames: Floats, texts: Sequence[str]) -> Floats:
    """ln of the probability of each text, none empty, given frames (t, 1 + alphabet): the forward sum over all its spellings."""
    ends = 2 * np.array([len(text) for text in texts])
    states = np.zeros((len(texts), ends.max() + 1), int)
    for row, text in enumerate(texts):
        states[row, 1 : ends[row] : 2] = [1 + ALPHABET.index(char) for char in text]
    skip = (states[:, 2:] != states[:, :-2]) & (states[:, 2:] > 0)
    alpha = np.zeros(states.shape)
    alpha[:, :2] = frames[0, states[:, :2]]
    total = np.zeros(len(texts))
    for frame in frames[1:]:
        grown = alpha.copy()
        grown[:, 1:] += alpha[:, :-1]
        grown[:, 2:] += np.where(skip, alpha[:, :-2], 0)
        alpha = grown * frame[states]
        peak = np.maximum(alpha.max(axis=1), _LEAST)
        alpha /= peak[:, None]
        total += np.log(peak)
    rows = np.arange(len(texts))
    return np.asarray(total + np.log(np.maximum(alpha[rows, ends] + alpha[rows, ends - 1], _LEAST)))


def believed(text: str, terms: Mapping[str, float]) -> float:
    """ln of how believable a text is before it is looked at, by the published rules.

    A right check digit comes up one time in eleven by chance, so it multiplies the odds by ten times checked / (1 - checked).
    """
    if len(text) != LENGTH:
        return float(np.log(1 / 11) + (np.log(terms["odd_length"]) if len(text) in _ODD_LENGTHS else 0))
    passes = passing(text)
    weight = np.log(terms["checked"] if passes else (1 - terms["checked"]) / 10)
    if not text[SERIAL_FROM - 1 :].isdigit():
        weight += np.log(terms["letter_in_serial"])
    if text[9] not in YEAR_CODES:
        weight += np.log(terms["year_unused"])
    return float(weight)


def passing(text: str) -> bool:
    """Whether a text of 17 characters has a right check digit."""
    return len(text) == LENGTH and all(char in VALUES for char in text) and check_digit(text) == text[8]


def neighbours(texts: Sequence[str]) -> list[str]:
    """17-character texts one exchange of a likely confusion away from `texts` that have a right check digit."""
    alike = {char: {pair.replace(char, "", 1) for pair in MISREAD if char in pair} & set(ALPHABET) for char in ALPHABET}
    found: dict[str, None] = {}
    for text in texts:
        singles = [text[:place] + other + text[place + 1 :] for place, char in enumerate(text) for other in sorted(alike[char])]
        for single in singles:
            if passing(single):
                found[single] = None
    return list(found)


def completed(texts: Sequence[str], places: Sequence[int]) -> list[str]:
    """17-character texts with a right check digit that differ from `texts` only in one or two `places`, counted from 0."""
    found: dict[str, None] = {}
    for text, (one, two) in product(texts, combinations_with_replacement(places, 2)):
        for first, second in product(ALPHABET, ALPHABET if one != two else ("",)):
            chars = list(text)
            chars[one] = first
            chars[two] = second or first
            if passing(whole := "".join(chars)):
                found[whole] = None
    return list(found)
