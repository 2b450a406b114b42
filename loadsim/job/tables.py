"""The things of the job: slot, cutter, machine, cut, target. They are valid or they are not made.

Every quantity is written in a job file as a text with its unit and held as a float in the internal
unit (mm, MPa, rad, mm/s, rad/s, N*mm/s, N/mm). The limits given here are those of physical sense
for small cutters; the range of a *model* is another matter and is told by a note beside the answer.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr

from loadsim.job.fields import (
    DEG,
    RPM,
    Angle,
    Direction,
    Feed,
    Force,
    FromShop,
    Length,
    Lubrication,
    PathOrName,
    Power,
    Speed,
    SpindleSpeed,
    Stiffness,
    Stress,
    SurfaceSpeed,
    Text,
    Torque,
    as_tuple,
    whole_number,
)


class Thing(BaseModel):
    """Base of everything in a job file: frozen, and no key is swallowed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class Heading(Thing):
    """``[job]``: what the traveler is headed with."""

    number: Text = Field(description="Job number, free text.")
    part: Text | None = Field(None, description="Part name or number.")
    drawing: Text | None = Field(None, description="Drawing number.")
    revision: Text | None = Field(None, description="Drawing revision.")
    operation: Text | None = Field(None, description="Operation number or name.")
    quantity: Annotated[int, Field(ge=1, le=1_000_000)] | None = Field(
        None, description="How many parts."
    )
    slots_per_part: Annotated[int, Field(ge=1, le=1000)] | None = Field(
        None, description="How many such slots a part has, all cut with this cutter; default: one."
    )
    author: Text | None = Field(None, description="Who wrote the job.")
    units: Literal["metric", "inch"] = Field(
        "metric", description="The system the answer leads with."
    )
    trials: Annotated[tuple[PathOrName, ...], BeforeValidator(as_tuple), Field(max_length=12)] = (
        Field(
            (),
            description="Other job files whose scrap test cuts count here too, beside this file.",
        )
    )


class Work(Thing):
    """``[work]``: what is cut, how it is lubricated, and the shop's own force constants if it has
    any.
    """

    material: PathOrName = Field(
        description="A name from `loadsim materials`, or a path to a material file."
    )
    lubrication: Lubrication = Field(description="dry, brush, mist or flood.")
    kc11: Stress | None = Field(
        None, ge=50.0, le=20_000.0, description="Specific cutting force at h = 1 mm."
    )
    mc: Annotated[float, Field(ge=0.0, le=0.6)] | None = Field(
        None, description="Kienzle exponent."
    )
    radial_ratio: Annotated[float, Field(ge=0.02, le=3.0)] | None = Field(
        None, description="Radial force over tangential force, constant."
    )
    rake_reference: Angle | None = Field(
        None, ge=-30 * DEG, le=45 * DEG, description="Rake that kc11 was measured at."
    )
    spread: Annotated[float, Field(ge=0.0, le=1.0)] | None = Field(
        None, description="Standard deviation of ln(force)."
    )


class Slot(Thing):
    """``[slot]``: the feature in section, a throat slot above and an undercut below."""

    throat_width: Length = Field(ge=0.3, le=500, description="Width of the throat slot.")
    throat_depth: Length | None = Field(
        None,
        ge=0.05,
        le=500,
        description="How deep the throat slot was milled first; default: the depth.",
    )
    undercut_width: Length = Field(
        ge=0.3,
        le=500,
        description="Over both sides; one-sided: plain throat wall to undercut wall.",
    )
    undercut_height: Length = Field(ge=0.05, le=500, description="Height of the undercut.")
    depth: Length = Field(ge=0.1, le=500, description="Surface to the undercut floor.")
    length: Length = Field(ge=0.5, le=5000, description="Length of the slot.")
    sides: Annotated[Literal[1, 2], BeforeValidator(whole_number)] = Field(
        description="2 = T-shaped, 1 = undercut on one side only."
    )
    open_ends: Annotated[Literal[0, 1, 2], BeforeValidator(whole_number)] = Field(
        description="How many ends are open."
    )
    width_tolerance: Length | None = Field(
        None, ge=0.001, le=5, description="Plus and minus on undercut_width."
    )


