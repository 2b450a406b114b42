"""The snap probability of 65,536 samples in numpy against a plain loop in C on one thread.

First the two must agree to 1e-6, then they are timed; the limit is a ratio of 3.
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

from loadsim.job.read import job_from_text
from loadsim.job.write import example
from loadsim.loads import assumptions
from loadsim.loads.cut import engagement_of
from loadsim.loads.limits import chip_packing
from loadsim.loads.nominal import as_drawn, force_model, peak_chip
from loadsim.loads.passes import passes, thickest_sine
from loadsim.loads.resolve import resolve
from loadsim.mechanics import chip, stress_concentration
from loadsim.mechanics.fatigue import basquin_strength
from loadsim.risk import samples
from loadsim.risk.snap import Snap, snaps

MAX_RATIO = 3.0
DOUBLES = ["f_z", "median", "steady", "rho", "rho_sd", "d", "d_sd", "r", "r_sd", "L", "L_sd", "head", "head_sd", "fe", "fe_sd", "force", "sigma_ln", "wear_sd", "radial_sd", "kc11", "mc", "h_min", "K_tc", "K_te", "K_rc", "K_re", "radius", "D", "sigma_0", "m", "spread", "bears", "fatigue_spread", "grind_sd", "tau_u", "torsion_sd", "burst", "burst_p", "fe_r_over_d", "fe_exponent"]  # fmt: skip
LONGS = ("teeth", "pairs", "positions", "elements", "idle", "samples")


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


def main() -> None:
    job = job_from_text(example("t-track"), "t-track")
    s = resolve(job)
    f_z = 0.016
    drawn = samples.draws(16)
    way = engagement_of(s, passes(s, None, "conventional", ()))
    assert len(way.contacts) == 1
    assert s.strength.yield_strength is None
    at = way.contacts[0].peak
    steady = assumptions.STEADINESS[job.machine.feed]
    sine = thickest_sine(way.contacts)
    base = as_drawn(s, f_z, sine, stress_concentration.K_T_BENDING_FE_MEAN)
    sigma_ln = force_model(s, peak_chip(s, f_z, sine)).sigma_ln
    met, position = np.unique(at.position, return_inverse=True)
    assert met.size <= 64
    probe = chip_packing.burst_factor(
        s, way.passes, f_z, np.array([1.0 - 1e-12])
    )  # at the end of the draws: 1 + BURST
    assert math.isclose(float(probe[0]), 1 + assumptions.BURST, rel_tol=1e-6)
    u0 = 1 - 1e-6  # the factor is linear in the draw, which gives the share of packed time back
    burst_p = (1 - u0) / (
        1
        - (float(chip_packing.burst_factor(s, way.passes, f_z, np.array([u0]))[0]) - 1)
        / assumptions.BURST
    )
    N = len(way.passes) * (job.slot.length + job.cutter.head_diameter) / (f_z * job.cutter.teeth)
    b = s.strength
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
        "sigma_ln": sigma_ln,
        "wear_sd": assumptions.WEAR_SD,
        "radial_sd": s.radial_spread,
        "kc11": base.law.k_c11,
        "mc": base.law.m_c,
        "h_min": s.h_min,
        "K_tc": s.radial.tangential.K_tc,
        "K_te": s.radial.tangential.K_te,
        "K_rc": s.radial.radial.K_tc,
        "K_re": s.radial.radial.K_te,
        "radius": base.radius,
        "D": base.shank_diameter,
        "sigma_0": b.sigma_0,
        "m": b.m,
        "spread": b.spread,
        "bears": basquin_strength(N, b.S_limit, b.N_limit, b.k, b.S_static),
        "fatigue_spread": b.fatigue_spread,
        "grind_sd": assumptions.GRIND_SD,
        "tau_u": b.tau_u,
        "torsion_sd": assumptions.TORSION_SD,
        "burst": assumptions.BURST,
        "burst_p": burst_p,
        "fe_r_over_d": stress_concentration._FE_R_OVER_D,
        "fe_exponent": stress_concentration._FE_EXPONENT,
    }
    data = Job(
        **{k: float(np.asarray(v).reshape(-1)[0]) for k, v in own.items()},
        teeth=job.cutter.teeth,
        pairs=at.phi.size,
        positions=met.size,
        elements=at.sin_kappa.size,
        idle=at.idle,
        samples=drawn.u.shape[1],
    )
    beta = 2 * math.pi * at.tooth / job.cutter.teeth
    arrays = [
        drawn.z,
        drawn.u[samples.Uncertain.CHIP_PACKING],
        np.maximum(np.sin(at.phi), 0),
        np.cos(beta),
        np.sin(beta),
        at.level,
        at.b,
        at.sin_kappa,
        chip.runout_steps(job.cutter.teeth),
    ]
    arrays = [np.ascontiguousarray(x, float) for x in arrays] + [
        np.ascontiguousarray(x, np.int64) for x in (at.tooth, position)
    ]
    out = np.zeros((3, drawn.u.shape[1]))
    fits = fit_of(stress_concentration._BENDING), fit_of(stress_concentration._TORSION)

    with tempfile.TemporaryDirectory() as folder:
        kernel = compiled(folder).kernel
        pointers = [ctypes.c_void_p(x.ctypes.data) for x in (*arrays, out)]

        def in_c() -> None:
            kernel(ctypes.byref(data), *(ctypes.byref(x) for x in fits), *pointers)

        def in_python() -> Snap:
            return snaps(s, way.passes, way.contacts, f_z, drawn)

        in_c()
        snap = in_python()
        for name, ours, theirs in (
            ("p", snap.p, out[0]),
            ("fracture", snap.fracture, out[1]),
            ("fatigue", snap.fatigue, out[2]),
        ):
            np.testing.assert_allclose(ours, theirs, rtol=1e-6, atol=1e-300, err_msg=name)
        print(
            f"{snap.p.size} samples, {at.phi.size} pairs of position and tooth: results agree to 1e-6; mean p = {snap.p.mean():.4g}"
        )
        times = [(clock(in_c), clock(in_python)) for _ in range(15)]
    ratio = statistics.median(p / c for c, p in times)
    print(f"C, one thread   {1e3 * statistics.median(c for c, _ in times):.1f} ms")
    print(f"numpy           {1e3 * statistics.median(p for _, p in times):.1f} ms")
    print(f"median ratio    {ratio:.2f} (limit {MAX_RATIO:g})")
    sys.exit(0 if ratio <= MAX_RATIO else 1)


def clock(run: object) -> float:
    assert callable(run)
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
