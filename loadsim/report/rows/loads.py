"""The loads of a cut: in full on the page, drawn together on a terminal."""

from __future__ import annotations

from loadsim.answers.results import Result
from loadsim.base import units
from loadsim.report.rows.numbers import Show


def load_rows(result: Result, system: units.System) -> list[tuple[str, str]]:
    """Tabulate the loads and stresses of a cut, each on a row of its own.

    Parameters
    ----------
    result : Result
        Its loads and the state of its neck.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of (label, text)
    """
    loads = result.loads
    neck = result.neck
    show = Show(system)
    quantities = [
        ("Thickest chip", loads.peak_chip_mm, "mm", "chip thickness"),
        ("Force on the head, peak", loads.peak_force_N, "N", "force"),
        ("Force on the head, mean", loads.mean_force_N, "N", "force"),
        ("Torque, peak", loads.peak_torque_Nmm, "N*mm", "torque"),
        ("Torque, mean", loads.mean_torque_Nmm, "N*mm", "torque"),
        ("Power, mean", loads.mean_power_W, "W", "power"),
        ("Feed force, mean (above zero resists)", loads.feed_force_mean_N, "N", "force"),
        ("Feed force, largest pull", loads.feed_force_pull_N, "N", "force"),
        ("Neck deflection at the head", neck.deflection_mm, "mm", "length"),
        ("Stiffness at the head", neck.stiffness_N_per_mm, "N/mm", "stiffness"),
        ("Bending moment", neck.moment_Nmm, "N*mm", "torque"),
        ("Bending stress, nominal", neck.bending_stress_MPa, "MPa", "stress"),
        ("Torsion stress, nominal", neck.torsion_stress_MPa, "MPa", "stress"),
        ("Peak stress at the fillet", neck.peak_stress_MPa, "MPa", "stress"),
        ("Force that snaps the neck", neck.force_to_snap_N, "N", "force"),
        ("Torque that snaps the neck", neck.torque_to_snap_Nmm, "N*mm", "torque"),
    ]
    return [
        *((label, show(value, unit, dimension)) for label, value, unit, dimension in quantities),
        ("K_t bending, K_ts torsion", f"{neck.kt_bending:.3g}, {neck.kt_torsion:.3g}"),
        ("Natural frequency", f"{neck.natural_frequency_Hz:.0f} Hz"),
        (
            "As the neck rings: largest moment, swing",
            f"{neck.shock_moment_factor:.2f}, {neck.shock_amplitude_factor:.2f} times",
        ),
        ("Turns that load the neck", f"{neck.cycles:,.0f}"),
        ("Metal removed", f"{loads.removal_rate_mm3_per_min:.4g} mm³/min"),
    ]


def brief_load_rows(result: Result, system: units.System) -> list[tuple[str, str]]:
    """Tabulate the loads and stresses of a cut, what belongs together on one row.

    Parameters
    ----------
    result : Result
        Its loads and the state of its neck.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of (label, text)
    """
    loads = result.loads
    neck = result.neck
    show = Show(system)

    def force(value: float) -> str:
        return show(value, "N", "force")

    def torque(value: float) -> str:
        return show(value, "N*mm", "torque")

    def stress(value: float) -> str:
        return show(value, "MPa", "stress")

    resists = loads.feed_force_mean_N >= 0
    feed_force = loads.feed_force_mean_N if resists else -loads.feed_force_mean_N
    head = f"{force(loads.peak_force_N)} at the peak, {force(loads.mean_force_N)} on average"
    feed = f"{force(feed_force)} on average {'against' if resists else 'with'} the feed"
    power = show(loads.mean_power_W, "W", "power")
    bending = stress(neck.bending_stress_MPa)
    torsion = stress(neck.torsion_stress_MPa)
    nominal = f"bending {bending}, torsion {torsion} nominal"
    snaps_at = f"{force(neck.force_to_snap_N)} across, or {torque(neck.torque_to_snap_Nmm)}"
    return [
        ("thickest chip", show(loads.peak_chip_mm, "mm", "chip thickness")),
        ("force on the head", head),
        ("feed force", f"{feed}, at most {force(loads.feed_force_pull_N)} along it"),
        ("torque", f"{torque(loads.peak_torque_Nmm)} at the peak; power {power}"),
        ("neck deflection", f"{show.length(neck.deflection_mm)} at the head"),
        ("neck stress", f"{nominal}; {stress(neck.peak_stress_MPa)} at the fillet"),
        ("neck snaps at", snaps_at),
    ]