class Cutter(Thing):
    """``[cutter]``: as ground."""

    material: PathOrName = Field(
        description="A blank material from `loadsim materials`, or a path."
    )
    hardness: Annotated[float, Field(ge=10.0, le=75.0)] | None = Field(
        None, description="Rockwell C."
    )
    head_diameter: Length = Field(ge=0.4, le=200, description="Diameter over the teeth.")
    head_height: Length = Field(ge=0.1, le=100, description="Height of the head.")
    corner_radius: Length | None = Field(
        None, ge=0.0, le=20, description="Radius at the outer corners, top and bottom."
    )
    neck_diameter: Length = Field(ge=0.2, le=100, description="Diameter of the neck.")
    neck_length: Length = Field(
        ge=0.1, le=300, description="Shank shoulder to the head's upper face."
    )
    neck_fillet: Length | None = Field(
        None, ge=0.005, le=20, description="Radius at the neck's ends."
    )
    head_fillet: Length | None = Field(
        None, ge=0.005, le=20, description="Radius at the head; default: as neck_fillet."
    )
    shank_diameter: Length = Field(ge=0.5, le=100, description="Diameter of the shank.")
    stickout: Length = Field(ge=0.5, le=500, description="Collet face to the head's lower face.")
    teeth: Annotated[int, Field(ge=1, le=12)] = Field(description="Number of teeth.")
    rake: Angle | None = Field(None, ge=-30 * DEG, le=45 * DEG, description="Radial rake.")
    face_offset: Length | None = Field(
        None, ge=-20, le=20, description="How far past centre the flute face was ground."
    )
    relief: Angle | None = Field(None, ge=0.5 * DEG, le=45 * DEG, description="Primary relief.")
    edge_skew: Angle | None = Field(
        None, ge=0.0, le=10 * DEG, description="Angle between the teeth's edges and the axis."
    )
    edge_radius: Length | None = Field(
        None, ge=0.0005, le=0.2, description="Radius of the cutting edge."
    )
    wear: Length | None = Field(None, ge=0.0, le=1.0, description="Worn land behind the edge.")
    runout: Length | None = Field(
        None, ge=0.0, le=1.0, description="Radial: half the total indicator reading, at the head."
    )


class Machine(Thing):
    """``[machine]``: the spindle, and how the table is fed."""

    max_spindle_speed: SpindleSpeed = Field(
        ge=10 * RPM, le=200_000 * RPM, description="Fastest spindle speed."
    )
    min_spindle_speed: SpindleSpeed | None = Field(
        None, ge=1 * RPM, le=200_000 * RPM, description="Slowest spindle speed."
    )
    spindle_power: Power = Field(ge=5e3, le=1e9, description="Rated power of the spindle motor.")
    feed: Literal["hand", "power", "cnc"] = Field(description="How the table is fed.")
    handwheel: Length | None = Field(
        None, ge=0.1, le=100, description="Table travel for one turn of the handwheel."
    )
    backlash: Length | None = Field(None, ge=0.0, le=5, description="Backlash of the table screw.")
    stiffness: Stiffness | None = Field(
        None, ge=10.0, le=1e7, description="Radial stiffness at the collet."
    )
    wheel_force: Force | None = Field(
        None, ge=0.1, le=500, description="Force at the handwheel's rim that moves the idle table."
    )
    holder: Literal["collet", "side-lock"] | None = Field(
        None, description="What holds the shank: a collet, or a screw on a flat; default: collet."
    )


class Cut(Thing):
    """``[cut]``: the settings; what is left out is picked."""

    spindle_speed: SpindleSpeed | None = Field(
        None, ge=1 * RPM, le=200_000 * RPM, description="Spindle speed."
    )
    surface_speed: SurfaceSpeed | None = Field(
        None, ge=1, le=5e4, description="Speed of the teeth; read as the spindle speed it makes."
    )
    feed_per_tooth: Feed | None = Field(None, ge=1e-5, le=5.0, description="Feed per tooth.")
    feed_rate: Speed | None = Field(None, ge=1e-3, le=1e3, description="Table feed.")
    stepover: Length | None = Field(
        None, ge=0.005, le=100, description="How far a side pass steps outward."
    )
    predrill: bool | None = Field(None, description="Whether end holes are drilled first.")
    direction: Direction | None = Field(None, description="How the side passes cut their wall.")


class Target(Thing):
    """``[target]``: what is good enough."""

    snap_probability: Annotated[float, Field(ge=1e-6, le=0.5)] = Field(
        0.01, description="Accepted chance that the neck snaps in this cut."
    )
    wall_error: Length | None = Field(
        None, ge=0.001, le=5, description="Accepted error of a wall's position."
    )


