"""The snap probability of 65,536 samples in numpy against a plain loop in C on one thread, for a slot
in one piece and for one with a closed end.

First the two must agree to 1e-6, then they are timed; the limit is a ratio of 1.5.
Run: python tests/benchmarks/kernel.py (needs gcc).
"""

from __future__ import annotations

import ctypes
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"  # before numpy is loaded
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads import assumptions
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.limits import chip_packing
from loadsim.loads.nominal import as_drawn, edge_force, growth
from loadsim.loads.passes import Contact, passes, travel_of
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip, stress_concentration
from loadsim.mechanics.fatigue import LEAST_DROP
from loadsim.risk import samples
from loadsim.risk.snap import Snap, snaps
from loadsim.risk.survival import FATIGUE_SD
from loadsim.risk.table_grab import chance_of_grab

MAX_RATIO = 1.5
MAX_GROWTH = 2.2
#: A neck that breaks now and then, so that every way to break counts.
THIN = {"cutter.neck_diameter": 3.0, "cutter.neck_fillet": 0.2}
DOUBLES = ["f_z", "median", "steady", "rho", "rho_sd", "d", "d_sd", "r", "r_sd", "L", "L_sd", "head", "head_sd", "fe", "fe_sd", "force", "metal_sd", "tool_sd", "slope_sd", "radial_sd", "kc11", "mc", "bend", "pivot", "h_min", "ratio", "exponent", "thinnest", "thickest", "radius", "D", "stoned", "each", "growth_sd", "stone", "sharp", "along", "across", "D_head", "r_head", "sigma_0", "credit", "m", "spread", "once", "thousand", "thousand_spread", "limit", "limit_spread", "N_limit", "least_drop", "fatigue_sd", "grind_sd", "tau_u", "torsion_sd", "burst", "burst_p", "unsteady_share", "packed_turns"]  # fmt: skip
LONGS = ("teeth", "pairs", "elements", "samples", "pieces")


class Job(ctypes.Structure):
    _fields_ = [*((x, ctypes.c_double) for x in DOUBLES), *((x, ctypes.c_long) for x in LONGS)]


class Fit(ctypes.Structure):
    _fields_ = [
        ("branches", ctypes.c_long),
        ("bounds", ctypes.c_double * 4),
        ("rows", ctypes.c_double * 24),
        ("corner", ctypes.c_double),
    ]


def compiled(folder: str) -> ctypes.CDLL:
    library = f"{folder}/kernel.so"
    source = Path(__file__).with_name("kernel.c")
    subprocess.run(
        ["gcc", "-O3", "-march=native", "-shared", "-fPIC", "-o", library, str(source), "-lm"],
        check=True,
    )
    return ctypes.CDLL(library)


def fit_of(fit: stress_concentration.Fit) -> Fit:
    bounds = np.zeros(4)
    rows = np.zeros((2, 4, 3))
    bounds[: len(fit.bounds)] = fit.bounds
    rows[: len(fit.branches)] = fit.branches
    found = Fit(branches=len(fit.branches), corner=fit.corner)
    found.bounds[:] = bounds.tolist()
    found.rows[:] = rows.ravel().tolist()
    return found


def table(contacts: list[Contact], teeth: int) -> tuple[int, list[np.ndarray], list[np.ndarray]]:
    """Turning positions of every piece, each filled up to the longest with edges that cut nothing."""
    most = max(c.peak.phi.size for c in contacts)
    rows = []
    places = []
    for c in contacts:
        at = c.peak
        fill = most - at.phi.size
        met, position = np.unique(at.position, return_inverse=True)
        assert met.size <= 64
        beta = 2 * math.pi * at.tooth / teeth
        lines = (np.maximum(np.sin(at.phi), 0), np.cos(beta), np.sin(beta), at.level, at.b)
        rows.append([np.pad(x, [(0, fill), *[(0, 0)] * (x.ndim - 1)], mode="edge") for x in lines])
        rows[-1][-1][at.phi.size :] = 0.0
        columns = [np.pad(x, (0, fill), mode="edge") for x in (at.tooth, position)]
        places.append([*columns, np.array([met.size]), np.array([at.idle])])
    joined, at_each = ([np.concatenate(x) for x in zip(*y, strict=True)] for y in (rows, places))
    return most, joined, at_each


def burst_share(s: ResolvedJob, way: Engagement, f_z: float) -> float:
    """Share of cuts in which chips pack; the factor is linear in the draw, which gives it back."""
    top, u0 = 1.0 - 1e-12, 1 - 1e-6
    end, inside = chip_packing.burst_factor(s, way.passes, f_z, np.array([top, u0])).tolist()
    assert math.isclose(end, 1 + assumptions.BURST, rel_tol=1e-6)
    return (1 - u0) / (1 - (inside - 1) / assumptions.BURST)


