"""Results: plain data, to JSON. No computing here."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What is set on the machine."""

    spindle_speed_rpm: float
    surface_speed_m_per_min: float
    feed_per_tooth_mm: float
    feed_rate_mm_per_min: float
    stepover_mm: float | None
    handwheel_seconds_per_turn: float | None
    cutting_time_s: float
    passes: tuple[dict[str, Any], ...]
    predrill: dict[str, Any] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """What the cut does to the cutter and the table."""

    peak_chip_mm: float
    peak_force_N: float
    mean_force_N: float
    peak_torque_Nmm: float
    mean_torque_Nmm: float
    mean_power_W: float
    feed_force_mean_N: float
    feed_force_pull_N: float
    removal_rate_mm3_per_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckState:
    """What the neck bears."""

    stiffness_N_per_mm: float
    deflection_mm: float
    moment_Nmm: float
    bending_stress_MPa: float
    torsion_stress_MPa: float
    kt_bending: float
    kt_torsion: float
    peak_stress_MPa: float
    natural_frequency_Hz: float
    force_to_snap_N: float
    torque_to_snap_Nmm: float
    cycles: float


#: What `Result.governed_by` says when no limit but the chance itself governs.
SNAP = "snap probability"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One way the cut can go wrong: demand against capacity."""

    name: str
    demand: float
    capacity: float
    unit: str
    utilization: float
    hard: bool
    fit: bool  #: a clearance, judged by itself
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """One uncertain input and its share of the variance."""

    name: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """Chance that the neck snaps in this cut."""

    snap_probability: float
    low: float
    high: float
    samples: int
    seed: int
    drivers: tuple[Driver, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What is held of one number: its middle, and where it lies 68 and 95 times in 100."""

    middle: float
    low_68: float
    high_68: float
    low_95: float
    high_95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading of a test cut against what was expected of it before any test cut, in mm, N, N*mm or W."""

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
    readings: tuple[Reading, ...]


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


@dataclass(frozen=True, slots=True, kw_only=True)
class PredrillVerdict:
    """Whether end holes are needed."""

    verdict: str
    why: str
    holes: dict[str, Any] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ThroatMillState:
    """The end mill of the throat slot: its settings, given or picked, and its limits."""

    tool: str
    spindle_speed_rpm: float
    feed_per_tooth_mm: float
    feed_rate_mm_per_min: float
    depth_per_pass_mm: float
    levels: int  #: depths
    passes: int  #: in all
    side_width_mm: float  #: radial width of the passes beside the first; zero without
    cutting_time_s: float
    limits: tuple[Limit, ...]  #: largest share first
    safe: bool  #: whether every hard limit holds
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer of `loadsim check`."""

    loadsim: str
    job: str
    verdict: str
    governed_by: str  #: a limit, or "snap probability"
    settings: Settings
    loads: Loads
    neck: NeckState
    limits: tuple[Limit, ...]
    risk: Risk
    predrill: PredrillVerdict
    feel: str  #: whether a hand would feel the load
    advice: tuple[str, ...]  #: what would make it safe
    picked: tuple[str, ...]  #: what was picked because [cut] left it out
    warnings: tuple[str, ...]
    sources: tuple[str, ...] = field(default=())
    throat_mill: ThroatMillState | None = None
    trials: Trials | None = None  #: what test cuts changed; None without any
    why: str = ""  #: why it is marginal; empty when it is not
    bad_case: str = ""  #: what the cut that snaps looks like, where the limits alone would not explain it

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object: numbers in mm, N, N*mm, MPa, W, rpm, mm/min, s, Hz.

        Raises
        ------
        ValueError
            If a number is not finite.
        """
        data: dict[str, Any] = _plain(self)
        return data

    def limits_table(self) -> pd.DataFrame:
        """Return the limits as a pandas.DataFrame, one row a limit."""
        import pandas as pd

        return pd.DataFrame([_plain(x) for x in self.limits])


def _plain(value: Any) -> Any:
    """Turn dataclasses and tuples into dicts and lists, and refuse what is not finite."""
    if hasattr(value, "__dataclass_fields__"):
        return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError("a result is not a finite number")
    return value