class Predrill(Thing):
    """``[predrill]``: end holes along the feed, or from the top, as the shop drills them."""

    diameter: Length = Field(ge=0.2, le=100, description="Drill diameter.")
    offsets: list[Annotated[Length, Field(ge=-250, le=250)]] = Field(
        min_length=1, max_length=12, description="Hole axes from the centre line."
    )
    height: Length | None = Field(None, ge=0.05, le=500, description="Hole axes above the floor.")
    heights: list[Annotated[Length, Field(ge=0.05, le=500)]] | None = Field(
        None, min_length=1, max_length=12, description="Instead of height, one for each offset."
    )
    along: list[Annotated[Length, Field(ge=-250, le=2000)]] | None = Field(
        None, min_length=1, max_length=12, description="Of holes from the top: from the closed end."
    )
    depth: Length = Field(ge=0.1, le=2000, description="Of the holes, from where they start.")


class ThroatMill(Thing):
    """``[throat_mill]``: the end mill that cuts the throat slot, to be checked and given
    settings.
    """

    diameter: Length = Field(ge=0.3, le=100, description="Diameter of the end mill.")
    flute_length: Length = Field(
        ge=0.3,
        le=300,
        description=(
            "Length that fits into the slot: the flutes, with a relieved neck if it has one."
        ),
    )
    teeth: Annotated[int, Field(ge=1, le=12)] = Field(description="Number of teeth.")
    helix: Angle = Field(ge=0.0, le=60 * DEG, description="Helix angle; 0 is straight.")
    material: PathOrName = Field(
        description="A hardened blank material from `loadsim materials`, or a path."
    )
    stickout: Length = Field(ge=0.5, le=500, description="Collet face to the mill's tip.")
    shank_diameter: Length | None = Field(None, ge=0.5, le=100, description="Of the shank.")
    corner_radius: Length | None = Field(None, ge=0.0, le=50, description="Radius at the corners.")
    hardness: Annotated[float, Field(ge=10.0, le=75.0)] | None = Field(
        None, description="Rockwell C."
    )
    runout: Length | None = Field(
        None, ge=0.0, le=1.0, description="Radial: half the total indicator reading, at the teeth."
    )
    spindle_speed: SpindleSpeed | None = Field(
        None, ge=1 * RPM, le=200_000 * RPM, description="Spindle speed; picked when left out."
    )
    feed_per_tooth: Feed | None = Field(
        None, ge=1e-5, le=5.0, description="Feed per tooth; picked when left out."
    )
    depth_per_pass: Length | None = Field(
        None, ge=0.005, le=300, description="Axial depth of a pass; picked when left out."
    )


