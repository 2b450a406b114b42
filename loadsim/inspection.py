"""What the print will see: slot width, wall lean and floor step of a planned cut, predicted with their spread.

A wall is where the farthest tooth reached as it passed there: axis + radius + runout - wear + deflection, and the
deflection is the one at that moment. The sign is kept: a force that pushes the head off its wall leaves the slot narrow,
while runout makes it wide. The limit "wall error" adds the two instead, which bounds a single wall from above.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from loadsim import force, gauging, risk, units
from loadsim.case import Case, Setup, nominal_case, setup
from loadsim.chain import Contact, compliance, contacts_of, thickest_sine, tilt, tooth_forces
from loadsim.counsel import holes_for
from loadsim.domain import Job
from loadsim.errors import InputError, Problem
from loadsim.passes import Pass, passes, side_reach
from loadsim.results import _plain

Array = npt.NDArray[np.float64]

#: What a micrometer over the teeth leaves open, one standard deviation; an odd number of teeth has no opposite pair
#: to measure over (common practice, no source). [mm]
HEAD_SD, HEAD_SD_ODD = 0.005, 0.010
#: Setting of a table by its dial or readout, and the share of the backlash that is left when it is always taken up
#: from one side; one standard deviation (common practice, no source). [mm], [1]
SETTING_SD, BACKLASH_LEFT = 0.010, 0.10
#: Spindle out of square with the table, one standard deviation: 0.02 mm over 100 mm (common practice, no source). [rad]
TRAM_SD = 2e-4
#: Widest wear land before the edge is due for the stone, a third of where ISO8688Wear ends a tool's life. [mm]
WEAR_LAND = 0.10
#: Base-2 logarithm of the samples. [1]
SAMPLES_LOG2 = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Median of a predicted size, and the ends that one cut in twenty falls short of and passes."""

    p05: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What brings the median to the middle of the tolerance."""

    kind: str  #: "none", "grind", "new head", "offset", or "offset short" when the neck meets the throat first
    change_mm: float  #: of the head's diameter, or of each outer pass outward
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """Prediction of the undercut as an inspector would measure it. Lengths in mm."""

    drawn_width_mm: float
    tolerance_mm: float | None  #: plus and minus; None: the job gives none
    width_mm: Spread
    wall_lean_mm: Spread  #: the wall that leans more: floor end less roof end; negative is narrower at the floor
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
        data: dict[str, Any] = _plain(self)
        return data


class Planned(Protocol):
    """Anything with a job whose [cut] is filled in, such as a plan."""

    @property
    def job(self) -> Job:
        """The job."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """What an inspector's prediction takes beside the force chain; (s,) or (passes, s)."""

    head: Array  #: error of the measured head diameter [mm]
    wear: Array  #: radius lost [mm]
    setting: Array  #: error of each pass's axis (passes, s) [mm]
    tram: Array  #: spindle out of square, across the feed [rad]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Where both walls and the floor come to lie; (s,)."""

    narrowest: Array  #: least width, over all heights of the wall [mm]
    widest: Array  #: [mm]
    lean: Array  #: of the wall that leans more [mm]
    step: Array  #: of the floor [mm]
    deflection: Array  #: of the tooth that leaves the wall, signed outward, of the wall where it is larger [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wall:
    """One wall as one pass leaves it; outward is positive; (s,)."""

    reach: Array  #: at the load, from the datum of the drawing [mm]
    give: Array  #: deflection outward [mm]
    tilt: Array  #: floor end outward of the roof end [rad]


def inspect_cut(plan: Planned) -> Inspection:
    """Predict what an inspector will measure on the undercut of a plan.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    inspection : Inspection
    """
    return inspect_job(plan.job)


