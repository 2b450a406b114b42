"""What a short answer tells: its one reason, three settings, the chance, why, two things to do, and
what was assumed. Nothing is computed here.
"""

from __future__ import annotations

from loadsim.answers.results import Help, Result, Settings, ThroatMillState, Verdict
from loadsim.answers.verdict import breaking_mill, chance_governs
from loadsim.base import shop, units
from loadsim.job.tables import Job
from loadsim.loads.limits.utilization import FULL, NEAR, NECK, Limit
from loadsim.loads.resolve import resolve
from loadsim.words import phrases, short
from loadsim.words.notes import MISTYPED
from loadsim.words.proving import prove_short
from loadsim.words.throat_mill import depths_and_sides

#: Shares of what a hand can turn between which a feed was held down to it. [1]
HELD = (0.97, FULL)

#: Passes that are told one by one.
PASSES_TOLD = 3


def reason(result: Result, target: float) -> str:
    """Say the one thing that decides.

    Parameters
    ----------
    result : Result
        Of a check.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    sentence : str
    """
    mill = breaking_mill(result.limits, result.risk, target, result.throat_mill)
    if mill is not None:
        return short.over_reason(mill)
    if chance_governs(result.limits, result.risk, target):
        return short.chance_reason(result.risk.snap_probability, target)
    limit = next(limit for limit in result.limits if limit.name == result.governed_by)
    if limit.over:
        return short.over_reason(limit)
    if result.verdict is Verdict.GO:
        return short.go_reason(limit)
    return _not_over(result, limit, target)


def _not_over(result: Result, limit: Limit, target: float) -> str:
    """Why it is to be proved where no limit is over: a hard one is near, the chance may be, or a
    drill does not hold.
    """
    if limit.hard and not limit.fit and limit.utilization > NEAR * FULL:
        return short.near_reason(limit)
    if result.risk.high > target:
        return short.chance_may_be(result.risk.high, target)
    return result.why[0].upper() + result.why[1:] + "."


def settings_rows(result: Result, job: Job, *, path: bool = True) -> list[tuple[str, str]]:
    """Tell the three settings as they are dialled, and those of the throat mill.

    Parameters
    ----------
    result : Result
        Of a check.
    job : Job
        Its job.
    path : bool
        Whether to tell where the passes run.

    Returns
    -------
    rows : list of (name, text)
    """
    settings = result.settings
    rows = [("spindle", f"{settings.spindle_speed_rpm:.0f} rpm"), ("feed", _feed(result, job))]
    if path:
        rows.append(("path", _path(settings, job)))
    if result.throat_mill is not None:
        rows.append(("throat", _mill(result.throat_mill, job)))
    return rows


def _feed(result: Result, job: Job) -> str:
    settings = result.settings
    system = job.job.units
    tooth = f"{shop.fine(settings.feed_per_tooth_mm, system)} a tooth"
    seconds = settings.handwheel_seconds_per_turn
    if seconds is None:
        rate = shop.feed_rate(settings.feed_rate_mm_per_min, system)
        return f"{rate} on the {phrases.DRIVEN[job.machine.feed]} ({tooth})"
    travel = seconds * settings.feed_rate_mm_per_min / 60
    return f"{phrases.wheel(seconds, travel, system)} ({tooth}){_hand(seconds)}"


def _hand(seconds: float) -> str:
    """What a hand makes of it: as fast as it keeps up, or too slow to be even."""
    if HELD[0] <= 1 / seconds <= HELD[1]:
        return ", as fast as a hand keeps up"
    return ", too slow to be even by hand: use a power feed" if seconds > 20 else ""


def _path(settings: Settings, job: Job) -> str:
    """Where the passes run: Y off the centre line, Z from the top of the work."""
    system = job.job.units
    passes = settings.passes
    if len(passes) == 1 and passes[0]["offset_mm"] == 0:
        z = shop.length_text(passes[0]["height_mm"] - job.slot.depth, system)
        return f"1 pass on the centre line, Z {z} from the top of the work"
    levels = list(dict.fromkeys(row["height_mm"] - job.slot.depth for row in passes))
    offsets = list(dict.fromkeys(row["offset_mm"] for row in passes))
    z = " and ".join(shop.dial(x, system) for x in sorted({levels[0], levels[-1]}))
    count = f"{len(passes)} pass{'es' if len(passes) > 1 else ''}"
    if len(offsets) > PASSES_TOLD:
        ends = (shop.dial(y, system, signed=True) for y in (min(offsets), max(offsets)))
        y = " to ".join(ends)
    else:
        y = ", ".join(_offset(y, system) for y in offsets)
    return f"{count}: Z {z}; Y {y} ({shop.DIAL[system]})"


