"""What a run of cuts asks of the necks of a sample, as numbers that a later run is added to, and
the chance that they live through it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loadsim.base.numbers import Array, Index


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What a run asks of every sample's neck; (s,)."""

    sigma_1: Array  #: largest principal stress of the worst instant [MPa]
    sigma_v: Array  #: von Mises stress of the worst instant [MPa]
    torsion: Array  #: largest torque over the one that snaps the neck [1]
    grabbed: Array  #: largest principal stress if the table is grabbed [MPa]
    turns: tuple[float, ...]  #: of each level of amplitude [1]
    amplitudes: tuple[Array, ...]  #: fully reversed, of each level [MPa]

    def take(self, which: Index | slice) -> Demand:
        """Return the samples wanted."""
        return Demand(
            sigma_1=self.sigma_1[which],
            sigma_v=self.sigma_v[which],
            torsion=self.torsion[which],
            grabbed=self.grabbed[which],
            turns=self.turns,
            amplitudes=tuple(level[which] for level in self.amplitudes),
        )

    def then(self, other: Demand) -> Demand:
        """Return what both runs ask of one neck, one after the other."""
        return Demand(
            sigma_1=np.maximum(self.sigma_1, other.sigma_1),
            sigma_v=np.maximum(self.sigma_v, other.sigma_v),
            torsion=np.maximum(self.torsion, other.torsion),
            grabbed=np.maximum(self.grabbed, other.grabbed),
            turns=(*self.turns, *other.turns),
            amplitudes=(*self.amplitudes, *other.amplitudes),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Survival:
    """Logarithm of the chance to live through all that was asked, by each way to break; (s,)."""

    fracture: Array  #: a ductile neck that bends for good counts as broken [1]
    fatigue: Array
    torsion: Array
    margin: Array  #: ln(stress / characteristic strength) [1]
    fatigue_margin: Array  #: ln(amplitude / strength), the damage of all turns summed [1]

    @property
    def all(self) -> Array:
        """Of every way together. [1]"""
        return self.fracture + self.fatigue + self.torsion

    def take(self, which: Index | slice) -> Survival:
        """Return the samples wanted."""
        return Survival(**{k: getattr(self, k)[which] for k in Survival.__dataclass_fields__})
