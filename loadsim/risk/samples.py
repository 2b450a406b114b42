"""risk/samples"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import (
    FILLET_SD,
    FILLET_SD_ASSUMED,
    HEIGHT_SD,
    NECK_SD,
    REACH_SD,
    RUNOUT_SD,
    RUNOUT_SD_ASSUMED,
    STEADINESS,
    WEAR_SD,
)
from loadsim.loads.load_case import LoadCase
from loadsim.loads.nominal import as_drawn, force_constants, peak_chip
from loadsim.loads.passes import Contact, thickest_sine
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN, K_T_BENDING_FE_SD
from loadsim.risk import sobol


def few_of(drawn: Draws, most: int = 256) -> Draws:
    """Return the first points of each replicate, 256 if not said otherwise, four times that when
    they are weighted: enough to compare settings by.
    """
    each = drawn.u.shape[1] // drawn.replicates
    kept = (
        np.arange(min(each, most if drawn.weights is None else 4 * most))[None, :]
        + each * np.arange(drawn.replicates)[:, None]
    )
    at = kept.ravel()
    return Draws(
        u=drawn.u[:, at],
        z=drawn.z[:, at],
        replicates=drawn.replicates,
        seed=drawn.seed,
        weights=None if drawn.weights is None else drawn.weights[at],
    )


SEED = 20_260

#: Independent scrambles; their scatter gives the interval. [1]
REPLICATES = 16

NAMES = (
    "force constants of the metal", "radial force", "edge wear", "steadiness of the feed", "runout", "neck diameter",
    "neck fillet", "neck length", "head height", "stress concentration", "strength of the blank", "fatigue strength",
    "grinding of the neck", "chip packing",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Standard normal and uniform draws of one job, kept while settings are compared; (dims, n)."""

    u: Array
    z: Array
    replicates: int
    seed: int
    #: what test cuts make of each sample, (n,); None: nothing was seen
    weights: Array | None = None


def draws(samples_log2: int = 16, seed: int = SEED) -> Draws:
    """Draw the sample once.

    Parameters
    ----------
    samples_log2 : int
        Base-2 logarithm of the number of samples, at least 8. [1]
    seed : int
        Stamped in every result.

    Returns
    -------
    draws : Draws
    """
    from scipy.special import ndtri

    each = samples_log2 - int(math.log2(REPLICATES))
    u = sobol.replicates(each, len(NAMES), REPLICATES, seed)
    u = np.ascontiguousarray(u.transpose(1, 0, 2).reshape(len(NAMES), -1))
    return Draws(u=u, z=ndtri(u), replicates=REPLICATES, seed=seed)


def sampled_case(job: ResolvedJob, contacts: list[Contact], f_z: float, z: Array) -> LoadCase:
    """Return the cut with every uncertain input drawn.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    contacts : list of Contact
        One for each pass.
    f_z : float
        Feed per tooth as set. [mm]
    z : ndarray, shape (dims, s)
        Standard normal draws.

    Returns
    -------
    case : LoadCase
        Every uncertain number has shape (s,).
    """
    cutter = job.cutter
    sine = thickest_sine(contacts)
    base = as_drawn(job, f_z, sine, K_T_BENDING_FE_MEAN)
    _, _, sigma_ln, _ = force_constants(job, peak_chip(job, f_z, sine))
    median, steady = STEADINESS[job.machine.feed]
    fillet_sd = FILLET_SD_ASSUMED if cutter.neck_fillet is None else FILLET_SD
    runout_sd = RUNOUT_SD_ASSUMED if cutter.runout is None else RUNOUT_SD
    own = job.written.work.kc11 is not None
    return base.with_(
        force_factor=base.force_factor * np.exp(sigma_ln * z[0] + (0.0 if own else WEAR_SD) * z[2]),
        radial_factor=np.exp(job.radial.spread * z[1]),
        f_z=f_z * median * np.exp(steady * z[3]),
        rho=base.rho * np.exp(runout_sd * z[4]),
        neck_diameter=_near(base.neck_diameter, NECK_SD, z[5]),
        fillet=base.fillet * np.exp(fillet_sd * z[6]),
        neck_length=_near(base.neck_length, REACH_SD, z[7]),
        head_height=_near(base.head_height, HEIGHT_SD, z[8]),
        fe_factor=base.fe_factor + K_T_BENDING_FE_SD * z[9],
    )


def _near(value: Array, sd: float, z: Array) -> Array:
    """Scatter a measured length by its instrument, by ratio so that it stays positive."""
    near: Array = value * np.exp(sd / value * z)
    return near
