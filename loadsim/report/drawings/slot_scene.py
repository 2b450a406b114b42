"""What the section of the slot shows: clearances, and the lettering beside it."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.answers.results import Settings
from loadsim.job.tables import Job
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.report.drawings.marks import lettered

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotScene:
    """What the section shows, gathered once."""

    job: ResolvedJob
    settings: Settings
    axis: float  #: offset of the first pass [mm]
    level: float  #: of its head [mm]
    low: float  #: least offset of all passes [mm]
    high: float  #: largest [mm]
    busy: int  #: side with the undercut, where most is dimensioned

    @property
    def neck_gaps(self) -> Point:
        """Neck to throat wall, low and high side, each at the pass that comes nearest. [mm]"""
        half = self.job.cutter.neck_diameter / 2
        return (
            self.low - half - self.job.section.throat_low,
            self.job.section.throat_high - self.high - half,
        )

    @property
    def roof_gap(self) -> float:
        """Head to the undercut's roof, first pass. [mm]"""
        return self.job.slot.undercut_height - self.level - self.job.head.height

    @property
    def shoulder(self) -> float:
        """Height of the shank's shoulder over the surface, first pass. [mm]"""
        return self.level + self.job.head.height + self.job.cutter.neck_length - self.job.slot.depth

    @property
    def shank_fouls(self) -> bool:
        """Whether the shank runs into the stock: its shoulder is below the surface, and it is too
        wide for the throat.
        """
        half = self.job.cutter.shank_diameter / 2
        return self.shoulder < 0 and (
            self.low - half < self.job.section.throat_low
            or self.high + half > self.job.section.throat_high
        )

    @property
    def shallow(self) -> bool:
        """Whether the throat slot was milled less deep than the undercut's floor."""
        return self.job.section.throat_floor > 1e-9

    @property
    def milled_depth(self) -> float:
        """How deep the throat slot was milled. [mm]"""
        return self.job.slot.depth - self.job.section.throat_floor

    def labels(self, side: int) -> dict[str, tuple[str, ...]]:
        """Lettering beside the section, top to bottom."""
        return self._busy_labels() if side == self.busy else self._quiet_labels()

    def _busy_labels(self) -> dict[str, tuple[str, ...]]:
        job = self.job.written
        shank = "shank fouls" if self.shank_fouls else "shank gap"
        return {
            "shank": (shank, *lettered(self.shoulder, job)),
            "neck": self._neck_label(self.busy),
            "roof": (
                "roof gap" if self.roof_gap > -1e-9 else "over roof",
                *lettered(self.roof_gap, job),
            ),
            "height": lettered(job.slot.undercut_height, job),
        }

    def _quiet_labels(self) -> dict[str, tuple[str, ...]]:
        job = self.job.written
        holes = self.settings.predrill
        labels = {"neck": self._neck_label(-self.busy), "depth": lettered(job.slot.depth, job)}
        if holes:
            labels["holes"] = lettered(holes["diameter_mm"], job, f"{holes['count']} × Ø")
        if self.shallow:
            labels["throat"] = ("throat milled", *lettered(self.milled_depth, job))
        return labels

    def _neck_label(self, side: int) -> tuple[str, ...]:
        low, high = self.neck_gaps
        gap = high if side > 0 else low
        return "neck gap" if gap >= 0 else "neck fouls", *lettered(gap, self.job.written)


def scene_of(job: Job, settings: Settings) -> SlotScene:
    """Gather what the section shows.

    Parameters
    ----------
    job : Job
        The job.
    settings : Settings
        Passes and end holes, from the answer to this job.

    Returns
    -------
    scene : SlotScene
    """
    offsets = [entry["offset_mm"] for entry in settings.passes]
    return SlotScene(
        job=resolve(job),
        settings=settings,
        axis=offsets[0],
        level=settings.passes[0]["height_mm"],
        low=min(offsets),
        high=max(offsets),
        busy=-1 if job.slot.sides == 2 else 1,
    )
