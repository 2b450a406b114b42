"""Results: plain data, to JSON. No computing here."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from loadsim.base.notes import Note
from loadsim.base.numbers import plain
from loadsim.job.tables import Job
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.mechanics import gauging
from loadsim.risk.results import Band, Batch, Prove, Risk, Trials

if TYPE_CHECKING:
    import pandas as pd

    from loadsim.risk.samples import Draws


class Verdict(StrEnum):
    """The decision, the same word in every answer; the value is the word of the JSON."""

    GO = "go"
    MARGINAL = "marginal"  #: told as "prove it on scrap first"
    NO_GO = "no-go"


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation of the routing."""

    name: str
    tool: str
    spindle_speed_rpm: float | None
    feed_mm_per_min: float | None
    depth_per_pass_mm: float | None
    passes: int
    time_s: float | None  #: on the machine, setting up included [s]
    limits: tuple[Limit, ...]  #: of its tool, largest share first; empty when it is not checked
    steps: tuple[dict[str, Any], ...]  #: passes or holes, in order
    what: str  #: for the traveler

    @property
    def worst(self) -> Limit | None:
        """The hard limit or the chance that is nearest to what is asked; None when the tool is not
        checked.
        """
        hard = [x for x in self.limits if x.hard and not x.fit and x.decides]
        return max(hard, key=lambda limit: limit.utilization) if hard else None

    @property
    def share(self) -> float | None:
        """Largest share of a hard limit or of the asked probability; None when the tool is not
        checked. [1]
        """
        return None if self.worst is None else self.worst.utilization


