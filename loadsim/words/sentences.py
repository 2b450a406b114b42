"""How a sentence is filled in: a text with the names of facts, each with how it is printed.

What stands after the colon is the dimension in which a number is shown in the reader's units, as
``{d:stress}``, or how a plain number is printed, as ``{share:.0%}``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from loadsim.base import units
from loadsim.words import phrases

#: A sentence whose choices are made, or how they are made from the facts.
Sentence = str | Callable[[Mapping[str, Any]], str]


@dataclass(frozen=True, slots=True)
class _Number:
    """A number that is printed by what follows the colon."""

    value: float
    system: units.System

    def __format__(self, spec: str) -> str:
        if spec == "probability":
            return phrases.probability(self.value)
        if spec == "accepted":
            return phrases.accepted(self.value)
        if spec in units.UNITS:
            return units.show(self.value, spec, self.system)
        return format(self.value, spec)


def filled(sentence: Sentence, facts: Mapping[str, Any], system: units.System) -> str:
    """Fill the facts of one cut into its sentence.

    Parameters
    ----------
    sentence : str or callable
        With a name for each fact.
    facts : mapping
        Numbers in the units used inside, names, choices; of an array the only number.
    system : {"metric", "inch"}
        The reader's units.

    Returns
    -------
    text : str

    Examples
    --------
    >>> filled("{d:length} of {c:.0%}", {"d": 25.4, "c": 0.5}, "inch")
    '1.0000 in of 50%'
    """
    of_one = {k: single(v) if isinstance(v, np.ndarray) else v for k, v in facts.items()}
    text = sentence if isinstance(sentence, str) else sentence(of_one)
    return text.format(
        **{k: _Number(v, system) if isinstance(v, float) else v for k, v in of_one.items()}
    )


def single(x: Any) -> float:
    """The number of one cut. [as x]"""
    return float(np.asarray(x).reshape(-1)[0])
