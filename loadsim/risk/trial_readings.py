"""Scrap test cuts: what each was expected to do at every sample, before it was made.

The metal's force and the blank's strength are the same in a test cut and in the job, so they share
their draws, and so does all that belongs to the same cutter. What differs from cut to cut is drawn
anew for the outcome (steadiness of the feed, packing, wear) and is part of a reading's own scatter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from loadsim.base.errors import FILE, InputError, Problem, printable
from loadsim.base.numbers import Array
from loadsim.job.material_paths import first_name
from loadsim.job.read import changed, read_job
from loadsim.job.rules_cut import READINGS
from loadsim.job.tables import Trial
from loadsim.loads import assumptions
from loadsim.loads.assumptions import DEFAULT_STIFFNESS
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.deflection import compliance
from loadsim.loads.end_holes import holes_of
from loadsim.loads.load_case import LoadCase
from loadsim.loads.neck_stress import notches, peaks
from loadsim.loads.passes import along, passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.turn import turn
from loadsim.mechanics import chip
from loadsim.risk import samples
from loadsim.risk.demand import block_of, led, survived_demand
from loadsim.risk.neck_demand import Demand
from loadsim.risk.samples import Uncertain
from loadsim.risk.survival import survival

#: What the chain itself leaves open in a reading, one standard deviation, relative (assumed, no
#: source). [1]
MODEL_SD = {
    "force": 0.05,
    "torque": 0.10,
    "spindle_power": 0.15,
    "deflection": 0.15,
    "slot_width": 0.30,
    "wall_offset": 0.30,
}

#: Spread of the logarithm of a stiffness at the collet that is assumed, and of one that was
#: measured (assumed). [1]
STIFFNESS_SD_ASSUMED = 0.6
STIFFNESS_SD = 0.15

#: Spread of the head's diameter as measured (common practice, no source). [mm]
HEAD_SD = 0.01

#: An uncertainty as read covers 19 readings in 20: two standard deviations (JCGM100, coverage
#: factor 2). [1]
COVERAGE = 2.0

WALLS = ("slot_width", "wall_offset")

#: Turning positions that stand for a turn when its mean is taken at every sample. [1]
FINE = 36

#: Most samples that readings are foreseen for at once, and a force that pushes nothing. [1]
BLOCK = 4096
RIGID = 1e-9

#: Sets the draws of the slot that snapped a neck apart from those before it.
LAST = 1_000_003

#: What belongs to one cutter.
OF_THE_CUTTER = (
    Uncertain.RUNOUT,
    Uncertain.NECK_DIAMETER,
    Uncertain.NECK_FILLET,
    Uncertain.NECK_LENGTH,
    Uncertain.HEAD_HEIGHT,
    Uncertain.NECK_GRINDING,
    Uncertain.SMALL_VOLUME,
    Uncertain.EDGE_WEAR,
    Uncertain.EDGE_GROUND,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialCut:
    """One test cut where it was made: its job, passes and settings."""

    file: str  #: "job" is the job's own
    number: int  #: place in its file, from 1
    trial: Trial
    job: ResolvedJob
    way: Engagement
    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    same_cutter: bool

    @property
    def share(self) -> float:
        """Share of a slot that each cut was long: the worst of the feed and of packing falls evenly
        along it. [1]
        """
        return min(self.trial.length / self.job.slot.length, 1.0)

    @property
    def seed(self) -> tuple[int, ...]:
        """Of what is drawn anew for it."""
        return (len(self.file), *self.file.encode()[-8:], self.number)

    @property
    def where(self) -> str:
        """Name of the table, as in a problem of its file."""
        return f"[[trial]] {self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedReading:
    """One reading as every sample foresees it; logarithms, but for the walls."""

    name: str
    value: float  #: what was read
    sd: float  #: of the reading alone
    predicted: Array  #: (s,)
    feed: float  #: of the feed's steadiness
    stiffness: float  #: of the stiffness at the collet
    model: float  #: of the chain itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """One test cut as every sample foresees it."""

    site: TrialCut
    demand: Demand  #: what it asked
    ln_lived: Array  #: logarithm of the chance to live through it, (s,)
    readings: tuple[PredictedReading, ...]
    #: of several slots the last of which snapped the neck: what those before it asked
    before: Demand | None = None
    ln_before: Array | float = 0.0  #: logarithm of the chance to live through those, (s,)

    @property
    def survived(self) -> bool:
        """Whether the cutter lived through it."""
        return self.site.trial.outcome == "survived"

    @property
    def proves(self) -> bool:
        """Whether the job's own cutter lived through it: its damage and its proof go on."""
        return self.site.same_cutter and self.survived


