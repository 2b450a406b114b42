"""Lengths of a cutter as texts, rounded the safe way to what a shop can set and measure."""

from __future__ import annotations

import math
from typing import Literal

from loadsim.base import units

#: What a step of each length key is, by system: metric in mm, inch in inches.
STEPS = {
    "head_diameter": (0.01, 0.0005),
    "neck_diameter": (0.05, 0.001),
    "neck_fillet": (0.05, 0.001),
    "head_fillet": (0.05, 0.001),
    "land": (0.05, 0.002),
}

STEP_ELSE = (0.1, 0.005)

Rounding = Literal["down", "up", "near"]


def step_of(key: str, system: str) -> float:
    """Step to which a length is rounded. [mm]"""
    metric, inch = STEPS.get(key, STEP_ELSE)
    return metric if system == "metric" else inch * units.IN


def length_text(key: str, length: float, rounding: Rounding, system: str) -> str:
    """Round a length the safe way and write it with its unit.

    Parameters
    ----------
    key : str
        Of the job file, which sets the step.
    length : float
        To be rounded. [mm]
    rounding : str
        down, up or near.
    system : str
        metric or inch.

    Returns
    -------
    text : str
    """
    step = step_of(key, system)
    steps = {
        "down": math.floor(length / step + 1e-6),
        "up": math.ceil(length / step - 1e-6),
        "near": round(length / step),
    }[rounding]
    rounded = max(steps, 1) * step
    return f"{rounded:.2f} mm" if system == "metric" else f"{rounded / units.IN:.4f} in"


def mm(text: str) -> float:
    """Read a length back. [mm]"""
    return units.parse(text, "length")
