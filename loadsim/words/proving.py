"""What a scrap cut would prove, what brings the chance to snap, and what becomes of a batch."""

from __future__ import annotations

from loadsim.base import shop, units
from loadsim.loads.assumptions import STONE_LAND
from loadsim.loads.limits.utilization import LimitCode
from loadsim.risk.results import Batch, Modes, Prove, Risk
from loadsim.words.phrases import accepted, chance_text

#: Each way to break, as a limit is named, and as it is told behind the first.
MODES = {
    "fracture": (LimitCode.NECK_FRACTURE, "fracture"),
    "fatigue": (LimitCode.NECK_FATIGUE, "fatigue"),
    "torsion": (LimitCode.NECK_TORSION, "torsion"),
    "grab": (LimitCode.TABLE_GRAB, "table grab"),
}

#: Least share of the chance that is told. [1]
LEAST_TOLD = 0.005


def mode_shares(modes: Modes) -> list[tuple[str, float]]:
    """Share of the chance that each way to break brings, the largest first.

    Parameters
    ----------
    modes : Modes
        Chance by each way alone.

    Returns
    -------
    shares : list of (str, float)
        Field of `Modes`, share of the sum of all. [1]
    """
    chances = {name: float(getattr(modes, name)) for name in MODES}
    total = sum(chances.values())
    shares = [(name, chance / total if total else 0.0) for name, chance in chances.items()]
    return sorted(shares, key=lambda share: -share[1])


def chance_by(modes: Modes) -> str:
    """Say which way to break brings how much of the chance.

    Examples
    --------
    >>> chance_by(Modes(fracture=0.0038, fatigue=0.0062, torsion=0.0, grab=0.0))
    'neck fatigue: 62% of the chance, fracture 38%'
    """
    (first, share), *others = mode_shares(modes)
    text = f"{MODES[first][0]}: {share:.0%} of the chance"
    rest = [f"{MODES[name][1]} {part:.0%}" for name, part in others if part >= LEAST_TOLD]
    return ", ".join([text, *rest])


def prove_text(prove: Prove, system: units.System) -> str:
    """Say which scrap cut proves a cut, what it risks, and what it is worth.

    Parameters
    ----------
    prove : Prove
        The scrap cut.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    feed = units.show(prove.feed_per_tooth_mm, "feed per tooth", system)
    length = units.show(prove.length_mm, "length", system)
    many = prove.slots > 1
    slots = f"{prove.slots} slots of {length} each" if many else f"one slot of {length}"
    return (
        f"Prove it on scrap: cut {slots} in the same metal at these very settings, {feed}, with"
        f" this cutter. It snaps there in {chance_text(prove.snap_probability)}; if it lives, the"
        f" next slot snaps it in {chance_text(prove.after)}."
    )


def prove_short(prove: Prove, system: units.System) -> str:
    """Say shortly which scrap cut proves a cut, and what it is worth.

    Parameters
    ----------
    prove : Prove
        The scrap cut.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    length = shop.length_text(prove.length_mm, system)
    many = f"{prove.slots} slots" if prove.slots > 1 else "one slot"
    after = chance_text(prove.after).removeprefix("about ")
    return (
        f"Prove it: cut {many} {length} long in scrap of this metal, set like this. If the cutter"
        f" lives, the next slot snaps it in {after}."
    )


def batch_text(batch: Batch, risk: Risk, target: float, system: units.System = "metric") -> str:
    """Say what becomes of one cutter over all slots of a job; empty for a single slot.

    Parameters
    ----------
    batch : Batch
        All slots.
    risk : Risk
        Of the next slot.
    target : float
        Accepted snap probability. [1]
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    if batch.slots <= 1:
        return ""
    text = (
        f"Batch of {batch.slots:,} slots with one cutter: the next slot snaps it in"
        f" {chance_text(risk.snap_probability)}, the whole batch in"
        f" {_batches(batch.snap_probability)}."
    )
    if batch.slots_to_target is not None and batch.slots_to_target < batch.slots:
        text += (
            f" It stays within {accepted(target)} for {_slots(batch.slots_to_target)}; then take"
            " another cutter."
        )
    if batch.stone_after_slots is not None:
        land = units.show(STONE_LAND, "length", system)
        text += (
            f" Stone the edges after {_slots(batch.stone_after_slots)}, or sooner when their worn"
            f" land is {land} wide."
        )
    return text


def _batches(p: float) -> str:
    """Say a chance as so many batches."""
    return chance_text(p).replace("cuts", "batches").replace("cut", "batch")


def _slots(count: int) -> str:
    return f"{count:,} slot{'' if count == 1 else 's'}"