def trial_cuts(job: ResolvedJob) -> tuple[list[TrialCut], tuple[str, ...]]:
    """Find the test cuts that count for a job: its own, and those of the files it names.

    Parameters
    ----------
    job : ResolvedJob
        Its test cuts, metal, blank and the files that it names.

    Returns
    -------
    sites : list of TrialCut
    skipped : tuple of str
        Which do not count, and why.

    Raises
    ------
    InputError
        If a file that [job] trials names cannot be read.
    """
    sites, skipped = _sites_in(job, job, "job")
    for path in job.written.job.trials:
        name = first_name(path)
        if not Path(path).exists():
            message = f"{printable(name, 200)}: there is no such file"
            raise InputError(FILE, [Problem(where="[job] trials", message=message)])
        other = resolve(read_job(path))
        there, why = _sites_in(job, other, name)
        shop = other.written.shop
        if other.written.job.trials and (shop is None or "job.trials" not in shop.keys):
            why.append(
                f"The files that {name} names in [job] trials are not read; name them in this job."
            )
        if not other.trial:
            why.append(f"{name} has no [[trial]]: it teaches nothing.")
        sites = sites + there
        skipped = skipped + why
    return sites, tuple(skipped)


def _sites_in(job: ResolvedJob, there: ResolvedJob, file: str) -> tuple[list[TrialCut], list[str]]:
    """Find the test cuts of one file that tell of this metal and this blank."""
    sites = []
    skipped = []
    place = "" if file == "job" else f"{file} "
    for number, trial in enumerate(there.trial, 1):
        made, same = _as_made(there, trial, file, number)
        reason = _other_stuff(job, made)
        if reason:
            skipped.append(f"{place}[[trial]] {number} does not count here: {reason}.")
        else:
            sites.append(_site(made, trial, file, number, same))
    return sites, skipped


def _site(made: ResolvedJob, trial: Trial, file: str, number: int, same: bool) -> TrialCut:
    """Lay a test cut out as it was made; same: with the cutter of its file."""
    f_z = trial.feed_per_tooth
    if trial.feed_rate is not None:
        f_z = chip.feed_per_tooth(trial.feed_rate, made.cutter.teeth, trial.spindle_speed)
    assert f_z is not None  # the file is refused without
    holes = holes_of(made.written) if trial.predrill else ()
    drilled = made.predrill
    depth = math.inf if drilled is None else drilled.depth
    cuts = passes(made, trial.stepover, trial.direction or "conventional", holes, depth)
    return TrialCut(
        file=file,
        number=number,
        trial=trial,
        job=made,
        way=engagement_of(made, cuts, FINE),
        speed=trial.spindle_speed,
        f_z=f_z,
        same_cutter=file == "job" and trial.cutter == "this" and same,
    )


def _as_made(there: ResolvedJob, trial: Trial, file: str, number: int) -> tuple[ResolvedJob, bool]:
    """Return the job as it was for one test cut, and whether its cutter is that of the file."""
    job = there.written
    stuff = {"work.material": trial.material, "cutter.material": trial.blank}
    neck = {
        f"cutter.{k}": getattr(trial, k) for k in ("neck_diameter", "neck_length", "neck_fillet")
    }
    other = {
        k: v
        for k, v in (stuff | neck).items()
        if v is not None and v != getattr(getattr(job, k.split(".")[0]), k.split(".")[1])
    }
    if not other:
        return there, True
    try:
        return resolve(changed(job, other)), False
    except InputError as error:
        where = f"[[trial]] {number}"
        keys = {"[work] material": "material", "[cutter] material": "blank"}
        problems = [
            Problem(where=f"{where} {keys[p.where]}", message=p.message)
            if p.where in keys
            else Problem(where=where, message=f"does not fit its file: {p.where} {p.message}")
            for p in error.problems
        ]
        raise InputError(file, problems) from None


