"""What `loadsim new` asks, in the order of the trade, with what explains each question."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: What a typed answer is read as.
Form = Literal[
    "text", "yes", "units", "choice", "count", "hardness", "material", "quantity", "reading"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question."""

    key: str  #: "table.key" of the job file
    words: str  #: as asked
    help: str  #: in one sentence
    measure: str = ""  #: how it is found in a shop
    form: Form = "quantity"
    metric: str = ""  #: default; empty with `silent`
    inch: str = ""  #: default of an inch job, where it is another
    choices: tuple[str, ...] = ()
    silent: bool = False  #: may be left out, and the program then assumes something
    hand: bool = False  #: only asked of a hand feed

    @property
    def table(self) -> str:
        """Table of the job file."""
        return self.key.partition(".")[0]

    @property
    def name(self) -> str:
        """Key inside its table."""
        return self.key.partition(".")[2]


#: The question that no key of the file answers.
STRAIGHT = "slot.straight"

_JOB = (
    Question(
        key=STRAIGHT,
        words="Is the slot straight, T-shaped or undercut on one side? (yes or no)",
        help="Only such slots are answered for; a ring groove is cut along a curve.",
        form="yes",
        metric="yes",
    ),
    Question(
        key="job.number",
        words="Job number",
        help="What the traveler is headed with; any text.",
        form="text",
        metric="1",
    ),
    Question(
        key="job.units",
        words="Units: inch or metric",
        help="What you measure in, and what the answer leads with.",
        form="units",
        metric="metric",
        choices=("metric", "inch"),
    ),
    Question(
        key="work.material",
        words="Metal to cut (a name, or ? for the list)",
        help="Type any usual name or a part of it, such as 6061 or mild steel, or a number of"
        " this list.",
        measure="off the rack's label or the mill certificate",
        form="material",
        metric="al-6061-t6",
        inch="al-6061-t6",
    ),
    Question(
        key="work.lubrication",
        words="Lubrication (dry, brush, mist, flood)",
        help="How the cut is wetted; dry metal may weld to the edge, which loads the neck.",
        form="choice",
        metric="brush",
        choices=("dry", "brush", "mist", "flood"),
    ),
)

_SLOT = (
    Question(
        key="slot.throat_width",
        words="Throat slot: width",
        help="The narrow slot at the surface, which the neck runs in.",
        measure="from the print; with gauge pins or a caliper if it is milled already",
        metric="6 mm",
        inch="1/4 in",
    ),
    Question(
        key="slot.undercut_width",
        words="Undercut: width",
        help="Over both sides; of a one-sided slot from the plain wall to the undercut wall.",
        measure="from the print",
    ),
    Question(
        key="slot.depth",
        words="Depth: surface to the floor of the undercut",
        help="How far the cutter's lower face stands under the surface of the part.",
        measure="from the print; with a depth micrometer if the throat is milled to depth",
        metric="7 mm",
        inch="0.280 in",
    ),
    Question(
        key="slot.undercut_height",
        words="Undercut: height",
        help="From the roof of the undercut to its floor.",
        measure="from the print",
    ),
    Question(
        key="slot.length",
        words="Slot: length",
        help="How far the undercut runs along the part.",
        measure="from the print",
        metric="80 mm",
        inch="3 in",
    ),
    Question(
        key="slot.sides",
        words="Sides undercut (2 = T-shaped, 1 = one side)",
        help="How many walls of the throat are undercut.",
        form="count",
        metric="2",
    ),
    Question(
        key="slot.open_ends",
        words="Ends that are open (0, 1 or 2)",
        help="An end is open where the cutter can run in or out of the part sideways.",
        form="count",
        metric="1",
    ),
    Question(
        key="slot.width_tolerance",
        words="Tolerance of the undercut's width, plus and minus",
        help="How far the width may be off either way.",
        measure="from the print; half of the whole band",
        silent=True,
    ),
    Question(
        key="job.slots_per_part",
        words="Slots like this in one part",
        help="All are cut with this one cutter, so each takes a share of its life.",
        form="count",
        metric="1",
    ),
    Question(
        key="job.quantity",
        words="Parts to cut",
        help="All are cut with this one cutter unless it is changed.",
        form="count",
        metric="1",
    ),
)

