"""The order of the steps: contact, chip, force, moment on the neck, stress. One cut or a hundred
thousand.

Arrays carry pairs of turning position and tooth first (p), positions (a), and samples last (s).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.loads.load_case import LoadCase
from loadsim.mechanics import chip, force
from loadsim.mechanics.engagement import Positions

#: Points around half the neck at which the stress is followed.
POINTS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothForces:
    """Forces on each tooth in the cut, in each turning position; (p, s)."""

    h: Array  #: uncut chip thickness on the straight edge [mm]
    F_t: Array  #: tangential [N]
    F_r: Array  #: radial [N]
    held_t: Array  #: tangential, a tooth that runout lifts clear counted as rubbing [N]
    held_r: Array  #: radial, likewise [N]


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckLoad:
    """What one turn asks of one end of the neck, before its diameter and its notch; (s,) unless
    said otherwise.
    """

    h: Array  #: thickest chip [mm]
    force: Array  #: largest resultant radial-plane force [N]
    tooth_force: Array  #: largest tangential force on one tooth [N]
    torque: Array  #: in each position, (a', s) [N*mm]
    moment: Array  #: bending moment in each position, (a', s) [N*mm]
    low: Array  #: lowest moment of the point around the neck that the turn harms most [N*mm]
    high: Array  #: its highest [N*mm]

    def take(self, which: npt.NDArray[np.intp]) -> NeckLoad:
        """Return the samples wanted."""
        return NeckLoad(**{f.name: getattr(self, f.name)[..., which] for f in fields(self)})

    def times(self, factor: Array) -> NeckLoad:
        """Return it with all forces that many times as large; chips are not."""
        forces = {f.name: getattr(self, f.name) * factor for f in fields(self) if f.name != "h"}
        return NeckLoad(h=self.h, **forces)

    def rung(self, overshoot: Array, undershoot: Array) -> NeckLoad:
        """Return it with the bending of a neck that rings.

        Parameters
        ----------
        overshoot : ndarray, shape (s,)
            Largest moment over that at rest. [1]
        undershoot : ndarray, shape (s,)
            How far it swings past zero after a tooth, over its largest at rest. [1]

        Returns
        -------
        load : NeckLoad
            Forces and torque as they are: a neck is far stiffer in twist.
        """
        over = overshoot * self.high
        back = overshoot * self.low
        return replace(
            self,
            moment=self.moment * overshoot,
            low=np.minimum(back, -undershoot * self.high),
            high=np.maximum(over, -undershoot * self.low),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One turn of the cutter in the frame of the table; (a, s)."""

    angle: Array  #: turning angle of tooth 0, (a,) [rad]
    weight: Array  #: share of the turn, (a,) [1]
    F_x: Array  #: [N]
    F_y: Array  #: [N]
    torque: Array  #: [N*mm]


def tooth_forces(case: LoadCase, positions: Positions) -> ToothForces:
    """Chip thickness and force of every tooth in the cut.

    Below the thinnest chip the edge rubs and the force stays at its value there while the tooth
    touches.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    positions : Positions
        Turning positions from `loadsim.mechanics.engagement`.

    Returns
    -------
    forces : ToothForces
    """
    h = chip.thickness(positions.phi, positions.tooth, case.f_z, case.rho, case.teeth)
    touching = h > 0
    F_t = np.zeros(np.broadcast_shapes(h.shape, np.shape(case.force_factor), case.law.shape))
    F_r = np.zeros_like(F_t)
    for e, sin_kappa in enumerate(positions.sin_kappa):
        b = positions.b[:, e, None] / sin_kappa
        h_e = np.maximum(h * sin_kappa, case.h_min)
        F = b * case.law.force(h_e)
        F_t += F
        F_r += F * sin_kappa * case.radial.at(h_e)
    F_r *= case.radial_factor
    _add_worn_land(case, positions, F_t, F_r)
    F_t *= case.force_factor
    F_r *= case.force_factor
    if touching.all():
        return ToothForces(h=h, F_t=F_t, F_r=F_r, held_t=F_t, held_r=F_r)
    return ToothForces(h=h, F_t=F_t * touching, F_r=F_r * touching, held_t=F_t, held_r=F_r)


def _add_worn_land(case: LoadCase, positions: Positions, F_t: Array, F_r: Array) -> None:
    """Add what the land on the flank presses, whatever the chip, to forces (p, s)."""
    if not np.any(case.edge_r):
        return
    along = (positions.b / positions.sin_kappa).sum(axis=1)[:, None]
    F_t += along * case.edge_t
    F_r += positions.b.sum(axis=1)[:, None] * case.edge_r


#: Samples from which on pairs are summed position by position. [1]
MANY = 64


def gather(x: Array, positions: Positions) -> Array:
    """Return pairs (p, s) summed into the positions that have a tooth in the cut, (a', s)."""
    starts = np.flatnonzero(np.diff(positions.position, prepend=-1))
    if starts.size == len(x):
        return x
    if x.shape[1] < MANY:
        return np.add.reduceat(x, starts, axis=0)
    # the same sums, ten times as quick where the rows are long
    total = np.empty((starts.size, x.shape[1]))
    for here, start, end in zip(total, starts, [*starts[1:], len(x)], strict=True):
        np.add.reduce(x[start:end], axis=0, out=here)
    return total