def _other_stuff(job: ResolvedJob, made: ResolvedJob) -> str:
    """Say why a test cut tells nothing of this metal and this blank; empty when it does."""
    if job.written.work.material != made.written.work.material:
        return f"it cut {made.written.work.material}, this job cuts {job.written.work.material}"
    if job.cutter.material != made.cutter.material or job.cutter.hardness != made.cutter.hardness:
        return "its blank is another one (material or hardness)"
    constants = [
        (w.kc11, w.mc, w.spread, w.radial_ratio, w.rake_reference)
        for w in (job.written.work, made.written.work)
    ]
    return "" if constants[0] == constants[1] else "the force constants in [work] are not the same"


def foresee(site: TrialCut, drawn: samples.Draws) -> Prediction:
    """Work out what every sample foresees of one test cut.

    Parameters
    ----------
    site : TrialCut
        The test cut.
    drawn : Draws
        The sample, before any test cut.

    Returns
    -------
    foresight : Prediction
    """
    own = _of_its_cutter(site, drawn)
    slots = site.trial.slots
    before = None
    if site.trial.outcome == "snapped" and slots > 1:
        before = _asked(site, own, slots - 1)
        asked = before.then(_asked(site, own, 1, (LAST,)))
    else:
        asked = _asked(site, own, slots)
    return Prediction(
        site=site,
        demand=asked,
        ln_lived=survival(site.job, asked, own).all,
        readings=_readings(site, own.z),
        before=before,
        ln_before=0.0 if before is None else survival(site.job, before, own).all,
    )


def _asked(site: TrialCut, own: samples.Draws, slots: int, seed: tuple[int, ...] = ()) -> Demand:
    return survived_demand(
        site.job,
        site.way,
        site.f_z,
        own,
        speed=site.speed,
        cuts=slots,
        share=site.share,
        travel=site.trial.length,
        seed=(*site.seed, *seed),
    )


def _of_its_cutter(site: TrialCut, drawn: samples.Draws) -> samples.Draws:
    """The sample for the cutter that made a test cut: another one's is drawn anew."""
    if site.same_cutter:
        return drawn
    return samples.redrawn(drawn, OF_THE_CUTTER, site.seed)


def _readings(site: TrialCut, z: Array) -> tuple[PredictedReading, ...]:
    """Foresee what was read, and how far each thing that is not drawn moves it."""
    names = tuple(name for name in READINGS if getattr(site.trial, name) is not None)
    if not names:
        return ()
    steady = assumptions.STEADINESS[site.job.machine.feed][1]
    usual = samples.median_draws().z
    at = _scaled(predict(site, names, usual))
    more = _scaled(predict(site, names, usual, feed=math.exp(steady)))
    less = _scaled(predict(site, names, usual, feed=math.exp(-steady)))
    softer = _scaled(predict(_softer(site), names, usual))
    rigid = predict(site, names, usual, force=RIGID)
    way = replace(site.way, contacts=led(site.job, site.way.contacts, site.f_z))
    lean = replace(site, way=way)
    block = min(BLOCK, block_of(max(max(c.peak.phi.size, c.turn.phi.size) for c in way.contacts)))
    starts = range(0, z.shape[1], block)
    blocks = [_scaled(predict(lean, names, z[:, i : i + block])) for i in starts]
    return tuple(
        PredictedReading(
            name=name,
            value=_value(site.trial, name),
            sd=_reading_sd(site.trial, name),
            predicted=np.concatenate([block[name] for block in blocks]),
            feed=float(more[name][0] - less[name][0]) / 2,
            stiffness=float(softer[name][0] - at[name][0]),
            model=_model_sd(name, float(at[name][0] - rigid[name][0])),
        )
        for name in names
    )


def _softer(site: TrialCut) -> TrialCut:
    """Return the test cut on a machine one standard deviation softer."""
    job = site.job
    assumed = job.machine.stiffness is None and job.stiffness == DEFAULT_STIFFNESS
    sd = STIFFNESS_SD_ASSUMED if assumed else STIFFNESS_SD
    return replace(site, job=replace(job, stiffness=job.stiffness * math.exp(-sd)))


