"""Runout as far as the give of a thin neck is sure to even it out between two teeth."""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.deflection import compliance
from loadsim.loads.load_case import LoadCase
from loadsim.loads.passes import Contact
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.mechanics.evening import evened_runout, sure_slope

#: Teeth that even each other out, and turns after which they have. [1]
PAIR = 2
SETTLED = 20.0


def evened(job: ResolvedJob, contacts: list[Contact], case: LoadCase, share: Array) -> Array:
    """Runout with a share of what the neck's give evens out.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter and blank; the collet counts as rigid, as it is not known.
    contacts : list of Contact
        The pieces of the cut; what the least of them evens out counts for all.
    case : LoadCase
        One cut or many.
    share : ndarray, shape (s,)
        Of the give that is credited, from 0 to 1. [1]

    Returns
    -------
    rho : ndarray, shape (s,)
        As it is for other than two teeth, where both cut at once, and in a cut of a few turns. [mm]
    """
    turns = min(c.travel for c in contacts) / (PAIR * float(np.max(case.f_z)))
    if case.teeth != PAIR or turns < SETTLED or any(_at_once(c) for c in contacts):
        return case.rho
    slope = np.minimum.reduce([_slope(case, c) for c in contacts])
    level = max(float(c.peak.level.max()) for c in contacts)
    give = compliance(job, case, level, math.inf) * slope
    return evened_runout(case.rho, share * give)


def _at_once(contact: Contact) -> bool:
    """Whether several teeth are in the cut together."""
    return bool((np.diff(contact.peak.position) == 0).any())


def _slope(case: LoadCase, contact: Contact) -> Array:
    """Rise of the radial force with the chip that is sure in one piece. [N/mm]"""
    teeth = np.arange(case.teeth)
    phi = np.full(case.teeth, contact.peak.phi[np.argmax(np.sin(contact.peak.phi))])
    h = chip.thickness(phi, teeth, case.f_z, case.rho, case.teeth)

    def force(x: Array) -> Array:
        met = np.maximum(x, case.h_min)
        F_t = case.force_factor * contact.height * case.law.force(met)
        return np.asarray(F_t * case.radial.at(met) * case.radial_factor)

    return sure_slope(force, case.f_z * contact.sine, h.max(axis=0), h.min(axis=0), case.teeth)