def inspect_job(job: Job, samples_log2: int = SAMPLES_LOG2, seed: int = risk.SEED) -> Inspection:
    """Predict what an inspector will measure on the undercut of a job whose [cut] is filled in.

    Parameters
    ----------
    job : Job
        With the feed per tooth given.
    samples_log2 : int
        Base-2 logarithm of the number of samples, at least 8. [1]
    seed : int
        Stamped in the result.

    Returns
    -------
    inspection : Inspection

    Raises
    ------
    InputError
        If the feed per tooth is not given.
    ValueError
        If a result is not finite.
    """
    s, f_z = setup(job), job.cut.feed_per_tooth
    if f_z is None:
        raise InputError("job", [Problem(where="[cut] feed_per_tooth", message="is missing; plan the cut first")])
    laid = passes(s, job.cut.stepover, job.cut.direction or "conventional", holes_for(s))
    contacts = contacts_of(laid, job.cutter.teeth, 24)
    drawn = risk.draws(samples_log2, seed)
    case = risk.sampled_case(s, contacts, f_z, drawn.z)
    scatter = scatter_of(s, laid, drawn)
    walls = walls_of(s, laid, contacts, case, scatter)
    if not all(np.isfinite(getattr(walls, name)).all() for name in Walls.__dataclass_fields__):
        raise ValueError("a predicted wall is not a finite number")
    return _told(s, laid, case, scatter, walls, drawn)


def scatter_of(s: Setup, laid: tuple[Pass, ...], drawn: risk.Draws) -> Scatter:
    """Draw head size, wear, settings of the table and squareness of the spindle.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    laid : tuple of Pass
        The passes.
    drawn : Draws
        Of the force chain; wear goes with its draw of edge wear.

    Returns
    -------
    scatter : Scatter

    References
    ----------
    ISO8688Wear
    """
    n, rng = drawn.u.shape[1], np.random.default_rng(drawn.seed)
    z = rng.standard_normal((2 + len(laid), n))
    head_sd = HEAD_SD if s.job.cutter.teeth % 2 == 0 else HEAD_SD_ODD
    across = z[2:]
    if len({p.offset for p in laid}) == 1:  # the table is not moved across between passes
        across = np.repeat(across[:1], len(laid), axis=0)
    return Scatter(head=head_sd * z[0], wear=WEAR_LAND * drawn.u[2] * math.tan(s.relief), tram=TRAM_SD * z[1],
                   setting=math.hypot(SETTING_SD, BACKLASH_LEFT * s.backlash) * across)  # fmt: skip


def no_scatter(laid: tuple[Pass, ...]) -> Scatter:
    """Return the scatter of a perfect shop: the head as drawn, sharp, every setting met.

    Parameters
    ----------
    laid : tuple of Pass
        The passes.

    Returns
    -------
    scatter : Scatter
    """
    zero, each = np.zeros(1), np.zeros((len(laid), 1))
    return Scatter(head=zero, wear=zero, setting=each, tram=zero)


def nominal_walls(s: Setup, laid: tuple[Pass, ...], f_z: float) -> Walls:
    """Predict the walls with every input as drawn and assumed, nothing scattered.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    laid : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    walls : Walls
    """
    contacts = contacts_of(laid, s.job.cutter.teeth, 24)
    return walls_of(s, laid, contacts, nominal_case(s, f_z, thickest_sine(contacts), 1.0), no_scatter(laid))


def walls_of(s: Setup, laid: tuple[Pass, ...], contacts: list[Contact], case: Case, scatter: Scatter) -> Walls:
    """Find where the walls and the floor come to lie.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    laid : tuple of Pass
        The passes.
    contacts : list of Contact
        One for each pass.
    case : Case
        One cut or many.
    scatter : Scatter
        What the head and the settings are off by.

    Returns
    -------
    walls : Walls

    Notes
    -----
    A wall that several passes reach at one height is where the farthest of them left it.
    """
    level = min(float(c.peak.level.min()) for c in contacts)  # as the limits take it
    one = np.zeros(np.broadcast_shapes(np.shape(case.rho), np.shape(case.force_factor), scatter.head.shape))
    give, slope = compliance(s, case, level), tilt(s, case, level)
    low_walls: dict[float, _Wall] = {}
    high_walls: dict[float, _Wall] = {}
    for i, (p, c) in enumerate(zip(laid, contacts, strict=True)):
        for side, known in ((+1, high_walls), (-1, low_walls)):
            wall = _wall(s, p, c, case, scatter, i, side, give, slope)
            before = known.get(p.level)
            known[p.level] = wall if before is None else _farther(wall, before)
    if s.job.slot.sides == 1:  # the plain wall was there before
        plain = _Wall(reach=np.asarray(-s.side_low) + one, give=one, tilt=one)
        low_walls = dict.fromkeys(high_walls, plain)
    below, above = level, s.head.height - level
    pairs = [(high_walls[x], low_walls[x]) for x in high_walls]
    ends = [h.reach + l.reach + way * (h.tilt + l.tilt) for h, l in pairs for way in (below, -above)]  # noqa: E741
    every = [w for both in pairs for w in both]
    floor = min(high_walls)
    leaning = _largest([w.tilt * s.head.height for w in every])
    corner = _largest([w.tilt * s.head.radius for w in (high_walls[floor], low_walls[floor])])
    span = high_walls[floor].reach + low_walls[floor].reach
    return Walls(narrowest=np.minimum.reduce(ends), widest=np.maximum.reduce(ends), lean=leaning,
                 step=_size(corner) + _size(scatter.tram * span), deflection=_largest([w.give for w in every]))  # fmt: skip


