"""Published relations of grinding that no answer uses: a neighbour of those that are used.

The set-down of a relief flat, and how the steps of an infeed lie on top of one another.
"""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import must_be, takes


@takes(relief=must_be("rad", over=0.0, below=np.pi / 2), radius=must_be("mm", over=0.0))
def relief_setdown(relief: Reals, radius: Reals) -> Array:
    """Set-down from the round surface at which a relief flat just reaches the edge, ``R (1 -
    cos(alpha))``.

    Parameters
    ----------
    relief : array_like
        alpha, by which the edge is turned past the top. [rad]
    radius : array_like
        R, over the teeth. [mm]

    Returns
    -------
    set_down : ndarray
        [mm]

    Raises
    ------
    ModelError
        If any value is out of range.

    References
    ----------
    PlaneGeometry, sagitta of a chord

    Examples
    --------
    >>> round(float(relief_setdown(np.pi / 3, 2.0)), 9)
    1.0
    """
    alpha = relief
    return np.asarray(2 * radius * np.sin(alpha / 2) ** 2)


@takes(turns=must_be("1", least=0.0), set_at=must_be("1", least=0.0), step=must_be("mm", over=0.0))
def depth_met(turns: Reals, set_at: Reals, step: float) -> Array:
    """Depth that the wheel meets while the blank is turned: all that was set within the last turn.

    Parameters
    ----------
    turns : array_like, shape (m,)
        Turns made so far. [1]
    set_at : array_like, shape (k,)
        Turns at which the wheel was set in by one step, not negative. [1]
    step : float
        Infeed of one step. [mm]

    Returns
    -------
    depth : ndarray, shape (m,)
        [mm]

    Raises
    ------
    ModelError
        If any value is not finite or negative.

    Notes
    -----
    The surface at the wheel was last cut one turn ago, down to where the wheel stood then.

    References
    ----------
    Malkin2008, kinematics of cylindrical plunge grinding

    Examples
    --------
    >>> depth_met([1.1], [0.0, 0.25, 0.5, 0.75], 0.01).tolist()
    [0.03]
    >>> depth_met([1.1], [0.0, 1.0], 0.01).tolist()
    [0.01]
    """
    t = turns[..., None]
    count = np.count_nonzero((set_at <= t) & (set_at > t - 1.0), axis=-1)
    return np.asarray(count * float(step))


@takes(fraction=must_be("1", over=0.0))
def steps_on_top(fraction: Reals) -> Array:
    """Steps that lie on top of each other when the infeed is moved after a fraction of a turn each
    time.

    Parameters
    ----------
    fraction : array_like
        Of a turn between two moves, above 0. [1]

    Returns
    -------
    steps : ndarray
        One when a full turn or more is made. [1]

    Raises
    ------
    ModelError
        If any value is not finite or not above 0.

    References
    ----------
    Malkin2008, kinematics of cylindrical plunge grinding

    Examples
    --------
    >>> steps_on_top([0.25, 0.3, 1.0, 1.5]).tolist()
    [4.0, 4.0, 1.0, 1.0]
    """
    return np.asarray(np.ceil(1.0 / fraction - 1e-9))
