"""Fatigue: notch factors, endurance limits and finite lives under alternating stress."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum, auto

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.notes import Note
from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import must_be, real, takes


@takes(sigma_a=must_be("MPa", least=0.0), sigma_m=must_be("MPa"))
def smith_watson_topper(sigma_a: Reals, sigma_m: Reals) -> Array:
    """Fully reversed amplitude that does the same damage, ``sqrt(sigma_max sigma_a)``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]

    Returns
    -------
    sigma_ar : ndarray
        Equivalent amplitude at zero mean. [MPa]

    Raises
    ------
    ModelError
        If a value is not finite or sigma_a is negative.

    References
    ----------
    SmithWatsonTopper1970, stress-strain function
    """
    pull = np.maximum(sigma_m, 0.0)
    sigma_ar: Array = np.sqrt((sigma_a + pull) * sigma_a)
    return sigma_ar


#: Factor and exponent of the surface factor ``a S_ut^b``, S_ut in MPa; the editions differ for
#: ground.
MARIN_SURFACE = {
    "ground": (1.58, -0.085),
    "ground, later edition": (1.38, -0.067),
    "machined": (4.51, -0.265),
}

_STEP = 1.5  # between radii at which the highest fatigue notch factor is looked for

ENDURANCE_CAP = 700.0  #: highest endurance limit credited to steel, from S_ut 1400 MPa on [MPa]


@takes(r=must_be("mm", over=0.0))
def notch_sensitivity_peterson(r: Reals, S_u: Reals, torsion: bool = False) -> Array:
    """Notch sensitivity of steel by Peterson, ``q = 1 / (1 + a/r)``; the one for hard steel.

    ``a = 0.0254 (2070 / S_u)^1.8`` mm in bending, 0.6 of it in torsion.

    Parameters
    ----------
    r : array_like
        Notch radius. [mm]
    S_u : array_like
        Tensile strength; stated for steel of 550 MPa and more. [MPa]
    torsion : bool
        Take the length for torsion. [1]

    Returns
    -------
    q : ndarray
        Notch sensitivity, 0 to 1. [1]

    Raises
    ------
    ModelError
        If r is not positive or S_u is under 550 MPa.

    References
    ----------
    Peterson1974, notch sensitivity of steels
    """
    q: Array = 1.0 / (1.0 + _peterson_length(S_u, torsion) / r)
    return q


@takes(S_u=must_be("MPa", least=550.0))
def _peterson_length(S_u: Reals, torsion: bool) -> Array:
    a: Array = 0.0254 * (2070.0 / S_u) ** 1.8 * (0.6 if torsion else 1.0)
    return a


@takes(r=must_be("mm", over=0.0))
def notch_factor_peterson(
    K_t: Callable[[Array], Array], r: Reals, S_u: float, torsion: bool = False, jump: Reals = 0.0
) -> Array:
    """Fatigue notch factor with Peterson's sensitivity, never under its highest value at any larger
    radius.

    With a falling radius q falls faster than K_t rises below about Peterson's length: a scratch
    would look safer than a fillet. From the radius of the highest K_f on that value is kept.

    Parameters
    ----------
    K_t : callable
        Gives the stress concentration factor for radii of r's shape; it never rises with the
        radius.
    r : array_like
        Notch radius. [mm]
    S_u : float
        Tensile strength. [MPa]
    torsion : bool
        Take the length for torsion. [1]
    jump : array_like, broadcastable to r
        A radius at and below which K_t is higher at once; 0: there is none. [mm]

    Returns
    -------
    K_f : ndarray
        Fatigue notch factor. [1]

    Raises
    ------
    ModelError
        If r is not positive or S_u is under 550 MPa.

    References
    ----------
    Peterson1974, notch sensitivity of steels
    """
    a = float(_peterson_length(S_u, torsion))

    def factor(x: Array) -> Array:
        return fatigue_notch_factor(K_t(x), notch_sensitivity_peterson(x, S_u, torsion))

    best = factor(np.maximum(r, jump))
    at = np.array(r)
    best = np.maximum(best, factor(r))
    peak = np.array(best)
    for node in (x for x in a * _STEP ** np.arange(-3.0, 8.0) if x > r.min(initial=np.inf)):
        K_f = factor(np.maximum(r, node))
        at = np.where(K_f > peak, np.maximum(r, node), at)
        peak = np.maximum(peak, K_f)
    if (peak > best).any():
        for h in (np.log(_STEP), 0.05):  # the top of a parabola through three radii, twice
            low, middle, high = (factor(at * np.exp(k * h)) for k in (-1, 0, 1))
            bend = np.minimum(low - 2 * middle + high, -1e-300)
            at = np.maximum(at * np.exp(np.clip(h / 2 * (low - high) / bend, -h, h)), r)
            peak = np.maximum(peak, factor(at))
    return np.maximum(best, peak)


@takes(q=must_be("1", least=0.0, most=1.0), K_t=must_be("1", least=1.0))
def fatigue_notch_factor(K_t: Reals, q: Reals) -> Array:
    """Fatigue notch factor, ``K_f = 1 + q (K_t - 1)``.

    Parameters
    ----------
    K_t : array_like
        Stress concentration factor, >= 1. [1]
    q : array_like
        Notch sensitivity, 0 to 1. [1]

    Returns
    -------
    K_f : ndarray
        Fatigue notch factor, between 1 and K_t. [1]

    Raises
    ------
    ModelError
        If K_t is under 1 or q outside [0, 1].

    References
    ----------
    Shigley-fatigue, notch sensitivity
    """
    K_f: Array = 1.0 + q * (K_t - 1.0)
    return K_f


@takes(HV=must_be("HV", over=0.0), root_area_um=must_be("um", over=0.0))
def murakami_limit_surface(HV: Reals, root_area_um: Reals) -> Array:
    """Fatigue limit, fully reversed, from hardness and the size of the worst flaw at the surface.

    ``sigma_w = 1.43 (HV + 120) / sqrt(area)^(1/6)``.

    Parameters
    ----------
    HV : array_like
        Vickers hardness. [HV]
    root_area_um : array_like
        Square root of the flaw's area seen along the stress. [um]

    Returns
    -------
    sigma_w : ndarray
        Stress amplitude at the fatigue limit, R = -1. [MPa]

    Raises
    ------
    ModelError
        If any value is not finite or not positive.

    Notes
    -----
    The flaw stands for the surface: do not multiply by a surface factor as well. See
    `murakami_notes`.

    References
    ----------
    Murakami2002, square-root-area model, surface flaws

    Examples
    --------
    >>> round(murakami_limit_surface(800, 20).item())
    799
    """
    sigma_w: Array = 1.43 * (HV + 120.0) / root_area_um ** (1.0 / 6.0)
    return sigma_w


class FatigueNote(Enum):
    """Where a fatigue limit or a life is stretched."""

    SCATTERS = auto()  #: above HV 400
    HARDER_THAN_MEASURED = auto()  #: above HV 720
    SOFTER_THAN_MEASURED = auto()  #: below HV 70
    FLAW_IS_A_CRACK = auto()  #: above 1000 um
    FLAWS_DO_NOT_MATTER = auto()  #: 1.6 HV is less
    FEW_TURNS = auto()  #: under 1000
    MANY_TURNS = auto()  #: over a million


def murakami_notes(HV: ArrayLike, root_area_um: ArrayLike) -> tuple[Note, ...]:
    """List where the fatigue limit from hardness is stretched.

    Parameters
    ----------
    HV : array_like
        Vickers hardness. [HV]
    root_area_um : array_like
        Square root of the flaw's area. [um]

    Returns
    -------
    notes : tuple of Note
        One for each reservation; empty when there is none.

    Raises
    ------
    ModelError
        If any value is not finite or not positive.

    References
    ----------
    Murakami2002, range of the square-root-area model; rule 1.6 HV for steel without flaws
    """
    sigma_w = murakami_limit_surface(HV, root_area_um)
    HV = np.asarray(HV, float)
    root_area = np.asarray(root_area_um, float)
    rules = (
        (HV > 400.0, FatigueNote.SCATTERS),
        (HV > 720.0, FatigueNote.HARDER_THAN_MEASURED),
        (HV < 70.0, FatigueNote.SOFTER_THAN_MEASURED),
        (root_area > 1000.0, FatigueNote.FLAW_IS_A_CRACK),
        (sigma_w > 1.6 * HV, FatigueNote.FLAWS_DO_NOT_MATTER),
    )
    return tuple(Note(code=code) for hit, code in rules if np.any(hit))


@takes(a=must_be("1", over=0.0), b=must_be("1", most=0.0), S_ut=must_be("MPa", over=0.0))
def marin_surface(S_ut: Reals, a: Reals, b: Reals) -> Array:
    """Surface factor, ``k_a = a S_ut^b``; pairs in ``MARIN_SURFACE``.

    Parameters
    ----------
    S_ut : array_like
        Tensile strength. [MPa]
    a : array_like
        Factor, for S_ut in MPa. [1]
    b : array_like
        Exponent, not positive. [1]

    Returns
    -------
    k_a : ndarray
        Surface factor, not above 1. [1]

    Raises
    ------
    ModelError
        If a value is out of range, or the fit exceeds 1 (steel too soft for it).

    References
    ----------
    Shigley-fatigue, surface factor
    """
    k_a: Array = a * S_ut**b
    return real("k_a = a S_ut^b", k_a, "1", most=1.0)


@takes(S_ut=must_be("MPa", over=0.0))
def endurance_limit_steel(S_ut: Reals) -> Array:
    """Endurance limit of a polished steel specimen: half of S_ut, 700 MPa from 1400 MPa on.

    Parameters
    ----------
    S_ut : array_like
        Tensile strength. [MPa]

    Returns
    -------
    S_e : ndarray
        Stress amplitude, before surface, size and load factors. [MPa]

    Raises
    ------
    ModelError
        If any S_ut is not finite or not positive.

    References
    ----------
    Shigley-fatigue, endurance limit
    """
    S_e: Array = np.minimum(0.5 * S_ut, ENDURANCE_CAP)
    return S_e


#: Turns of the middle anchor of a strength line. [1]
MIDDLE = 1e3

#: Least drop from one anchor of a strength line to the next, in the logarithm: more turns are never
#: borne better. [1]
LEAST_DROP = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthLine:
    """Amplitude borne against turns: straight in log-log between three anchors, and on past the
    last; each anchor () or (s,).

    Past the last anchor the line keeps falling: hard steel has no knee. An anchor above the one
    before it counts as just under that.

    References
    ----------
    Shigley-fatigue, from S_ut at one turn over f S_ut at a thousand to the limit
    """

    once: Array  #: borne for one turn [MPa]
    thousand: Array  #: borne for a thousand turns [MPa]
    limit: Array  #: borne for N_limit turns [MPa]
    N_limit: float  #: [1]

    def anchors(self) -> tuple[Array, Array, Array]:
        """Natural logarithms of the three anchors, each under the one before it."""
        once = np.log(np.asarray(self.once, float))
        thousand = np.minimum(np.log(np.asarray(self.thousand, float)), once - LEAST_DROP)
        limit = np.minimum(np.log(np.asarray(self.limit, float)), thousand - LEAST_DROP)
        return once, thousand, limit

    def slopes(self) -> tuple[Array, Array]:
        """Exponents k of ``N ~ sigma^-k`` before and after a thousand turns. [1]"""
        once, thousand, limit = self.anchors()
        return (
            math.log(MIDDLE) / (once - thousand),
            math.log(self.N_limit / MIDDLE) / (thousand - limit),
        )

    def strength(self, N: ArrayLike) -> Array:
        """Amplitude borne for N turns.

        Parameters
        ----------
        N : array_like
            Turns, at least 1; fewer count as one. [1]

        Returns
        -------
        S : ndarray
            [MPa]
        """
        once, thousand, _ = self.anchors()
        early, late = self.slopes()
        ln_N = np.log(np.maximum(np.asarray(N, float), 1.0))
        after = ln_N - math.log(MIDDLE)
        S: Array = np.exp(
            np.where(after <= 0, once - ln_N / early, thousand - np.maximum(after, 0.0) / late)
        )
        return S


#: Most steps of Newton's method, and the step at which they end: the error is then its square. [1]
STEPS = 40
CLOSE = 1e-4


def damage_margin(
    turns: Sequence[ArrayLike], sigma: Sequence[ArrayLike], line: StrengthLine
) -> Array:
    """Logarithm of the factor on all amplitudes at which their damage would just add up to one,
    turned round: stress over strength of a history with several levels.

    ``sum n_i / N(sigma_i / x) = 1``, solved for x; ln x is returned. Over zero the part has failed.

    Parameters
    ----------
    turns : sequence of array_like
        Turns at each level, () or (s,); at least one level has turns. [1]
    sigma : sequence of array_like
        Amplitude of each level, () or (s,). [MPa]
    line : StrengthLine
        What is borne.

    Returns
    -------
    margin : ndarray
        ln(stress / strength); minus infinity where no level has stress. [1]

    Raises
    ------
    ValueError
        If there is no level.

    References
    ----------
    Miner1945, linear summation of damage
    """
    if not turns:
        raise ValueError("a history without a level has no damage")
    with np.errstate(divide="ignore"):
        ln_n = [np.log(np.asarray(n, float)) for n in turns]
        levels = [np.log(np.asarray(s, float)) for s in sigma]
        everything = np.log(np.sum(np.broadcast_arrays(*[np.asarray(n, float) for n in turns]), 0))
    _, thousand, _ = line.anchors()
    early, late = line.slopes()
    middle = math.log(MIDDLE)

    def borne(ln_turns: Array) -> Array:
        after = ln_turns - middle
        return np.asarray(thousand - after / np.where(after <= 0, early, late))

    # all turns at the worst level, and each level alone, enclose the answer
    high = np.maximum.reduce(levels) - borne(np.maximum(everything, 0.0))
    low = np.maximum.reduce(
        [x - borne(n) for x, n in zip(levels, ln_n, strict=True) if np.any(n > -np.inf)]
    )
    low, high = np.broadcast_arrays(np.minimum(low, high), high)
    stressed = np.isfinite(high)
    s = np.where(stressed, high, 0.0)
    for _ in range(STEPS):
        ln_damage, steepness = _damage(s, ln_n, levels, thousand, early, late)
        failed = ln_damage > 0
        low = np.where(failed, s, low)
        high = np.where(failed, high, s)
        with np.errstate(invalid="ignore"):
            step = ln_damage / steepness
            tangent = s + step
            # where the line bends the wrong way a tangent may leave what encloses the answer
            inside = (tangent >= low) & (tangent <= high)
            s = np.where(inside, tangent, np.where(np.isfinite(low), (low + high) / 2, s))
        if not (np.fmax(step, -step) > CLOSE).any():
            break
    return np.where(stressed, s, -np.inf)


def _damage(
    s: Array, ln_n: list[Array], levels: list[Array], thousand: Array, early: Array, late: Array
) -> tuple[Array, Array]:
    """Logarithm of the damage with amplitudes over exp(s), and how steeply it falls with s."""
    damage = np.zeros(s.shape)
    fall = np.zeros(s.shape)
    for n, level in zip(ln_n, levels, strict=True):
        over = level - s - thousand
        k = np.where(over > 0, early, late)
        part = np.exp(n - math.log(MIDDLE) + over * k)
        damage += part
        fall += part * k
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.log(damage), fall / damage


@takes(
    f=must_be("1", over=0.0, most=1.0), S_ut=must_be("MPa", over=0.0), S_e=must_be("MPa", over=0.0)
)
def finite_life_constants(S_ut: Reals, f: Reals, S_e: Reals) -> tuple[Array, Array]:
    """Constants of the line ``sigma = a N^b`` from f S_ut at 1000 cycles to S_e at a million.

    Parameters
    ----------
    S_ut : array_like
        Tensile strength. [MPa]
    f : array_like
        Share of S_ut borne for 1000 cycles, in (0, 1]. [1]
    S_e : array_like
        Corrected endurance limit, under f S_ut. [MPa]

    Returns
    -------
    a : ndarray
        Amplitude where the line meets one cycle. [MPa]
    b : ndarray
        Exponent, negative. [1]

    Raises
    ------
    ModelError
        If a value is out of range or S_e is not under f S_ut.

    References
    ----------
    Shigley-fatigue, finite life between 10^3 and 10^6 cycles
    """
    S_3 = f * S_ut
    real("f S_ut / S_e", S_3 / S_e, "1", over=1.0)
    a: Array = S_3**2 / S_e
    b: Array = -np.log10(S_3 / S_e) / 3.0
    return a, b


@takes(N=must_be("1", least=0.0))
def finite_life_notes(N: Reals) -> tuple[Note, ...]:
    """List where a life lies off the line between 1000 and a million cycles.

    Parameters
    ----------
    N : array_like
        Cycles. [1]

    Returns
    -------
    notes : tuple of Note
        One for each reservation; empty when there is none.

    Raises
    ------
    ModelError
        If any N is not finite or is negative.

    References
    ----------
    Shigley-fatigue, finite life between 10^3 and 10^6 cycles
    """
    rules = ((N < 1e3, FatigueNote.FEW_TURNS), (N > 1e6, FatigueNote.MANY_TURNS))
    return tuple(Note(code=code) for hit, code in rules if np.any(hit))