def _wall(s: Setup, p: Pass, c: Contact, case: Case, scatter: Scatter, i: int, side: int, give: Array, slope: Array) -> _Wall:
    """Find where one pass leaves the wall of one side of the drawing, were there metal."""
    N = case.teeth
    facing = side if p.swept.offset == p.offset else -side  # in the frame of the feed
    F_y = _across(case, c)[:N] if facing > 0 else _across(case, c)[N:]
    j = np.arange(N).reshape(N, *[1] * (F_y.ndim - 1))
    radius = s.head.radius + scatter.head / 2 - scatter.wear + case.rho * np.cos(2 * math.pi * j / N)
    outward = facing * F_y * give
    reach = side * (p.offset + scatter.setting[i]) + radius + outward
    reach, outward, tilted = np.broadcast_arrays(reach, outward, facing * F_y * slope)
    last = reach.argmax(axis=0)[None]  # the tooth that reaches farthest leaves the wall
    return _Wall(reach=_at(reach, last), give=_at(outward, last), tilt=_at(tilted, last))


def _at(x: Array, index: npt.NDArray[np.intp]) -> Array:
    return np.asarray(np.take_along_axis(x, index, axis=0)[0])


def _across(case: Case, c: Contact) -> Array:
    """Force across the feed with each tooth at the high wall, then with each at the low wall; (2N, s).

    The tooth at the wall counts as touching whether runout lifts it or not: it is asked where it would cut.
    """
    N, at = case.teeth, c.wall
    forces = tooth_forces(case, at)
    here = (at.tooth == at.position % N)[:, None]
    _, y = force.feed_frame(np.where(here, forces.held_t, forces.F_t), np.where(here, forces.held_r, forces.F_r), at.phi[:, None])
    total = np.zeros((2 * N, *forces.F_t.shape[1:]))
    np.add.at(total, at.position, y)
    return total


def _farther(a: _Wall, b: _Wall) -> _Wall:
    ahead = a.reach > b.reach
    return _Wall(reach=np.where(ahead, a.reach, b.reach), give=np.where(ahead, a.give, b.give), tilt=np.where(ahead, a.tilt, b.tilt))


def _size(x: Array) -> Array:
    return np.asarray(np.fmax(x, -x))


def _largest(values: list[Array]) -> Array:
    """Return of each sample the value of the largest size, with its sign."""
    best = values[0]
    for v in values[1:]:
        best = np.where(_size(v) > _size(best), v, best)
    return np.asarray(best)


def _told(s: Setup, laid: tuple[Pass, ...], case: Case, scatter: Scatter, walls: Walls, drawn: risk.Draws) -> Inspection:
    """Put the prediction into the answer."""
    slot = s.job.slot
    tolerance, n = slot.width_tolerance, drawn.u.shape[1]
    width = _width(walls)
    correction = correct(s, laid, width.p50 - slot.undercut_width)
    under = over = out = None
    gauges: tuple[gauging.Method, ...] = ()
    notes = _notes(s)
    if tolerance is not None and tolerance < slot.undercut_width:
        low, high = slot.undercut_width - tolerance, slot.undercut_width + tolerance
        under, over, out = gauging.out_of_tolerance(walls.narrowest, walls.widest, low, high)
        gauges, said = _gauges(s, low, high)
        notes += list(said)
    return Inspection(
        drawn_width_mm=slot.undercut_width, tolerance_mm=tolerance, width_mm=width, wall_lean_mm=_spread(walls.lean),
        floor_step_mm=_spread(walls.step), deflection_mm=float(np.median(walls.deflection)),
        runout_growth_mm=slot.sides * float(np.median(case.rho)), wear_loss_mm=slot.sides * float(np.median(scatter.wear)),
        under=under, over=over, out=out, gauges=gauges, correction=correction, samples=n, seed=drawn.seed, notes=tuple(dict.fromkeys(notes)),
    )  # fmt: skip


