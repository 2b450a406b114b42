"""loads/load_case"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loadsim.base.numbers import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Radial:
    """Radial over tangential force as ``(K_rc h + K_re)/(K_tc h + K_te)``, with its spread."""

    K_tc: float  #: [MPa]
    K_te: float  #: [N/mm]
    K_rc: float  #: [MPa]
    K_re: float  #: [N/mm]
    spread: float  #: relative standard deviation [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """One cut, or as many as the arrays are long: what the load chain takes. All () or (s,)."""

    teeth: int
    f_z: Array  #: feed per tooth [mm]
    rho: Array  #: radial runout [mm]
    h_min: Array  #: thinnest chip the edge cuts [mm]
    k_c11: Array  #: [MPa]
    m_c: Array  #: [1]
    force_factor: Array  #: on tangential and radial force [1]
    radial: Radial
    radial_factor: Array  #: on the radial force [1]
    radius: Array  #: over the teeth [mm]
    head_height: Array  #: [mm]
    head_diameter: Array  #: for the neck's fillet at the head [mm]
    neck_length: Array  #: [mm]
    neck_diameter: Array  #: [mm]
    fillet: Array  #: [mm]
    shank_diameter: Array  #: [mm]
    fe_factor: Array  #: on the published bending K_t [1]

    def with_(self, **changes: object) -> LoadCase:
        """Return a copy with some numbers changed."""
        return replace(self, **{k: as_array(v) if k != "radial" else v for k, v in changes.items()})  # type: ignore[arg-type]


def as_array(value: object) -> Array:
    return np.asarray(value, float)