def over_capacity(operations: tuple[Operation, ...]) -> tuple[str, ...]:
    """Tool and limit, for every hard limit of some operations that is over capacity."""
    return tuple(
        f"{operation.tool}: {limit.name}"
        for operation in operations
        for limit in operation.limits
        if limit.hard and limit.over and limit.name is not LimitCode.SNAP_PROBABILITY
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Routing:
    """All operations in order, and the tool that is nearest to its end."""

    operations: tuple[Operation, ...]
    weakest: str  #: the tool
    why: str  #: by which limit, and which tools were not checked

    @property
    def over(self) -> tuple[str, ...]:
        """Tool and limit, for every hard limit over capacity; the verdict weighs the chances."""
        return over_capacity(self.operations)


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
    #: largest moment and fatigue amplitude as the neck rings, over those at rest; they are in the
    #: chance, the stresses above are those at rest
    shock_moment_factor: float
    shock_amplitude_factor: float
    force_to_snap_N: float
    torque_to_snap_Nmm: float
    cycles: float  #: turns that load the neck; while it only rubs, those at the feed that cuts


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
    levels: int  #: depths on the centre line
    side_levels: int  #: depths of the passes beside it; zero without
    passes: int  #: in all
    side_width_mm: float  #: radial width of the passes beside the first; zero without
    cutting_time_s: float
    limits: tuple[Limit, ...]  #: largest share first
    safe: bool  #: whether every hard limit holds
    reasons: tuple[str, ...]

    @property
    def side_steps(self) -> int:
        """Passes side by side on each side; none where the mill is as wide as the throat. [1]"""
        return (self.passes - self.levels) // (2 * self.side_levels) if self.side_levels else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """A change that helps a cut, and where the cut then stands."""

    text: str  #: what to do, in words
    verdict: Verdict
    snap_probability: float  #: [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """How the neck goes where it goes."""

    at_shoulder: bool  #: at the fillet under the shank, rather than at the one above the head
    traits: tuple[Note, ...]  #: what the cuts that snap have in common; empty where few snap


#: What short texts are made of, beside what the JSON tells.
UNTOLD = ("helps", "cause")


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer of `loadsim check`."""

    loadsim: str
    job: str
    verdict: Verdict
    governed_by: LimitCode
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
    why: str = ""  #: why it is to be proved on scrap first; empty else
    #: what the cut that snaps looks like, where the limits alone would not explain it
    bad_case: str = ""
    #: what becomes of one cutter over all slots of the job; None when that was not asked
    batch: Batch | None = None
    prove: Prove | None = None  #: the scrap cut, where the verdict is to prove it first
    helps: tuple[Help, ...] = ()  #: the changes that `advice` tells of
    cause: Cause | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object: numbers in mm, N, N*mm, MPa, W, rpm, mm/min, s, Hz.

        Raises
        ------
        ValueError
            If a number is not finite.
        """
        data: dict[str, Any] = plain(replace(self, helps=(), cause=None))
        return {name: value for name, value in data.items() if name not in UNTOLD}

    def limits_table(self) -> pd.DataFrame:
        """Return the limits as a pandas.DataFrame, one row a limit."""
        import pandas as pd

        return pd.DataFrame([plain(x) for x in self.limits])


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Median of a predicted size, and the ends that one cut in twenty falls short of and passes."""

    p05: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What brings the median to the middle of the tolerance."""

    #: "none", "grind", "new head", "offset", or "offset short" when the neck meets the throat first
    kind: str
    change_mm: float  #: of the head's diameter, or of each outer pass outward
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """Prediction of the undercut as an inspector would measure it. Lengths in mm."""

    drawn_width_mm: float
    tolerance_mm: float | None  #: plus and minus; None: the job gives none
    width_mm: Spread
    #: the wall that leans more: floor end less roof end; negative is narrower at the floor
    wall_lean_mm: Spread
    floor_step_mm: Spread  #: highest less lowest part of the floor
    deflection_mm: float  #: median, of the wall that deflects more; negative is away from the wall
    runout_growth_mm: float  #: median, of the width
    wear_loss_mm: float  #: median, of the width
    under: gauging.Chance | None
    over: gauging.Chance | None
    out: gauging.Chance | None
    gauges: tuple[gauging.Method, ...]
    correction: Correction
    samples: int
    seed: int
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object.

        Raises
        ------
        ValueError
            If a number is not finite.
        """
        data: dict[str, Any] = plain(self)
        return data


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One way of making the undercut, evaluated."""

    name: str
    verdict: Verdict
    safe: bool  #: whether its verdict is go, and nothing else bars it
    feed_per_tooth_mm: float
    passes: int
    time_s: float  #: on the machine, drilling and tool changes included
    snap_probability: float
    bound_by: str  #: what bounds its feed
    next_limit: str  #: the next limit, and how far it is
    why_not: str  #: why it lost; empty for the one chosen


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The answer of `loadsim plan`: the way chosen, checked as a whole, and the ways it beat."""

    asked: Job  #: the job as it was given
    job: Job  #: the job with [cut] filled in
    result: Result
    alternatives: tuple[Alternative, ...]  #: best first
    reasons: tuple[str, ...]  #: for each setting
    safe: bool  #: whether the verdict is go
    routing: Routing  #: the operations in order, with the settings of every tool
    inspection: Inspection  #: what the print will see
    #: the sample of the risk as the test cuts weigh it, which what is made of a plan goes on with
    drawn: Draws = field(repr=False, compare=False)

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object: that of `check`, with the alternatives and reasons."""
        return {
            **self.result.to_dict(),
            "alternatives": plain(self.alternatives),
            "reasons": list(self.reasons),
            "safe": self.safe,
            "operations": plain(self.routing.operations),
            "weakest_tool": self.routing.weakest,
            "weakest_why": self.routing.why,
            "inspection": self.inspection.to_dict(),
        }

    def alternatives_table(self) -> Any:
        """Return the alternatives as a pandas.DataFrame, best first."""
        import pandas as pd

        return pd.DataFrame(plain(self.alternatives))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedReading:
    """What one reading would add to a test cut."""

    name: str
    unit: str
    uncertainty: float  #: assumed of the instrument, 19 readings in 20
    expected: Band
    narrowing: float  #: of the band of load over strength, the outcome included [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One test cut that could be made."""

    feed_per_tooth_mm: float
    length_mm: float
    snap_chance: float
    narrowing: float  #: by the outcome alone [1]
    reads: tuple[ExpectedReading, ...]

    @property
    def most(self) -> float:
        """Narrowing with the reading that teaches most. [1]"""
        return max([self.narrowing, *(reading.narrowing for reading in self.reads)])


class Watched(StrEnum):
    """What tells how a cut runs; the value is the word a reader sees."""

    POWER = "spindle power"
    FINISH = "finish and burrs"
    SIZE = "size"
    NECK = "neck"
    CHIPS = "chips"
    SOUND = "sound"


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSign:
    """One thing to watch: what it is like when the cut is right, and what to do if not."""

    what: Watched
    right: str
    wrong: tuple[str, ...]  #: each what it is like else, and what to do; the likeliest first

    @property
    def if_not(self) -> str:
        """All that can be wrong, in one line."""
        return "; ".join(self.wrong)

    def to_dict(self) -> dict[str, str]:
        """Return the JSON object."""
        return {"what": self.what, "right": self.right, "if_not": self.if_not}


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialSheet:
    """The sheet for the machine."""

    result: Result
    spindle_speed_rpm: float
    candidates: tuple[Candidate, ...]  #: the one to make first
    why: str
    looks: tuple[CutSign, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object: what the test cuts say, and the sheet for the next one."""
        result = self.result
        return {
            "loadsim": result.loadsim,
            "job": result.job,
            "verdict": result.verdict,
            "risk": plain(result.risk),
            "trials": plain(result.trials),
            "spindle_speed_rpm": self.spindle_speed_rpm,
            "candidates": plain(self.candidates),
            "why": self.why,
            "looks": [look.to_dict() for look in self.looks],
            "warnings": list(result.warnings),
        }