def _spread(x: Array) -> Spread:
    a, b, c = (float(v) for v in np.quantile(x, (0.05, 0.5, 0.95)))
    return Spread(p05=a, p50=b, p95=c)


def _width(walls: Walls) -> Spread:
    """Spread of the width: its low end where the slot is narrowest, its high end where it is widest."""
    middle = float(np.median((walls.narrowest + walls.widest) / 2))
    return Spread(p05=float(np.quantile(walls.narrowest, 0.05)), p50=middle, p95=float(np.quantile(walls.widest, 0.95)))


def _gauges(s: Setup, low: float, high: float) -> tuple[tuple[gauging.Method, ...], tuple[str, ...]]:
    slot = s.job.slot
    if low <= slot.throat_width:
        return (), ("The tolerance reaches down to the throat's width: no gauge sizes are given.",)
    return gauging.methods(low, high, slot.throat_width, slot.undercut_height, slot.sides, slot.open_ends, s.job.job.units, s.head.corner)


def _notes(s: Setup) -> list[str]:
    slot, cutter = s.job.slot, s.job.cutter
    notes = ["The runout is taken to point at a tooth, as an indicator on the teeth reads it; read on the neck it may widen the slot less.",
             "Chips that pack, a stop of the feed and tilting in the collet are left out: they mark the wall beyond this."]  # fmt: skip
    if slot.width_tolerance is None:
        notes.append("The job gives no width_tolerance: the width is predicted, not judged.")
    elif slot.width_tolerance >= slot.undercut_width:
        notes.append("width_tolerance is as large as the width itself: the width is predicted, not judged.")
    if cutter.teeth % 2:
        notes.append(f"A head of {cutter.teeth} teeth has no opposite pair: its diameter is taken to be known to "
                     f"{units.show(HEAD_SD_ODD, 'length', s.job.job.units)} only (one standard deviation).")  # fmt: skip
    return notes


def correct(s: Setup, laid: tuple[Pass, ...], excess: float) -> Correction:
    """Say what to grind off, to add or to set so that the median of the width lands on the drawn one.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    laid : tuple of Pass
        The passes.
    excess : float
        Median of the width less the drawn width. [mm]

    Returns
    -------
    correction : Correction
    """
    def show(x: float) -> str:
        return units.show(x, "length", s.job.job.units)

    teeth = s.job.cutter.teeth
    known = HEAD_SD if teeth % 2 == 0 else HEAD_SD_ODD
    stepped = any(p.direction != "both" for p in laid)
    if -known < excess < known:
        return Correction(kind="none", change_mm=0.0, why="The median lies on the drawn width as nearly as the head can be measured.")
    if stepped:
        return _offset(s, laid, excess, show)
    if excess > 0:
        return Correction(kind="grind", change_mm=-excess, why=f"Grind {show(excess)} off the head's diameter, {show(excess / 2)} at "
                          "each tooth.")  # fmt: skip
    why = (f"The head is {show(-excess)} too small in diameter, and metal cannot be ground on: grind a new head of "
           f"{show(s.job.cutter.head_diameter - excess)}, or take a side pass on each side.")  # fmt: skip
    if s.job.slot.open_ends == 0:
        why += " The drop-in hole must let the larger head through."
    return Correction(kind="new head", change_mm=-excess, why=why)


def _offset(s: Setup, laid: tuple[Pass, ...], excess: float, show: Any) -> Correction:
    """Side passes are moved instead of the head being ground, as far as the neck clears the throat."""
    sides = s.job.slot.sides
    outermost = max(math.fabs(p.offset) for p in laid)
    wanted = -excess / sides
    room = side_reach(s) - outermost
    each = "each outer pass" if sides == 2 else "the outer pass"
    if wanted > room + 1e-9:
        can = max(room, 0.0)
        left = excess + sides * can
        return Correction(kind="offset short", change_mm=can, why=f"Set {each} {show(can)} farther out, where the neck still clears the "
                          f"throat; the width stays {show(-left)} short, which takes a head larger by that.")  # fmt: skip
    way = "farther out" if wanted > 0 else "less far out"
    return Correction(kind="offset", change_mm=wanted, why=f"Set {each} {show(max(wanted, -wanted))} {way}; leave the head as it is.")
