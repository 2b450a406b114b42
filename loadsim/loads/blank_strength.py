"""What the blank bears: bend strength of the part ground from it, fatigue, torsion, yield."""

from __future__ import annotations

import math
from enum import Enum, auto

import numpy as np

from loadsim.base.errors import FILE, InputError, Problem
from loadsim.base.notes import Note
from loadsim.job.tables import Job
from loadsim.loads.assumptions import GRIND_FACTOR, THOUSAND, THOUSAND_SD
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
    volume = math.pi / 4 * cutter.neck_diameter**2 * cutter.neck_length
    sigma_0, credit = ground_scale(blank, volume)
    if blank.ductile:
        if cutter.hardness is not None:
            notes.append(Note(code=BlankNote.HARDNESS_NOT_USED, facts={"blank": blank.title}))
        return _ductile_strength(blank, sigma_0, credit)
    HV = _vickers(cutter.hardness, blank, notes)
    notes += fatigue.murakami_notes(HV, blank.defect_size)
    HRC = blank.hardness if cutter.hardness is None else cutter.hardness
    tensile = tensile_strength(HRC, blank)
    return Strength(
        sigma_0=sigma_0,
        size_credit=credit,
        m=blank.weibull_m,
        spread=blank.bend_strength_spread,
        line=hard_line(blank, HV, tensile if HRC is not None else None),
        thousand_spread=THOUSAND_SD,
        limit_spread=math.hypot(0.10, blank.defect_size_spread / 6),
        tau_u=blank.torsion_ratio * tensile,
        yield_strength=None,
        notch_size=None,
    )


def ground_scale(blank: BlankMaterial, volume: float) -> tuple[float, float]:
    """Characteristic bend strength of a hand-ground part, and what its small volume is worth.

    The flaws of a hand-ground neck come from the wheel as much as from the bar, so the credit for
    a stressed volume smaller than the test bar's lies somewhere between none and full; a larger
    volume counts in full.

    Parameters
    ----------
    blank : BlankMaterial
        Its bend strength, Weibull modulus and the volume of its test bar.
    volume : float
        Of the part. [mm^3]

    Returns
    -------
    sigma_0 : float
        With half the credit. [MPa]
    credit : float
        ln of the whole credit, 0 where there is none. [1]
    """
    full = bend_scale(blank, volume)
    bar = blank.bend_strength / math.gamma(1 + 1 / blank.weibull_m)
    credit = max(math.log(full / bar), 0.0)
    return full * math.exp(-credit / 2), credit


def hard_line(blank: BlankMaterial, HV: float, tensile: float | None) -> fatigue.StrengthLine:
    """Fully reversed amplitude that a hardened blank bears, against turns.

    Its bend strength once, a share of the tensile strength for a thousand turns, and the limit by
    hardness and flaw at ten million; the loss of the wheel belongs to that limit and so fades to
    none at a thousand.

    Parameters
    ----------
    blank : BlankMaterial
        Its bend strength and the flaws in it.
    HV : float
        Vickers hardness. [HV]
    tensile : float or None
        Tensile strength by hardness; None for carbide, whose line runs straight from the bend
        strength to the limit. [MPa]

    Returns
    -------
    line : StrengthLine

    References
    ----------
    Shigley-fatigue, f S_ut at a thousand turns; Murakami2002, surface flaws
    """
    once = blank.bend_strength
    limit = float(fatigue.murakami_limit_surface(HV, blank.defect_size)) * GRIND_FACTOR
    thousand = once ** (4 / 7) * limit ** (3 / 7) if tensile is None else THOUSAND * tensile
    return fatigue.StrengthLine(
        once=np.asarray(once), thousand=np.asarray(thousand), limit=np.asarray(limit), N_limit=1e7
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


def tensile_strength(HRC: float | None, blank: BlankMaterial) -> float:
    """Return the tensile strength equivalent to a hardness, which falls off the table for carbide.

    Parameters
    ----------
    HRC : float or None
        Rockwell hardness; None for carbide. [HRC]
    blank : BlankMaterial
        Its bend strength.

    Returns
    -------
    tensile : float
        [MPa]
    """
    if HRC is None:
        # carbide: tension bears about half of bending (memory medium)
        return blank.bend_strength / 2
    return float(hardness.hardness_to_tensile(min(HRC, 65.0)))


def _ductile_strength(blank: BlankMaterial, sigma_0: float, credit: float) -> Strength:
    S_ut = blank.ultimate_strength
    S_y = blank.yield_strength
    if S_ut is None or S_y is None:
        raise ValueError(f"{blank.name} is marked ductile but has no yield and ultimate strength")
    a, b = fatigue.MARIN_SURFACE["ground"]
    S_e = fatigue.endurance_limit_steel(S_ut) * fatigue.marin_surface(S_ut, a, b)
    return Strength(
        sigma_0=sigma_0,
        size_credit=credit,
        m=blank.weibull_m,
        spread=blank.bend_strength_spread,
        line=fatigue.StrengthLine(
            once=np.asarray(S_ut), thousand=np.asarray(0.82 * S_ut), limit=S_e, N_limit=1e6
        ),
        thousand_spread=0.12,
        limit_spread=0.12,
        tau_u=float(strength.torsion_strength(S_ut)),
        yield_strength=S_y,
        notch_size=S_ut,
    )