_CUTTER = (
    Question(
        key="cutter.material",
        words="Blank that the cutter is ground from (a name, or ? for the list)",
        help="Type any usual name or a part of it, such as M2, HSS or carbide, or a number of this"
        " list.",
        measure="stamped on the shank, or a spark test beside a known piece",
        form="material",
        metric="hss-m2",
    ),
    Question(
        key="cutter.hardness",
        words="Hardness of the blank, HRC",
        help="Rockwell C of the finished cutter.",
        measure="on a hardness tester, on the shank; a file that skates tells only that it is"
        " over about 60",
        form="hardness",
        silent=True,
    ),
    Question(
        key="cutter.head_diameter",
        words="Head: diameter over the teeth",
        help="The part that cuts the undercut, across the tips of its teeth.",
        measure="micrometer over two opposite teeth; with three, a ring gauge or a slot cut in"
        " scrap",
    ),
    Question(
        key="cutter.head_height",
        words="Head: height",
        help="From the lower face of the head to its upper face.",
        measure="micrometer over both faces of the head",
    ),
    Question(
        key="cutter.shank_diameter",
        words="Shank: diameter",
        help="What the collet holds.",
        measure="micrometer",
    ),
    Question(
        key="cutter.neck_diameter",
        words="Neck: diameter",
        help="The thin part between head and shank, which snaps; a thousandth matters here.",
        measure="micrometer with thin anvils, or a caliper's blade tips, at the thinnest place",
    ),
    Question(
        key="cutter.neck_length",
        words="Neck: length, from the shank's shoulder to the head",
        help="How far the thin part reaches.",
        measure="caliper, from the shoulder to the upper face of the head",
    ),
    Question(
        key="cutter.neck_fillet",
        words="Neck: fillet radius at its ends",
        help="The radius in the corner where neck meets shank and head; a sharp corner snaps"
        " first.",
        measure="radius gauges under a glass, or the radius dressed on the wheel",
        silent=True,
    ),
    Question(
        key="cutter.stickout",
        words="Stick-out: collet face to the head's lower face",
        help="How far the whole cutter stands out of the collet.",
        measure="rule or depth gauge, with the cutter clamped as it will run",
    ),
    Question(
        key="cutter.teeth",
        words="Teeth",
        help="How many edges the head has.",
        measure="count them",
        form="count",
        metric="2",
    ),
    Question(
        key="cutter.rake",
        words="Rake of the tooth's face",
        help="How far the face leans back from the line to the centre; 0 points straight at it.",
        measure="from the grinding fixture: sin(rake) = how far past centre the face was ground"
        " / half the head's diameter",
        metric="8 deg",
    ),
    Question(
        key="cutter.relief",
        words="Relief behind the edge",
        help="How steeply the flat behind the edge falls away.",
        measure="from the grinding fixture; with a protractor under a glass",
        silent=True,
    ),
    Question(
        key="cutter.edge_skew",
        words="Skew of the edges: how far they lean against the axis",
        help="A straight edge meets the metal all at once and the neck rings; one that leans does"
        " not.",
        measure="indicator drawn along an edge; 0.035 mm in 2 mm, or 3.5 thou in 0.2 in, is 1 deg",
        silent=True,
    ),
    Question(
        key="cutter.wear",
        words="Worn land behind the edge: width (0 fresh from the stone)",
        help="The bright strip that rubbing wears behind the edge; it presses on the neck.",
        measure="under a loupe with a scale",
        silent=True,
    ),
    Question(
        key="cutter.runout",
        words="Runout at the head: full indicator reading",
        help="How far the head swings; half of the reading counts, and is written down.",
        measure="indicator on the round of the head or just above it, spindle turned by hand",
        form="reading",
        silent=True,
    ),
)

_MACHINE = (
    Question(
        key="machine.max_spindle_speed",
        words="Machine: fastest spindle speed, rpm",
        help="The fastest that the spindle turns.",
        measure="off the machine's plate or the speed chart",
        metric="2800 rpm",
    ),
    Question(
        key="machine.spindle_power",
        words="Machine: power of the spindle motor",
        help="What the motor is rated for.",
        measure="off the motor's plate",
        metric="1.1 kW",
        inch="1.5 hp",
    ),
    Question(
        key="machine.feed",
        words="Table fed by (hand, power, cnc)",
        help="A hand feeds unevenly, a power feed less so.",
        form="choice",
        metric="hand",
        choices=("hand", "power", "cnc"),
    ),
    Question(
        key="machine.handwheel",
        words="Handwheel: table travel for one turn",
        help="The feed is told as seconds for one turn of this wheel.",
        measure="the full count of the dial: it often ends at 100 or 200 thousandths",
        metric="5 mm",
        inch="0.100 in",
        silent=True,
        hand=True,
    ),
)

QUESTIONS = (*_JOB, *_SLOT, *_CUTTER, *_MACHINE)