def _offset(y: float, system: units.System) -> str:
    side = "" if y == 0 else " left" if y > 0 else " right"
    return shop.dial(y, system, signed=True) + side


def _mill(mill: ThroatMillState, job: Job) -> str:
    system = job.job.units
    rate = mill.feed_rate_mm_per_min
    feed = shop.feed_rate(rate, system)
    if job.machine.feed == "hand":
        travel = resolve(job).handwheel
        feed = phrases.wheel(60 * travel / rate, travel, system)
    deep = shop.length_text(mill.depth_per_pass_mm, system)
    levels = depths_and_sides(mill.levels, mill.side_levels, mill.side_steps)
    return f"{mill.spindle_speed_rpm:.0f} rpm, {feed}, {deep} deep a pass, {levels}"


def why(result: Result) -> str:
    """Say how the neck would go and what would have to be true for it; empty where the cutter does
    not get through at all.
    """
    if result.cause is None or any(
        limit.fit and limit.hard and limit.over for limit in result.limits
    ):
        return ""
    return short.why(
        result.risk.modes,
        at_shoulder=result.cause.at_shoulder,
        turns=result.neck.cycles,
        limits=result.limits,
        traits=result.cause.traits,
    )


def deeds(result: Result, job: Job) -> list[str]:
    """List what to do, that which matters most first.

    Parameters
    ----------
    result : Result
        Of a check.
    job : Job
        Its job.

    Returns
    -------
    sentences : list of str
    """
    told = [_help(helps, result) for helps in result.helps] or list(result.advice)
    if result.verdict is Verdict.NO_GO:
        # that nothing tried makes it pass stands first among the advice
        nothing = len(result.advice) > len(told)
        return [*result.advice[: int(nothing)], *told, short.NEVER]
    settle = short.settle(result.risk.drivers)
    if result.verdict is Verdict.GO or result.prove is None:
        return settle
    prove = prove_short(result.prove, job.job.units)
    if any(helps.verdict is Verdict.GO for helps in result.helps):
        best = next(i for i, x in enumerate(result.helps) if x.verdict is Verdict.GO)
        return [told[best], f"Or {prove[0].lower()}{prove[1:]}"]
    return [prove, *told, *settle]


def _help(helps: Help, result: Result) -> str:
    before, after = (
        phrases.chance_text(p).removeprefix("about ")
        for p in (result.risk.snap_probability, helps.snap_probability)
    )
    stands = {
        Verdict.GO: "a go",
        Verdict.MARGINAL: "to be proved on scrap",
        Verdict.NO_GO: "not enough alone",
    }[helps.verdict]
    if before == after:
        return f"{helps.text}: {stands}."
    return f"{helps.text}: it then snaps in {after}, {stands}."


def test_cuts(result: Result) -> str:
    """Say what the test cuts changed; empty where none counts."""
    trials = result.trials
    if trials is None or not trials.cuts:
        return ""
    before, after = (
        short.one_in(risk["snap_probability"]) for risk in (trials.before, trials.after)
    )
    count = len(trials.cuts)
    change = f"stays {after}" if before == after else f"was {before} before, is {after} now"
    return f"{count} test cut{'s' if count > 1 else ''}: the chance to snap {change}."


def mistyped(result: Result, job: Job) -> str:
    """Ask whether a unit is mistyped, where the neck is hopeless; else empty."""
    worst = max(limit.utilization for limit in result.limits if limit.name in NECK)
    if worst <= MISTYPED:
        return ""
    neck = units.show(job.cutter.neck_diameter, "length", job.job.units, both=True)
    return f"Is a unit mistyped? The neck is {neck} thick."


def batch(result: Result) -> str:
    """Say what becomes of one cutter over all slots; empty where there is nothing to tell."""
    many = result.batch
    if many is None or many.slots == 1 or many.snap_probability < 1e-6:
        return ""
    stone = many.stone_after_slots
    after = "" if stone is None else f"; stone it after {stone:,}"
    return (
        f" All {many.slots:,} slots with one cutter: {short.one_in(many.snap_probability)}{after}."
    )


def assumed(result: Result, job: Job) -> list[str]:
    """List what was assumed, what matters most first."""
    return short.assumed(resolve(job).assumed, result.risk.drivers, job.job.units)
