"""A chance with its interval and drivers, and what test cuts make of it, as data."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """One uncertain input and its share of the variance."""

    name: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Modes:
    """Chance of each way to break alone. [1]"""

    fracture: float
    fatigue: float
    torsion: float
    grab: float  #: the table is grabbed, and the tooth fed by the backlash breaks the neck


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """What becomes of one cutter over all slots of a job."""

    slots: int
    snap_probability: float  #: within all of them [1]
    #: slots up to which the chance stays within the asked one; None: one is too many, or all hold
    slots_to_target: int | None
    stone_after_slots: int | None  #: slots until the edges are due for the stone; None: after all


@dataclass(frozen=True, slots=True, kw_only=True)
class Prove:
    """The scrap cut that proves a marginal one, and what it is worth."""

    feed_per_tooth_mm: float
    length_mm: float
    slots: int
    snap_probability: float  #: of the scrap cut [1]
    after: float  #: of the next slot, if the cutter lives through it [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """Chance that the neck snaps in this cut."""

    snap_probability: float
    low: float
    high: float
    samples: int
    seed: int
    drivers: tuple[Driver, ...]
    modes: Modes


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What is held of one number: its middle, and where it lies 68 and 95 times in 100."""

    middle: float
    low_68: float
    high_68: float
    low_95: float
    high_95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialReading:
    """One reading of a test cut against what was expected of it before any test cut, in mm, N, N*mm
    or W.
    """

    name: str
    unit: str
    value: float
    uncertainty: float
    expected: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrapCut:
    """One test cut that counts, and what was expected of it before any test cut."""

    where: str  #: its place in its file
    outcome: str
    length_mm: float
    snap_expected: float  #: chance that it snaps within that length
    readings: tuple[TrialReading, ...]
    sound: str | None = None  #: quiet, sings or howls; None: not told


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A factor on a nominal value, before and after the test cuts."""

    name: str
    before: Band
    after: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class Trials:
    """What the test cuts make of the answer."""

    cuts: tuple[ScrapCut, ...]
    skipped: tuple[str, ...]  #: test cuts that do not count here, and why
    samples: int
    effective_samples: float
    factors: tuple[Factor, ...]
    before: dict[str, float]  #: snap probability with its interval, without the test cuts
    after: dict[str, float]
