"""What the blank bears: bend strength of the part ground from it, fatigue, torsion, yield."""

from __future__ import annotations

import math
from enum import Enum, auto

from loadsim.base.errors import FILE, InputError, Problem
from loadsim.base.notes import Note
from loadsim.job.tables import Job
from loadsim.loads.assumptions import GRIND_FACTOR
from loadsim.loads.resolved_job import Strength
from loadsim.materials.schema import BlankMaterial
from loadsim.mechanics import fatigue, hardness, strength


class BlankNote(Enum):
    """What to know of the hardness given."""

    UNUSUAL_HARDNESS = auto()
    HARDNESS_NOT_USED = auto()


def bend_scale(blank: BlankMaterial, volume: float) -> float:
    """Characteristic bend strength of a round part that turns under its load.

    Parameters
    ----------
    blank : BlankMaterial
        Its bend strength, Weibull modulus and the volume of its test bar.
    volume : float
        Of the part. [mm^3]

    Returns
    -------
    sigma_0 : float
        [MPa]
    """
    m = blank.weibull_m
    return float(
        strength.weibull_scale(
            blank.bend_strength,
            m,
            blank.bar_volume * float(strength.effective_volume_factor_three_point(m)),
            volume * float(strength.effective_volume_factor_rotating(m)),
        )
    )


def neck_strength(job: Job, blank: BlankMaterial, notes: list[Note]) -> Strength:
    """What the neck of this cutter bears.

    Parameters
    ----------
    job : Job
        Its neck and the hardness given.
    blank : BlankMaterial
        What the cutter is ground from.
    notes : list of Note
        What there is to know is added to it.

    Returns
    -------
    strength : Strength

    Raises
    ------
    InputError
        If the hardness given is none of this blank.
    """
    cutter = job.cutter
    sigma_0 = bend_scale(blank, math.pi / 4 * cutter.neck_diameter**2 * cutter.neck_length)
    if blank.ductile:
        if cutter.hardness is not None:
            notes.append(Note(code=BlankNote.HARDNESS_NOT_USED, facts={"blank": blank.title}))
        return _ductile_strength(blank, sigma_0)
    HV = _vickers(cutter.hardness, blank, notes)
    S_limit = float(fatigue.murakami_limit_surface(HV, blank.defect_size)) * GRIND_FACTOR
    notes += fatigue.murakami_notes(HV, blank.defect_size)
    return Strength(
        sigma_0=sigma_0,
        m=blank.weibull_m,
        spread=blank.bend_strength_spread,
        S_limit=S_limit,
        N_limit=1e7,
        k=blank.basquin_k,
        S_static=blank.bend_strength,
        fatigue_spread=math.hypot(0.10, blank.defect_size_spread / 6),
        tau_u=blank.torsion_ratio * _tensile(job, blank),
        yield_strength=None,
        notch_size=None,
    )


def _vickers(given: float | None, blank: BlankMaterial, notes: list[Note]) -> float:
    """Vickers hardness of a hardened blank: as given in HRC, or its own."""
    if given is None:
        return blank.hardness_HV
    if blank.hardness is None or not 50 <= given <= 70:
        allowed = "a hardened blank has 50 to 70 HRC"
        if blank.hardness is None:
            allowed = "leave it out, this blank is not rated in HRC"
        message = f"is {given:g}; {allowed}"
        raise InputError(FILE, [Problem(where="[cutter] hardness", message=message)])
    HV = float(hardness.hardness_to_vickers(given))
    notes += hardness.hardness_notes(given)
    low = blank.hardness_lo
    high = blank.hardness_hi
    if low is not None and high is not None and not low <= given <= high:
        facts = {"given": given, "low": low, "high": high, "blank": blank.title}
        notes.append(Note(code=BlankNote.UNUSUAL_HARDNESS, facts=facts))
    return HV


def _tensile(job: Job, blank: BlankMaterial) -> float:
    """Return the tensile strength equivalent to the hardness, which falls off the table for
    carbide. [MPa]
    """
    HRC = blank.hardness if job.cutter.hardness is None else job.cutter.hardness
    if HRC is None:
        # carbide: tension bears about half of bending (memory medium)
        return blank.bend_strength / 2
    return float(hardness.hardness_to_tensile(min(HRC, 65.0)))


def _ductile_strength(blank: BlankMaterial, sigma_0: float) -> Strength:
    S_ut = blank.ultimate_strength
    S_y = blank.yield_strength
    if S_ut is None or S_y is None:
        raise ValueError(f"{blank.name} is marked ductile but has no yield and ultimate strength")
    a, b = fatigue.MARIN_SURFACE["ground"]
    S_e = float(fatigue.endurance_limit_steel(S_ut) * fatigue.marin_surface(S_ut, a, b))
    _, slope = fatigue.finite_life_constants(S_ut, 0.82, S_e)
    return Strength(
        sigma_0=sigma_0,
        m=blank.weibull_m,
        spread=blank.bend_strength_spread,
        S_limit=S_e,
        N_limit=1e6,
        k=-1.0 / float(slope),
        S_static=0.82 * S_ut,
        fatigue_spread=0.12,
        tau_u=float(strength.torsion_strength(S_ut)),
        yield_strength=S_y,
        notch_size=S_ut,
    )