def numbers(s: ResolvedJob, way: Engagement, f_z: float) -> dict[str, float]:
    """What the loop in C takes of a job."""
    steady = assumptions.STEADINESS[s.machine.feed]
    base = as_drawn(s, f_z, travel_of(way.passes), stress_concentration.K_T_BENDING_FE_MEAN)
    b = s.strength
    along, across = edge_force(s, assumptions.SHARP_LAND + 1.0)  # a millimetre of land
    own = {
        "f_z": f_z,
        "median": steady[0],
        "steady": steady[1],
        "rho": base.rho,
        "rho_sd": assumptions.RUNOUT_SD,
        "d": base.neck_diameter,
        "d_sd": assumptions.NECK_SD,
        "r": base.fillet,
        "r_sd": assumptions.FILLET_SD,
        "L": base.neck_length,
        "L_sd": assumptions.REACH_SD,
        "head": base.head_height,
        "head_sd": assumptions.HEIGHT_SD,
        "fe": base.fe_factor,
        "fe_sd": stress_concentration.K_T_BENDING_FE_SD,
        "force": base.force_factor,
        "metal_sd": math.sqrt(s.metal.level_sd**2 - samples.tool_sd(s) ** 2),
        "tool_sd": samples.tool_sd(s),
        "slope_sd": s.metal.slope_sd,
        "radial_sd": s.radial_spread,
        "kc11": base.law.k_c11,
        "mc": base.law.m_c,
        "bend": base.law.bend,
        "pivot": s.metal.pivot,
        "h_min": s.h_min,
        "ratio": s.radial.ratio,
        "exponent": s.radial.exponent,
        "thinnest": s.radial.thinnest,
        "thickest": s.radial.thickest,
        "radius": base.radius,
        "D": base.shank_diameter,
        "stoned": assumptions.STONED_LAND,
        "each": growth(s, travel_of(way.passes)),
        "growth_sd": assumptions.LAND_GROWTH_SD,
        "stone": assumptions.STONE_LAND,
        "sharp": assumptions.SHARP_LAND,
        "along": along,
        "across": across,
        "D_head": base.head_diameter,
        "r_head": base.head_fillet,
        "sigma_0": b.sigma_0,
        "credit": b.size_credit,
        "m": b.m,
        "spread": b.spread,
        "once": b.line.once,
        "thousand": b.line.thousand,
        "thousand_spread": b.thousand_spread,
        "limit": b.line.limit,
        "limit_spread": b.limit_spread,
        "N_limit": b.line.N_limit,
        "least_drop": LEAST_DROP,
        "fatigue_sd": FATIGUE_SD,
        "grind_sd": assumptions.GRIND_SD,
        "tau_u": b.tau_u,
        "torsion_sd": assumptions.TORSION_SD,
        "burst": assumptions.BURST,
        "burst_p": burst_share(s, way, f_z),
        "unsteady_share": assumptions.UNSTEADY_SHARE,
        "packed_turns": assumptions.PACKED_STAYS
        * assumptions.CHIP_STAY[s.written.work.lubrication],
    }
    return {k: float(np.asarray(v).reshape(-1)[0]) for k, v in own.items()}


def raced(library: ctypes.CDLL, open_ends: int) -> tuple[float, float, float]:
    """Seconds of both for one slot, and their median ratio; first they must agree."""
    job = changed(
        job_from_text(example("t-track"), "t-track"), THIN | {"slot.open_ends": open_ends}
    )
    s = resolve(job)
    f_z = 0.03
    drawn = samples.draws()
    way = engagement_of(s, passes(s, None, "conventional", ()))
    assert s.strength.yield_strength is None
    assert chance_of_grab(s, way, f_z) == 0
    teeth = job.cutter.teeth
    pairs, rows, places = table(way.contacts, teeth)
    first = way.contacts[0].peak
    data = Job(
        **numbers(s, way, f_z),
        teeth=teeth,
        pairs=pairs,
        elements=first.sin_kappa.size,
        samples=drawn.u.shape[1],
        pieces=len(way.contacts),
    )
    turns = [c.travel / (f_z * teeth) for c in way.contacts]
    z = drawn.z.copy()
    slopes = s.metal.steepened(z[samples.Uncertain.THIN_CHIPS], s.radial).m_c
    z[samples.Uncertain.THIN_CHIPS] = (slopes - s.metal.median.m_c) / s.metal.slope_sd
    reals = [z, drawn.u, *rows, first.sin_kappa, chip.runout_steps(teeth), np.array(turns)]
    arrays = [np.ascontiguousarray(x, float) for x in reals]
    arrays += [np.ascontiguousarray(x, np.int64) for x in places]
    out = np.zeros((3, drawn.u.shape[1]))
    torsion = fit_of(stress_concentration._TORSION)
    pointers = [ctypes.c_void_p(x.ctypes.data) for x in (*arrays, out)]

    def in_c() -> None:
        library.kernel(ctypes.byref(data), ctypes.byref(torsion), *pointers)

    def in_python() -> Snap:
        return snaps(s, way, f_z, drawn)

    in_c()
    snap = in_python()
    for name, ours, theirs in (
        ("fracture", snap.fracture, out[1]),
        ("fatigue", snap.fatigue, out[2]),
    ):
        np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-5, err_msg=name)
    np.testing.assert_allclose(snap.p, out[0], rtol=1e-6, atol=1e-15, err_msg="p")
    print(
        f"{len(way.contacts)} pieces, {snap.p.size} samples, {pairs} pairs of position and tooth: "
        f"results agree to 1e-5; mean p = {snap.p.mean():.4g}"
    )
    times = [(clock(in_c), clock(in_python)) for _ in range(15)]
    c, python = (statistics.median(x) for x in zip(*times, strict=True))
    ratio = statistics.median(p / c for c, p in times)
    print(f"C, one thread   {1e3 * c:.1f} ms")
    print(f"numpy           {1e3 * python:.1f} ms")
    print(f"median ratio    {ratio:.2f} (limit {MAX_RATIO:g})")
    return c, python, ratio


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        library = compiled(folder)
        (_, one, ratio), (_, two, both) = (raced(library, ends) for ends in (2, 1))
    print(f"two pieces take {two / one:.2f} times the time of one (limit {MAX_GROWTH:g})")
    sys.exit(0 if max(ratio, both) <= MAX_RATIO and two / one <= MAX_GROWTH else 1)


def clock(run: object) -> float:
    assert callable(run)
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