def neck_load(case: LoadCase, positions: Positions, arm: Array) -> NeckLoad:
    """What a turn asks of one end of the neck; see `neck_loads`.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    positions : Positions
        From `loadsim.mechanics.engagement.peak_positions`.
    arm : ndarray
        From that end to the head's upper face. [mm]

    Returns
    -------
    swing : NeckLoad
    """
    return neck_loads(case, positions, [arm])[0]


def neck_loads(case: LoadCase, positions: Positions, arms: list[Array]) -> list[NeckLoad]:
    """What a turn asks of some ends of the neck; neither the neck's diameter nor its fillet is part
    of it.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    positions : Positions
        From `loadsim.mechanics.engagement.peak_positions`.
    arms : list of ndarray
        From each end to the head's upper face. [mm]

    Returns
    -------
    swings : list of NeckLoad
    """
    forces = tooth_forces(case, positions)
    across = _across(case, positions, forces.F_t, forces.F_r)
    # a tooth that skips would make the load look less reversed, and more runout look safer: for
    # the range every tooth counts as touching
    held = across
    if forces.held_t is not forces.F_t:
        held = _across(case, positions, forces.held_t, forces.held_r)
    h = forces.h.max(axis=0, initial=0.0)
    resultant = np.hypot(across.F_1, across.F_2).max(axis=0, initial=0.0)
    tooth_force = forces.F_t.max(axis=0, initial=0.0)
    torque = gather(forces.F_t, positions) * case.radius
    swings = []
    for arm in arms:
        M_1, M_2 = across.moments(arm + case.head_height)
        moment = np.hypot(M_1, M_2)
        low, high = _range_around(*held.moments(arm + case.head_height), positions.idle)
        swings.append(
            NeckLoad(
                h=h,
                force=resultant,
                tooth_force=tooth_force,
                torque=torque,
                moment=moment,
                low=low,
                high=high,
            )
        )
    return swings


@dataclass(frozen=True, slots=True, kw_only=True)
class _Across:
    """Force across the axis in axes that turn with the cutter, and its moment about the head's
    lower face; (a', s).
    """

    F_1: Array  #: [N]
    F_2: Array  #: [N]
    M_1: Array  #: [N*mm]
    M_2: Array  #: [N*mm]

    def moments(self, reach: Array) -> tuple[Array, Array]:
        """Moment at a place so far above the lower face [mm]; (a', s) [N*mm]."""
        return self.F_1 * reach - self.M_1, self.F_2 * reach - self.M_2


def _across(case: LoadCase, positions: Positions, F_t: Array, F_r: Array) -> _Across:
    F_1, F_2 = force.cutter_frame(F_t, F_r, positions.tooth, case.teeth)
    level = positions.level[:, None]
    return _Across(
        F_1=gather(F_1, positions),
        F_2=gather(F_2, positions),
        M_1=gather(F_1 * level, positions),
        M_2=gather(F_2 * level, positions),
    )


def moment_around(case: LoadCase, positions: Positions, arm: Array) -> Array:
    """Moment at one end of the neck in every position, in axes that turn with the cutter.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    positions : Positions
        Of a whole turn.
    arm : ndarray
        From that end to the head's upper face. [mm]

    Returns
    -------
    moment : ndarray of complex, shape (a, s)
        Its two parts; a tooth that skips counts as touching. [N*mm]
    """
    forces = tooth_forces(case, positions)
    held = _across(case, positions, forces.held_t, forces.held_r)
    M_1, M_2 = held.moments(arm + case.head_height)
    around = np.zeros((positions.turn.size, M_1.shape[1]), complex)
    around[np.unique(positions.position)] = M_1 + 1j * M_2
    return around


def _range_around(M_1: Array, M_2: Array, idle: bool) -> tuple[Array, Array]:
    """Lowest and highest moment of the point around the neck that a turn harms most, (s,)."""
    best = low = high = np.zeros(M_1.shape[1:])
    for alpha in math.pi * np.arange(POINTS) / POINTS:
        along = M_1 * math.cos(alpha) + M_2 * math.sin(alpha)
        lo = along.min(axis=0)
        hi = along.max(axis=0)
        if idle:
            lo = np.minimum(lo, 0.0)
            hi = np.maximum(hi, 0.0)
        # by Smith, Watson and Topper: neither is less where more metal is met
        harm = np.maximum(hi, -lo) * (hi - lo)
        wider = harm > best
        best = np.where(wider, harm, best)
        low = np.where(wider, lo, low)
        high = np.where(wider, hi, high)
    between = math.cos(math.pi / POINTS / 2)
    return low / between, high / between


def turn(case: LoadCase, positions: Positions) -> Turn:
    """Forces on the cutter in the frame of the table, over one turn.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    positions : Positions
        From `loadsim.mechanics.engagement.whole_turn`.

    Returns
    -------
    turn : Turn
    """
    forces = tooth_forces(case, positions)
    F_x, F_y = force.feed_frame(forces.F_t, forces.F_r, positions.phi[:, None])
    shape = (positions.turn.size, *forces.F_t.shape[1:])
    x = np.zeros(shape)
    y = np.zeros(shape)
    t = np.zeros(shape)
    met = np.unique(positions.position)
    x[met] = gather(F_x, positions)
    y[met] = gather(F_y, positions)
    t[met] = gather(forces.F_t, positions) * case.radius
    return Turn(angle=positions.turn, weight=positions.weight, F_x=x, F_y=y, torque=t)