class Trial(Thing):
    """``[[trial]]``: one scrap test cut. A reading has its uncertainty: 19 readings in 20 lie
    within plus and minus that.
    """

    spindle_speed: SpindleSpeed = Field(ge=1 * RPM, le=200_000 * RPM, description="Spindle speed.")
    feed_per_tooth: Feed | None = Field(None, ge=1e-5, le=5.0, description="Feed per tooth.")
    feed_rate: Speed | None = Field(None, ge=1e-3, le=1e3, description="Table feed.")
    length: Length = Field(ge=0.1, le=50_000, description="How far it was cut along the slot.")
    outcome: Literal["survived", "snapped"] = Field(
        description="survived the length, or snapped on it."
    )
    slots: Annotated[int, Field(ge=1, le=100_000)] = Field(
        1, description="So many of this length, one after the other; it snapped in the last."
    )
    cutter: Literal["this", "another"] = Field(
        "this", description="The very cutter of the job, or another one ground alike."
    )
    material: PathOrName | None = Field(None, description="What was cut; left out: as in [work].")
    blank: PathOrName | None = Field(
        None, description="What the cutter was ground from; left out: as in [cutter]."
    )
    neck_diameter: Length | None = Field(
        None,
        ge=0.2,
        le=100,
        description="Neck of the cutter that made it; left out: as in [cutter].",
    )
    neck_length: Length | None = Field(None, ge=0.1, le=300, description="Likewise.")
    neck_fillet: Length | None = Field(None, ge=0.005, le=20, description="Likewise.")
    stepover: Length | None = Field(
        None, ge=0.005, le=100, description="Step of a side pass; left out: each side in one step."
    )
    predrill: bool | None = Field(
        None, description="Whether the end holes of the job were drilled first; left out: no."
    )
    direction: Direction | None = Field(
        None, description="How the side passes cut their wall; left out: conventional."
    )
    force: Force | None = Field(
        None, ge=1e-3, le=1e5, description="Largest force across the head in the steady run."
    )
    force_uncertainty: Force | None = Field(None, ge=1e-4, le=1e5, description="Of the force.")
    torque: Torque | None = Field(
        None, ge=1e-2, le=1e7, description="Largest torque in the steady run."
    )
    torque_uncertainty: Torque | None = Field(None, ge=1e-3, le=1e7, description="Of the torque.")
    spindle_power: Power | None = Field(
        None,
        ge=1.0,
        le=1e9,
        description="At the cutter, on average, over what the spindle takes idling.",
    )
    spindle_power_uncertainty: Power | None = Field(None, ge=1, le=1e9, description="Of the power.")
    deflection: Length | None = Field(
        None, ge=1e-4, le=10, description="Largest deflection of the head in the steady run."
    )
    deflection_uncertainty: Length | None = Field(None, ge=1e-4, le=5, description="Likewise.")
    slot_width: Length | None = Field(
        None, ge=0.3, le=500, description="Width of the undercut as it came out."
    )
    slot_width_uncertainty: Length | None = Field(None, ge=1e-4, le=5, description="Likewise.")
    wall_offset: Length | None = Field(
        None, ge=-5, le=5, description="How far the wall cut last lies outward of where it was set."
    )
    wall_offset_uncertainty: Length | None = Field(None, ge=1e-4, le=5, description="Likewise.")
    chips: Text | None = Field(None, description="What the chips looked like.")
    sound: Literal["quiet", "sings", "howls"] | None = Field(
        None, description="What it sounded like."
    )
    finish: Text | None = Field(None, description="What the walls and the floor looked like.")
    note: Text | None = Field(None, description="Anything else, such as the date and who cut it.")


class Grind(Thing):
    """``[grind]``: how the teeth are ground, seen on the end of the head."""

    gullet_depth: Length = Field(
        ge=0.02,
        le=90,
        description="From the head's round surface down to the flute's floor, along its face.",
    )
    gullet_angle: Angle | None = Field(
        None,
        ge=30 * DEG,
        le=150 * DEG,
        description="Between the flute's face and the back of the gullet; default: square.",
    )
    land: Length = Field(
        ge=0.01, le=50, description="Width of the primary relief flat behind the edge."
    )
    secondary_relief: Angle | None = Field(
        None, ge=1 * DEG, le=85 * DEG, description="Of the flat behind the land."
    )
    secondary_land: Length | None = Field(
        None,
        ge=0.01,
        le=50,
        description="Width of that flat, where the heel is taken off behind it.",
    )
    heel_relief: Angle | None = Field(
        None, ge=1 * DEG, le=89 * DEG, description="Of the flat that takes the heel off."
    )


class Job(Thing):
    """A whole job file."""

    job: Heading
    work: Work
    slot: Slot
    cutter: Cutter
    machine: Machine
    cut: Cut = Cut.model_validate({})
    target: Target = Target.model_validate({})
    predrill: Predrill | None = None
    grind: Grind | None = None
    throat_mill: ThroatMill | None = None
    trial: Annotated[tuple[Trial, ...], BeforeValidator(as_tuple), Field(max_length=100)] = ()
    _given: dict[str, Any] | None = PrivateAttr(None)
    _shop: FromShop | None = PrivateAttr(None)

    @property
    def given(self) -> dict[str, Any] | None:
        """The tables as they were written, with their units; None for a job that was not read from
        a text.
        """
        return self._given

    @property
    def slots_in_batch(self) -> int:
        """How many slots are cut with one cutter unless it is changed. [1]"""
        return (self.job.quantity or 1) * (self.job.slots_per_part or 1)

    @property
    def shop(self) -> FromShop | None:
        """What came from a shop file; None when nothing did."""
        return self._shop

    def with_given(self, given: dict[str, Any] | None, shop: FromShop | None = None) -> Job:
        """Return this job with the tables it was written as, and what a shop file gave of them."""
        job = self.model_copy()
        job._given, job._shop = given, shop
        return job

    def __eq__(self, other: object) -> bool:
        # equal values are equal jobs, however they were written
        return isinstance(other, Job) and self.model_dump() == other.model_dump()

    def __hash__(self) -> int:
        return hash(self.model_dump_json())
