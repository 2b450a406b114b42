"""The equations behind one answer, in short, each with the sources it stands on."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.answers.results import Plan
from loadsim.loads.limits.utilization import LimitCode


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """One step of the computation."""

    title: str
    formula: str
    words: str
    keys: tuple[str, ...]  #: sources


_ALWAYS = (
    Equation(
        title="Uncut chip thickness",
        formula="h = max(0, min over k of [k f_z sin φ + r_j − r_(j−k)])",
        words=(
            "f_z feed per tooth, φ immersion from the feed normal, r_j radius of tooth j with the"
            " runout pointing at a tooth."
        ),
        keys=("Martellotti1941",),
    ),
    Equation(
        title="Force on an edge",
        formula="F_t = b k_c h K_γ K_w K_a,  k_c = k_c1.1 h^(−m_c)  or  K_tc + K_te / h",
        words=(
            "b engaged height; every source of the material's constants at the chip thickness of"
            " this cut, pooled; h never under the least that the edge cuts. F_r / F_t from the"
            " same sources."
        ),
        keys=("Kienzle1952", "KienzleVictor1957"),
    ),
    Equation(
        title="Rake",
        formula="K_γ = 1 − (γ − γ_0) / 66.7°",
        words=(
            "γ_0 the rake the constant was measured at; no relief past 35° above it, and the"
            " spread grows with the distance."
        ),
        keys=("Degner1993", "KalpakjianSchmid2014"),
    ),
    Equation(
        title="Forces on the cutter",
        formula="F_x = −F_t cos φ − F_r sin φ,  F_y = F_t sin φ − F_r cos φ,  T = Σ F_t R",
        words="Feed along +x; F_x below zero resists the feed, above zero it pulls the table.",
        keys=("Altintas2012",),
    ),
    Equation(
        title="Deflection of the neck",
        formula=(
            "stepped cantilever, w'' = M / (E I), shear with κ = 6(1 + ν) / (7 + 6ν), and F / k"
            " at the collet"
        ),
        words=(
            "Shank, neck and head each with its own section; natural frequency from the same beam."
        ),
        keys=("Cowper1966", "FriedmanKosmatka1993"),
    ),
    Equation(
        title="Shock",
        formula=(
            "M(ω) / F(ω) = Σ s_i ω_i² / (ω_i² − ω² + 2 j ζ ω_i ω);  each step of the force spread"
            " over 1 to 3 chips of travel and over b tan ψ"
        ),
        words=(
            "All bending modes of the stepped beam, over the force of one turn; ψ the skew of the"
            " edges, b the height of metal. Largest moment and swing, over those at rest. Rise,"
            " frequency (0.5 to 1.4 times that of a root held still), ζ (0.02 to 0.15) are drawn:"
            " no measured moment of such a neck was found. A pair of teeth on a neck that gives"
            " evens out runout to ρ / (1 + 2 G), G = give × dF_r/dh; a share of it, even from none"
            " to all, is credited."
        ),
        keys=("FriedmanKosmatka1993", "CloughPenzien1993"),
    ),
    Equation(
        title="Stress at the fillets",
        formula="σ = K_t 32 M / (π d³),  τ = K_ts 16 T / (π d³),  σ_1 = σ/2 + √(σ²/4 + τ²)",
        words=(
            "K_t of a shouldered round bar by a formula fitted to finite elements, with u = (d/D)²:"
            " 0.632 + 0.377 u^2.2 + √((0.503 − 0.363 u − 0.14 u²) / (3.368 − 2.39 u + u²) d/r);"
            " K_ts by the published chart."
        ),
        keys=("TimoshenkoGoodier1970", "TiptonSoremRolovic1996", "Pilkey2008"),
    ),
    Equation(
        title="Strength",
        formula="P(σ) = 1 − exp(−(σ / σ_0)^m)",
        words=(
            "Bend strength of the blank as a Weibull variable; the credit for a volume smaller than"
            " the test bar's lies between none and the whole."
        ),
        keys=("Weibull1951",),
    ),
    Equation(
        title="Fatigue",
        formula="σ_ar = √(σ_max σ_a),  Σ n_i / N(σ_ar,i / x) = 1",
        words=(
            "Amplitude and maximum from the stress followed around the neck over a turn; n_i the"
            " turns at each level, steady, unsteady or with packed chips; x is stress over"
            " strength. N(σ) is straight in log-log from what is borne once through a thousand"
            " turns to the limit."
        ),
        keys=(
            "SmithWatsonTopper1970",
            "Miner1945",
            "Shigley-fatigue",
            "HardSteelThousand",
            "Murakami2002",
        ),
    ),
    Equation(
        title="Tooth",
        formula="wedge pressed over its contact, and a short cantilever at its root",
        words=(
            "The chip presses on 2.5 of its thicknesses; land and wedge angle from rake and relief."
        ),
        keys=("TimoshenkoGoodier1970",),
    ),
    Equation(
        title="Snap probability",
        formula="P = mean over samples of P(fracture or fatigue or torsion | load, history)",
        words=(
            "What the neck lived through counts as damage and as proof; a table that is grabbed"
            " joins. Scrambled Sobol points; 16 independent scrambles give the interval; drivers"
            " are first-order shares of variance."
        ),
        keys=("JoeKuo2008", "Matousek1998", "Plischke2013"),
    ),
)

_DRILLS = Equation(
    title="Drills",
    formula=(
        "M = K_d f^0.8 D^1.8 A W,  T = 2 K_d f^0.8 D^0.8 B W + K_d D² J W (in, lb),"
        "  F_crit = π² E I / (0.7 L)²"
    ),
    words=(
        "Torque and thrust of a twist drill by a handbook's factors, chisel edge and margins"
        " included, W 1.3 for wear; chips in a deep hole; thrust against buckling of the drill."
    ),
    keys=("MachinerysHandbook31", "ShawOxford1957", "TimoshenkoGere1961", "Johnson1897"),
)

_MILL = Equation(
    title="Throat mill",
    formula="dF_t = F_t / b dz at φ − 2 z tan β / D",
    words=(
        "A helical edge by slices along the axis, summed over the teeth; "
        "0.8 of its diameter for stiffness."
    ),
    keys=("Altintas2012", "KopsVo1990"),
)

_TRIALS = Equation(
    title="Test cuts",
    formula="w ∝ likelihood of what was read, or of having survived",
    words="The samples of the risk are weighed; too few effective samples refuse the answer.",
    keys=("Kong1994",),
)

_GRIND = Equation(
    title="Head as ground",
    formula="e = R sin γ,  set-down R (1 − cos α)",
    words=(
        "Flute faces and flats cut from a round, as a polygon; area and "
        "second moments by Green's theorem."
    ),
    keys=("PlaneGeometry", "SutherlandHodgman1974", "Steger1996"),
)

_INFEED = Equation(
    title="Infeed of the neck",
    formula="F = e_c Q / v_s against bending of the thinning blank",
    words="Specific energy of grinding; steps set in before a full turn add up.",
    keys=("Malkin2008",),
)

_CHANCES = Equation(
    title="Out of tolerance, and gauges",
    formula="exact binomial interval of the samples out",
    words="Go and no-go pins on the inner side of the tolerance.",
    keys=("ClopperPearson1934", "ASMEB89Pins"),
)

_TOLERANCE = Equation(
    title="Tolerance of the undercut",
    formula="general tolerance, medium",
    words="The job gives none.",
    keys=("ISO2768-1",),
)


def equations_of(plan: Plan) -> tuple[Equation, ...]:
    """List the equations that this answer used.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    equations : tuple of Equation
    """
    equations = list(_ALWAYS)
    if _has_drills(plan):
        equations.append(_DRILLS)
    if plan.job.throat_mill is not None:
        equations.append(_MILL)
    if plan.result.trials is not None:
        equations.append(_TRIALS)
    if plan.job.grind is not None:
        equations += [_GRIND, _INFEED]
    if plan.inspection.out is not None:
        equations.append(_CHANCES)
    if plan.job.slot.width_tolerance is None and plan.job.target.wall_error is None:
        equations.append(_TOLERANCE)
    return tuple(equations)


def _has_drills(plan: Plan) -> bool:
    if plan.result.settings.predrill or plan.result.predrill.holes:
        return True
    limits = (limit for operation in plan.routing.operations for limit in operation.limits)
    return any(limit.name is LimitCode.DRILL_TORQUE for limit in limits)
