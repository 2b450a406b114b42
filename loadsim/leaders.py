"""Which turning positions can lead: large tables trimmed for the samples."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from loadsim import force
from loadsim.case import Case
from loadsim.chain import POINTS, Notch, gather, tooth_forces
from loadsim.contact import Positions


def leading(cases: list[Case], positions: Positions, notch: Notch) -> Positions:
    """Keep the positions that lead in any of a few cases: in moment, in torque, or in any direction around the neck.

    Where several teeth cut at once the peak lies at no known angle and the table holds hundreds of
    positions; a sample near these cases peaks at one of the leaders.

    Parameters
    ----------
    cases : list of Case
        Single cuts that span what the samples do.
    positions : Positions
        From `loadsim.contact.peak_positions`.
    notch : Notch
        The end of the neck that is judged.

    Returns
    -------
    positions : Positions
    """
    ids, kept = np.unique(positions.position), set()
    for case in cases:
        forces = tooth_forces(case, positions)
        F_1, F_2 = force.cutter_frame(forces.held_t, forces.held_r, positions.tooth, case.teeth)
        arm = notch.arm.reshape(-1)[:1] + case.head_height - positions.level[:, None]
        M_1, M_2 = (gather(F * arm, positions)[:, 0] for F in (F_1, F_2))
        ranked = [np.hypot(M_1, M_2), gather(forces.F_t, positions)[:, 0]]
        for alpha in math.pi * np.arange(2 * POINTS) / POINTS:
            ranked.append(M_1 * math.cos(alpha) + M_2 * math.sin(alpha))
        kept.update(ids[[int(np.argmax(x)) for x in ranked]].tolist())
    keep = np.array(sorted(kept))
    pairs = np.isin(positions.position, keep)
    return replace(positions, phi=positions.phi[pairs], tooth=positions.tooth[pairs], b=positions.b[pairs], level=positions.level[pairs],
                   position=np.searchsorted(keep, positions.position[pairs]), weight=positions.weight[keep], turn=positions.turn[keep])
