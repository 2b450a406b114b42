"""What bounds the settings that were picked."""

from __future__ import annotations

from loadsim.loads.machine import SpeedBound
from loadsim.materials.schema import BlankMaterial, WorkMaterial


def speed_bound(bound: SpeedBound, blank: BlankMaterial, work: WorkMaterial) -> str:
    """Say what bounds a spindle speed.

    Parameters
    ----------
    bound : SpeedBound
        From `loadsim.loads.machine.lowest_speed`.
    blank : BlankMaterial
        What the tool is made of: its title.
    work : WorkMaterial
        What it cuts: its title.

    Returns
    -------
    bound : str
        To follow "bound by".
    """
    return {
        SpeedBound.FASTEST: "the fastest the machine runs",
        SpeedBound.SLOWEST: "the slowest the machine runs, faster than the metal asks for",
        SpeedBound.SURFACE_SPEED: f"the surface speed for {blank.title} in {work.title}",
        SpeedBound.RESONANCE: "the distance to resonance",
    }[bound]
