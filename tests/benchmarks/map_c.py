"""A map of 100 feeds x 100 neck diameters, loads and limits: `loadsim.answers.maps.table` against plain loops in C on one thread.

The whole call of `maps.table` counts, from the job to the finished table: validation, materials, limits, pandas.
First every column that varies must agree to 1e-6, then both are timed in turn; the limit is a ratio of 3 to C
that makes each point from the start. C that makes the forces once for each feed, as the arrays do, is shown too,
against the whole call and against the arrays alone, without reading the job and making the table.
Run: python tests/benchmarks/map_c.py (needs gcc).
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
from collections.abc import Callable
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"  # before numpy is loaded
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
import pandas as pd
from scipy.special import gamma

from loadsim.answers.maps import arrays
from loadsim.answers.maps.arrays import FEED, NECK, Table, _fill_loads, _necks
from loadsim.answers.maps.table import table as table_table
from loadsim.job import tolerances
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads import assumptions
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.cut import Engagement, written_engagement
from loadsim.loads.deflection import natural_frequencies
from loadsim.loads.holding import grip, holder_of, is_loose, table_friction
from loadsim.loads.limits import chip_packing
from loadsim.loads.limits.clearances import farthest_offset
from loadsim.loads.limits.tooth_edge import edge_strength, worse_edge
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import travel_of
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip, strength, stress_concentration
from loadsim.mechanics.beam import T_PER_MM3
from loadsim.mechanics.engagement import Positions

MAX_RATIO = 3.0
RUNS = 11
NAMES = (*arrays.LOADS, *(f"use: {x}" for x in (
    "neck fracture", "neck fatigue", "neck torsion", "tooth root", "spindle torque", "table grab", "collet slip", "resonance",
    "wall error", "rubbing", "chip packing", "neck in throat", "neck on throat wall")))  # fmt: skip
#: Clearances of the neck beside "neck in throat", one more addition and division each: the Python makes them, the C does not.
LEFT_OUT = ("use: fillet in throat", "use: reach of side passes")
DOUBLES = [
    "rho", "h_min", "force", "kc11", "mc", "bend", "edge_t", "edge_r", "ratio", "exponent", "thinnest", "thickest", "radius", "head", "L", "r", "r_head", "D", "head_d", "fe", "level",
    "stickout", "E", "nu", "density", "k_collet", "head_I", "head_A",
    "mean_strength", "gamma", "m", "V_test", "V_part", "target", "once", "thousand", "limit", "N_limit", "tau_u",
    "tooth_arm", "tooth_thickness", "edge_bears", "power", "speed", "friction", "collet",
    "band", "wall", "packing", "room", "throat", "clearance", "aside",
]  # fmt: skip
LONGS = ("teeth", "passes", "chips")
#: Chips that the stress of the edge is handed over for. [1]
CHIPS = 400
POINTERS = (
    "sine",
    "sin_phi",
    "cos_phi",
    "cos_beta",
    "sin_beta",
    "b",
    "level",
    "sin_kappa",
    "weight",
    "tooth",
    "position",
)


class CJob(ctypes.Structure):
    _fields_ = [*((x, ctypes.c_double) for x in DOUBLES), *((x, ctypes.c_long) for x in LONGS)]


class CTable(ctypes.Structure):
    _fields_ = [
        *((x, ctypes.c_long) for x in ("pairs", "positions", "elements", "idle")),
        *((x, ctypes.c_void_p) for x in POINTERS),
    ]


class CFit(ctypes.Structure):
    _fields_ = [
        ("branches", ctypes.c_long),
        ("bounds", ctypes.c_double * 4),
        ("rows", ctypes.c_double * 24),
        ("corner", ctypes.c_double),
    ]


def c_fit(fit: stress_concentration.Fit) -> CFit:
    bounds = np.zeros(4)
    rows = np.zeros((2, 4, 3))
    bounds[: len(fit.bounds)] = fit.bounds
    rows[: len(fit.branches)] = fit.branches
    found = CFit(branches=len(fit.branches), corner=fit.corner)
    found.bounds[:] = bounds.tolist()
    found.rows[:] = rows.ravel().tolist()
    return found


def c_table(at: Positions, teeth: int, keep: list[np.ndarray]) -> CTable:
    met, position = np.unique(at.position, return_inverse=True)
    beta = 2 * math.pi * at.tooth / teeth
    arrays = [
        np.maximum(np.sin(at.phi), 0),
        np.sin(at.phi),
        np.cos(at.phi),
        np.cos(beta),
        np.sin(beta),
        at.b,
        at.level,
        at.sin_kappa,
        at.weight[at.position],
    ]
    arrays = [np.ascontiguousarray(x, float) for x in arrays] + [
        np.ascontiguousarray(x, np.int64) for x in (at.tooth, position)
    ]
    keep += arrays
    assert max(at.phi.size, met.size) <= 2048
    return CTable(
        pairs=at.phi.size,
        positions=met.size,
        elements=at.sin_kappa.size,
        idle=at.idle,
        **{k: x.ctypes.data for k, x in zip(POINTERS, arrays, strict=True)},
    )


def c_job(s: ResolvedJob, way: Engagement) -> CJob:
    job = s.written
    b = s.strength
    r = s.radial
    law = s.metal.median
    drawn = as_drawn(s, 0.01, travel_of(way.passes), 1.0)
    blank = s.blank
    cutter = job.cutter
    machine = job.machine
    once, thousand, limit = (float(x) for x in b.line.anchors())
    assert b.yield_strength is None and b.notch_size is None and job.cut.spindle_speed is not None
    own = {
        "rho": s.runout,
        "h_min": s.h_min,
        "force": s.force_factor,
        "kc11": law.k_c11,
        "mc": law.m_c,
        "bend": law.bend,
        "edge_t": drawn.edge_t,
        "edge_r": drawn.edge_r,
        "ratio": r.ratio,
        "exponent": r.exponent,
        "thinnest": r.thinnest,
        "thickest": r.thickest,
        "radius": s.head.radius,
        "head": cutter.head_height,
        "L": cutter.neck_length,
        "r": s.fillet,
        "r_head": s.head_fillet,
        "D": cutter.shank_diameter,
        "head_d": cutter.head_diameter,
        "fe": stress_concentration.K_T_BENDING_FE_BOUND,
        "level": min(float(c.peak.level.min()) for c in way.contacts),
        "stickout": cutter.stickout,
        "E": blank.E,
        "nu": blank.nu,
        "density": blank.density * T_PER_MM3,
        "k_collet": s.stiffness,
        "head_I": s.head_section.second_moment,
        "head_A": s.head_section.area,
        "mean_strength": blank.bend_strength,
        "gamma": float(gamma(1 + 1 / b.m)),
        "m": b.m,
        "V_test": blank.bar_volume * float(strength.effective_volume_factor_three_point(b.m)),
        "V_part": float(strength.effective_volume_factor_rotating(b.m)),
        "target": job.target.snap_probability,
        "once": once,
        "thousand": thousand,
        "limit": limit,
        "N_limit": b.line.N_limit,
        "tau_u": b.tau_u,
        "tooth_arm": s.head_section.tooth_arm,
        "tooth_thickness": s.head_section.tooth_thickness,
        "edge_bears": edge_strength(s),
        "power": assumptions.DRIVE * machine.spindle_power,
        "speed": job.cut.spindle_speed,
        "friction": table_friction(s) if is_loose(s) else math.inf,
        "collet": grip(holder_of(s), cutter.shank_diameter) * cutter.shank_diameter / 2,
        "band": assumptions.RESONANCE_BAND,
        "wall": tolerances.wall_allowance(s.written)[0],
        "packing": max(p.area for p in way.passes)
        * s.work.bulking
        * assumptions.CHIP_STAY[job.work.lubrication],
        "room": chip_packing.gullet_area(s) * s.head.height,
        "throat": job.slot.throat_width,
        "clearance": CLEARANCE,
        "aside": farthest_offset(way.passes),
    }
    assert set(own) == set(DOUBLES)
    return CJob(
        **{k: float(v) for k, v in own.items()},
        teeth=cutter.teeth,
        passes=len(way.contacts),
        chips=CHIPS,
    )


def measure(
    name: str, job: Job, feeds: np.ndarray, necks: np.ndarray, run: Callable[..., None]
) -> float:
    """Compare C and Python over one grid, then time them; return the ratio to C that shares nothing."""
    s = resolve(job)
    # a fillet that rubs on the throat's corner adds to the force of its neck alone: not in C
    factors = [resolve(changed(job, {NECK: d})).force_factor for d in necks.tolist()]
    necks = np.ascontiguousarray(necks[np.array(factors) == s.force_factor])
    keep = []
    way = written_engagement(s, s.cut.stepover)
    data = c_job(s, way)
    torsion = c_fit(stress_concentration._TORSION)
    tables = [
        c_table(t, job.cutter.teeth, keep) for c in way.contacts for t in (c.peak, c.turn, c.wall)
    ]
    assert len(way.contacts) <= 16
    chips = np.geomspace(s.h_min, 20 * feeds.max(), CHIPS)
    stress, bears = worse_edge(s, chips, s.force_factor)
    edges = np.ascontiguousarray(
        np.stack([np.log(chips), stress * edge_strength(s) / bears], axis=1)
    )
    travels = np.array([c.travel for c in way.contacts])
    step = np.ascontiguousarray(chip.runout_steps(job.cutter.teeth))
    hertz = np.empty(necks.size)
    out = np.empty((feeds.size * necks.size, len(NAMES)))
    over = {FEED: feeds.tolist(), NECK: necks.tolist()}
    frames: list[pd.DataFrame] = []

    def in_c(shared: int) -> Callable[[], None]:
        p = [
            ctypes.c_void_p(x.ctypes.data) for x in (edges, travels, step, feeds, necks, hertz, out)
        ]
        return lambda: run(
            ctypes.byref(data),
            (CTable * len(tables))(*tables),
            *p[:3],
            ctypes.byref(torsion),
            p[3],
            ctypes.c_long(feeds.size),
            p[4],
            ctypes.c_long(necks.size),
            p[5],
            ctypes.c_long(shared),
            p[6],
        )

    def in_python() -> None:
        frames[:] = [table_table(job, over, probability=False)]

    in_python()
    frame = frames[0]
    assert (frame["note"] == "").all()
    for shared in (0, 1):
        out[:] = np.nan
        in_c(shared)()
        for column, theirs in zip(NAMES, out.T, strict=True):
            np.testing.assert_allclose(
                frame[column], theirs, rtol=1e-6, atol=0, err_msg=f"{name}: {column}"
            )
    left = [c for c in frame if c.startswith("use: ") and c not in (*NAMES, *LEFT_OUT)]
    assert all(frame[c].nunique() == 1 for c in left), "a limit that varies is not in C"
    pairs = sum(t.phi.size for c in way.contacts for t in (c.peak, c.turn, c.wall))
    worst = max(
        float(np.max(np.abs(frame[c] - x) / np.where(x == 0, 1, np.abs(x))))
        for c, x in zip(NAMES, out.T, strict=True)
    )
    print(
        f"{name}: {len(frame):,} points, {len(way.passes)} passes, {pairs} pairs of position and tooth; {len(NAMES)} columns agree to {worst:.1e}"
    )
    table = Table(points=[{FEED: f, NECK: d} for f in over[FEED] for d in over[NECK]])
    resolved = _necks(
        s, {d: np.arange(j, len(table.points), necks.size) for j, d in enumerate(over[NECK])}, table
    )

    def arrays() -> None:
        natural_frequencies(s, necks)
        assert _fill_loads(s, way, resolved, table).size == len(table.points)

    times = np.array(
        [(clock(in_c(0)), clock(in_c(1)), clock(in_python), clock(arrays)) for _ in range(RUNS)]
    )
    plain, shared_, python, alone = (1e3 * statistics.median(x) for x in times.T)
    ratio = statistics.median(times[:, 2] / times[:, 0])
    print(
        f"  C, each point from the start   {plain:7.1f} ms\n  C, forces once for each feed   {shared_:7.1f} ms"
    )
    print(
        f"  loadsim.maps                   {python:7.1f} ms\n  of it the arrays, no more      {alone:7.1f} ms"
    )
    print(
        f"  median ratio                   {ratio:7.2f} (limit {MAX_RATIO:g}); to C with shared forces "
        f"{statistics.median(times[:, 2] / times[:, 1]):.1f}, of the arrays alone {statistics.median(times[:, 3] / times[:, 1]):.1f}"
    )
    return ratio


def clock(run: Callable[[], None]) -> float:
    start = (
        time.process_time()
    )  # not the wall clock, which other programs disturb; nothing here waits or runs in parallel
    run()
    return time.process_time() - start


def main() -> None:
    t_track, one_sided = (job_from_text(example(x), x) for x in ("t-track", "one-sided"))
    # of three teeth with runout the drive is asked the worse of with and without: not in C
    one_sided = changed(one_sided, {"cutter.teeth": 2})
    climb = changed(
        one_sided, {"cut.direction": "climb"}
    )  # the table is dragged along: the grab has a number
    with tempfile.TemporaryDirectory() as folder:
        source = Path(__file__).with_name("map.c")
        subprocess.run(
            [
                "gcc",
                "-O3",
                "-march=native",
                "-shared",
                "-fPIC",
                "-o",
                f"{folder}/map.so",
                str(source),
                "-lm",
            ],
            check=True,
        )
        run = ctypes.CDLL(f"{folder}/map.so").map
        run.restype = None
        ratios = [
            measure(name, x, np.linspace(0.005, 0.03, 100), np.linspace(2.5, 6.0, 100), run)
            for name, x in (
                ("t-track", t_track),
                ("one-sided", one_sided),
                ("one-sided, climb", climb),
            )
        ]
    sys.exit(0 if max(ratios) <= MAX_RATIO else 1)


if __name__ == "__main__":
    main()
