"""Where a dimension lies, drawn in letters: at most eight lines of 76 columns each."""

from __future__ import annotations

_THROAT = r"""
  ________           ________
          |<- this ->|
     _____|          |_____
    |                      |
    |______________________|
"""

_UNDERCUT = r"""
  ________            ________
          |          |
     _____|          |_____
    |<------- this ------->|
    |______________________|
"""

_DEPTH = r"""
  ________            ________  ---
          |          |           ^
     _____|          |_____     this
    |                      |     v
    |______________________|    ---
"""

_HEIGHT = r"""
  ________            ________
          |          |
     _____|          |_____     ---
    |                      |    this
    |______________________|    ---
"""

_LENGTH = r"""
   from above:
   ____________________________
     ........................  |
     ........................  |    dots: the undercut
   ____________________________|
  |<--------- this ---------->|
"""

_SIDES = r"""
     2 sides:                  1 side:
  _____      _____          _____      _____
   ____|    |____                |    |____
  |              |               |         |
  |______________|               |_________|
"""

_ENDS = r"""
   from above:
   0 open:             1 open:             2 open:
    ______________      ______________      ______________
   |              |                   |
   |______________|     ______________|     ______________
"""

_TEETH = r"""
   |     |  shank
   |__ __|
     | |    neck
    _| |_
   |_____|  head       the teeth stand around the head
"""

_HEAD_DIAMETER = r"""
   |     |  shank
   |__ __|
     | |    neck
    _| |_
   |_____|  head
   |<--->|  this
"""

_HEAD_HEIGHT = r"""
   |     |  shank
   |__ __|
     | |    neck
    _| |_   ---
   |_____|  this
            ---
"""

_SHANK = r"""
   |<--->|  this
   |     |  shank
   |__ __|
     | |    neck
    _| |_
   |_____|  head
"""

_NECK_DIAMETER = r"""
   |     |     shank
   |__ __|
  -->| |<--    this, where it is thinnest
    _| |_
   |_____|     head
"""

_NECK_LENGTH = r"""
   |     |  shank
   |__ __|  ---
     | |    this
    _| |_   ---
   |_____|  head
"""

_FILLET = r"""
   |        |  shank
   |__    __|
      \  /   <-- this radius, and the one
       ||        at the head alike
    __/  \__
   |________|  head
"""

_STICKOUT = r"""
   [collet]  ---
    |    |    ^
    |_  _|    |
      ||     this
     _||_     v
    |____|   ---
"""

_RAKE = r"""
   end of the head:
      o       tip of the tooth
      |\
      | \     its face, leaning back
      |  \
      |  this angle
      +       centre
"""

_RELIEF = r"""
   end of the head:
    o---------   edge, and the way it runs
      \
        \        this angle
          \
            the flat behind the edge
"""

_SKEW = r"""
   side of the head:
      |<->|      axis, and the edge of a tooth
     _|___/_
    | |  /  |    the edge leans by this angle
    |_|_/___|
      |/
"""

_WEAR = r"""
   flank of a tooth, seen from behind:
    _____________  edge
    #############  bright worn land  }  this, its width
    :::::::::::::  ground flat
"""

_RUNOUT = r"""
       (o)    indicator
        |
     ___v__
    |______|  head, turned by hand
"""

_WHEEL = r"""
     ___
    /   \ o   one full turn of the handle:
   |  +  |    how far does the table go?
    \___/
"""

#: By "table.key".
DRAWINGS = {
    key: drawing.strip("\n")
    for key, drawing in {
        "slot.throat_width": _THROAT,
        "slot.undercut_width": _UNDERCUT,
        "slot.width_tolerance": _UNDERCUT,
        "slot.depth": _DEPTH,
        "slot.undercut_height": _HEIGHT,
        "slot.length": _LENGTH,
        "slot.sides": _SIDES,
        "slot.open_ends": _ENDS,
        "cutter.head_diameter": _HEAD_DIAMETER,
        "cutter.head_height": _HEAD_HEIGHT,
        "cutter.shank_diameter": _SHANK,
        "cutter.neck_diameter": _NECK_DIAMETER,
        "cutter.neck_length": _NECK_LENGTH,
        "cutter.neck_fillet": _FILLET,
        "cutter.stickout": _STICKOUT,
        "cutter.teeth": _TEETH,
        "cutter.rake": _RAKE,
        "cutter.relief": _RELIEF,
        "cutter.edge_skew": _SKEW,
        "cutter.wear": _WEAR,
        "cutter.runout": _RUNOUT,
        "machine.handwheel": _WHEEL,
    }.items()
}
