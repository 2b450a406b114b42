"""LoadCase: the numbers that one cut, or a hundred thousand, are computed from; none is chosen."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loadsim.base.numbers import Array
from loadsim.base.ranges import Range, above_zero, from_zero
from loadsim.mechanics.force_law import ForceLaw, RadialRatio

#: What is no array but answers for the arrays.
_LAWS = ("law", "radial")


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """One cut, or as many as the arrays are long: what the load chain takes. All () or (s,)."""

    teeth: int
    f_z: Array  #: feed per tooth [mm]
    rho: Array  #: radial runout [mm]
    h_min: Array  #: thinnest chip the edge cuts [mm]
    law: ForceLaw  #: of the tangential force
    force_factor: Array  #: on tangential and radial force [1]
    radial: RadialRatio  #: radial over tangential force
    radial_factor: Array  #: on the radial force [1]
    edge_t: Array  #: tangential force that a worn land adds on a millimetre of edge [N/mm]
    edge_r: Array  #: radial, likewise [N/mm]
    radius: Array  #: over the teeth [mm]
    head_height: Array  #: [mm]
    head_diameter: Array  #: for the neck's fillet at the head [mm]
    neck_length: Array  #: [mm]
    neck_diameter: Array  #: [mm]
    fillet: Array  #: at the shank's shoulder [mm]
    head_fillet: Array  #: where the neck meets the head [mm]
    shank_diameter: Array  #: [mm]
    fe_factor: Array  #: on the published bending K_t [1]

    def with_(self, **changes: object) -> LoadCase:
        """Return a copy with some numbers changed."""
        return replace(self, **{k: v if k in _LAWS else as_array(v) for k, v in changes.items()})  # type: ignore[arg-type]


#: What each number of a case may be.
RANGES: dict[str, Range] = {
    "f_z": from_zero("mm"),
    "rho": from_zero("mm"),
    "h_min": above_zero("mm"),
    "force_factor": above_zero(""),
    "radial_factor": above_zero(""),
    "edge_t": from_zero("N/mm"),
    "edge_r": from_zero("N/mm"),
    "radius": above_zero("mm"),
    "head_height": above_zero("mm"),
    "head_diameter": above_zero("mm"),
    "neck_length": above_zero("mm"),
    "neck_diameter": above_zero("mm"),
    "fillet": above_zero("mm"),
    "head_fillet": above_zero("mm"),
    "shank_diameter": above_zero("mm"),
    "fe_factor": above_zero(""),
}


def checked(case: LoadCase) -> LoadCase:
    """Check every number of a case once, so that the formulas of the chain can trust them.

    Parameters
    ----------
    case : LoadCase
        One cut or many.

    Returns
    -------
    case : LoadCase
        The same.

    Raises
    ------
    ModelError
        If a number is not finite or out of its range; it names the number.
    """
    for name, within in RANGES.items():
        within(name, getattr(case, name))
    return case


def as_array(value: object) -> Array:
    """Return a number as an array of the load case."""
    return np.asarray(value, float)
