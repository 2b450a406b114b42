"""Whether the blank is hard enough to cut the metal at all: hot against the metal, cold against the
grains that scrape it.
"""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import HARDER_THAN_METAL, LEAST_EDGE, LEAST_EDGE_UNKNOWN
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.materials.families import by_family
from loadsim.materials.schema import BlankMaterial, WorkMaterial
from loadsim.mechanics.hardness import hardness_to_vickers


def edge_hardness(blank: BlankMaterial, HRC: float | None) -> float:
    """Vickers hardness of an edge of a blank, cold.

    Parameters
    ----------
    blank : BlankMaterial
        Of the tool.
    HRC : float or None
        Hardness that the job gives; it does not count for a blank that is not hardened. [HRC]

    Returns
    -------
    HV : float
        [HV]
    """
    if HRC is None or blank.ductile:
        return blank.hardness_HV
    return float(hardness_to_vickers(HRC))


def blank_against_metal(
    work: WorkMaterial, blank: BlankMaterial, HV: float, one: Array
) -> list[Utilization]:
    """Hold the edge against the metal: the worse of hardness and abrasion.

    Parameters
    ----------
    work : WorkMaterial
        To be cut; nothing is judged where its hardness is not known.
    blank : BlankMaterial
        Of the tool.
    HV : float
        Its hardness, cold. [HV]
    one : ndarray
        Ones, as many as there are cuts. [1]

    Returns
    -------
    limits : list of Utilization
        One, or none.
    """
    if work.hardness_HV is None:
        return []
    asked = HARDER_THAN_METAL * work.hardness_HV
    hot = blank.hot_hardness_share * HV
    least = by_family(LEAST_EDGE, work.family, LEAST_EDGE_UNKNOWN)
    scraped = least / HV > asked / hot
    return [
        Utilization(
            code=LimitCode.BLANK_AGAINST_METAL,
            demand=np.asarray(least if scraped else asked) * one,
            capacity=np.asarray(HV if scraped else hot) * one,
            unit="HV",
            hard=True,
            facts={"scraped": scraped, "blank": blank.title, "ratio": HARDER_THAN_METAL},
        )
    ]