def _value(trial: Trial, name: str) -> float:
    """Return what was read, as the samples foresee it: a logarithm, but for the walls."""
    value = float(getattr(trial, name))
    return value if name in WALLS else math.log(value)


def _reading_sd(trial: Trial, name: str) -> float:
    sd = float(getattr(trial, f"{name}_uncertainty")) / COVERAGE
    return sd if name in WALLS else sd / float(getattr(trial, name))


def _model_sd(name: str, pushed: float) -> float:
    """Return what the chain leaves open, of a wall in what the force pushes it. [1] or [mm]"""
    sd = MODEL_SD[name] * (pushed if name in WALLS else 1.0)
    return math.hypot(sd, HEAD_SD if name == "slot_width" else 0.0)


def _scaled(readings: dict[str, Array]) -> dict[str, Array]:
    return {k: v if k in WALLS else np.log(v) for k, v in readings.items()}


def predict(
    site: TrialCut,
    names: tuple[str, ...],
    z: Array,
    force: float | Array = 1.0,
    feed: float | Array = 1.0,
) -> dict[str, Array]:
    """Predict readings at samples, in the steady run: the feed as set, no packing.

    Parameters
    ----------
    site : TrialCut
        The test cut.
    names : tuple of str
        Which of `READINGS`.
    z : ndarray, shape (23, s)
        Standard normal deviates, rows by `Uncertain`; that of the feed is left aside. [1]
    force : float or ndarray, shape (s,)
        Factor on the force. [1]
    feed : float or ndarray, shape (s,)
        Factor on the feed. [1]

    Returns
    -------
    predicted : dict
        Name to (s,), in internal units.
    """
    case = samples.sampled_case(site.job, site.way.contacts, site.f_z, z)
    case = case.with_(
        f_z=np.full(z.shape[1], site.f_z * feed), force_factor=case.force_factor * force
    )
    contacts = site.way.contacts
    chips = samples.evened_case(site.job, contacts, case, site.f_z, z)
    readings = {}
    tops = (
        [peaks(chips, c.peak, notches(chips)[0]) for c in contacts]
        if {"force", "torque", "deflection"} & set(names)
        else []
    )
    if tops:
        readings["force"] = np.maximum.reduce([p.force for p in tops])
        readings["torque"] = np.maximum.reduce([p.torque for p in tops])
        readings["deflection"] = readings["force"] * _give(site, case)
    if "spindle_power" in names:
        turns = [turn(chips, c.turn) for c in contacts]
        readings["spindle_power"] = (
            np.maximum.reduce([t.weight @ t.torque for t in turns]) * site.speed
        )
    if set(WALLS) & set(names):
        readings |= _walls(site, case)
    return {x: readings[x] for x in names}


def _give(site: TrialCut, case: LoadCase) -> Array:
    share = min(float(c.peak.level.min()) for c in site.way.contacts) / site.job.head.height
    return compliance(site.job, case, share * case.head_height)  # of a head measured wrongly too


def _walls(site: TrialCut, case: LoadCase) -> dict[str, Array]:
    """Width of the undercut, and how far the wall cut last lies outward of where it was set; its
    longest tooth shapes a wall.
    """
    give = _give(site, case)
    R = site.job.head.radius
    low = []
    high = []
    last = case.rho
    for p, c in zip(site.way.passes, along(site.way.contacts), strict=True):
        F_y = turn(case, c.wall).F_y * give
        half = len(F_y) // 2  # first every tooth at the high wall, then every tooth at the low one
        out = [F_y[:half].mean(axis=0) + case.rho, -F_y[half:].mean(axis=0) + case.rho]
        last = out[1] if p.direction == "climb" else out[0]
        if p.swept.offset != p.offset:  # seen from the other end
            out.reverse()
        high.append(p.offset + R + out[0])
        low.append(p.offset - R - out[1])
    plain = -site.job.slot.throat_width / 2
    ends = (np.minimum.reduce(low) if site.job.slot.sides == 2 else plain, np.maximum.reduce(high))
    return {"slot_width": ends[1] - ends[0], "wall_offset": last}
