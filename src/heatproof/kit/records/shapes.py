"""Where parts are: shapes placed in the car, patches of their surface, and the bay round them.

Car axes, in metres: x rearwards, y to the driver's right, z up. Origin as the bay says; the shipped examples
take the middle of the front axle, at the height of the road.
"""

from typing import Annotated, Literal

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Record
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import mm

REACH = 6.0  # m, coordinates beyond are taken for a slip
PLACE = Quantity(
    "m", -REACH, REACH, "Position of the middle: x rearwards, y right, z up", doubt=doubts.PLACED
)
TURN = Quantity(
    "deg", -6.3, 6.3, "Turn about the car's x, then y, then z axis, each right-handed", doubt=doubts.PLACED
)
ALONG = Quantity("1", -1e3, 1e3, "Direction the shape's own axis points in: x, y, z", doubt=doubts.PLACED)
SIZE = Quantity("mm", 0.2 * mm, 5.0, "Length along the shape's own x, y, z", doubt=doubts.PLACED)
DIAMETER = Quantity("mm", 0.5 * mm, 3.0, "Outer diameter", doubt=doubts.PLACED)
LENGTH = Quantity("mm", 0.5 * mm, 6.0, "Length along its own axis", doubt=doubts.PLACED)
EDGE = Quantity(
    "mm", 1 * mm, 1.0, "Length of a triangle's side: fine enough to look round", doubt=doubts.PLACED
)
NO_TURN = (0.0, 0.0, 0.0)
UPRIGHT = (0.0, 0.0, 1.0)
Three = tuple[float, ...]


class Box(Record):
    """A block about its middle."""

    kind: Annotated[Literal["box"], Text("a block")] = "box"
    size: Annotated[Three, SIZE]
    position: Annotated[Three, PLACE]
    turn: Annotated[Three, TURN] = NO_TURN
    edge: Annotated[float, EDGE] = 60 * mm


class Plate(Record):
    """A flat sheet: two faces, or the front alone where it bounds the bay."""

    kind: Annotated[Literal["plate"], Text("a flat sheet")] = "plate"
    size: Annotated[Three, Quantity("mm", 0.2 * mm, 5.0, "Length and width", doubt=doubts.PLACED)]
    position: Annotated[Three, PLACE]
    looks: Annotated[
        Three, Quantity("1", -1e3, 1e3, "Direction its front looks in: x, y, z", doubt=doubts.PLACED)
    ] = UPRIGHT
    roll: Annotated[float, Quantity("deg", -6.3, 6.3, "Turn about that direction", doubt=doubts.PLACED)] = 0.0
    faces: Annotated[
        Literal["both", "front"], Text("both: a shield; front: a panel whose other side is not in the bay")
    ] = "both"
    edge: Annotated[float, EDGE] = 60 * mm


class Cylinder(Record):
    """A round body about its middle."""

    kind: Annotated[Literal["cylinder"], Text("a round body")] = "cylinder"
    diameter: Annotated[float, DIAMETER]
    length: Annotated[float, LENGTH]
    position: Annotated[Three, PLACE]
    along: Annotated[Three, ALONG] = UPRIGHT
    edge: Annotated[float, EDGE] = 30 * mm


class Tube(Record):
    """A round pipe, hose or loom along a path; corners are rounded."""

    kind: Annotated[Literal["tube"], Text("pipe, hose or loom along a path")] = "tube"
    diameter: Annotated[float, DIAMETER]
    path: Annotated[
        tuple[tuple[float, float, float], ...],
        Quantity(
            "m", -REACH, REACH, "Points of the centre line: x rearwards, y right, z up", doubt=doubts.PLACED
        ),
    ]
    bend_radius: Annotated[
        float | None,
        Quantity(
            "mm",
            1 * mm,
            2.0,
            "Radius of every corner; as the path allows where left out",
            doubt=doubts.PLACED,
        ),
    ] = None
    edge: Annotated[float, EDGE] = 30 * mm


class Sphere(Record):
    """A ball of a given diameter, for bulbs, accumulators and joints."""

    kind: Annotated[Literal["sphere"], Text("a ball")] = "sphere"
    diameter: Annotated[float, DIAMETER]
    position: Annotated[Three, PLACE]
    edge: Annotated[float, EDGE] = 30 * mm


class Cone(Record):
    """A cone or part of one about its middle; its axis runs from the base to the top."""

    kind: Annotated[Literal["cone"], Text("a cone or part of one")] = "cone"
    base_diameter: Annotated[float, Quantity("mm", 0.0, 3.0, "Diameter at its base", doubt=doubts.PLACED)]
    top_diameter: Annotated[float, Quantity("mm", 0.0, 3.0, "Diameter at its top", doubt=doubts.PLACED)]
    length: Annotated[float, LENGTH]
    position: Annotated[Three, PLACE]
    along: Annotated[Three, ALONG] = UPRIGHT
    edge: Annotated[float, EDGE] = 30 * mm


class Mesh(Record):
    """A mesh from a file of the project: STL, GLB, OBJ, or STEP where its reader is installed."""

    kind: Annotated[Literal["mesh"], Text("a mesh from a file below parts/")] = "mesh"
    file: Annotated[str, Text("File below the project folder, such as parts/manifold.stl")]
    unit: Annotated[Literal["m", "cm", "mm", "in"], Text("What one unit of the file is")]
    position: Annotated[
        Three,
        Quantity(
            "m", -REACH, REACH, "Shift of the file's origin: x rearwards, y right, z up", doubt=doubts.PLACED
        ),
    ] = NO_TURN
    turn: Annotated[Three, TURN] = NO_TURN


AnyShape = Box | Plate | Cylinder | Tube | Sphere | Cone | Mesh


class Patches(Record):
    """The surface in patches, each at its own temperature; the first keeps the part's name. Plastic and rubber that face
    something hot are split by default."""

    split: Annotated[
        Literal["facing", "along", "sides", "none"],
        Text(
            "facing: the side towards another part, and the rest; along: slices; sides: by way they look; "
            "none: one temperature, even where a poor conductor faces something hot"
        ),
    ]
    towards: Annotated[str | None, Reference("parts", "The part it faces (split: facing)")] = None
    direction: Annotated[Three | None, ALONG] = None
    count: Annotated[int, Text("Number of slices (split: along)")] = 2
    wall: Annotated[
        float, Quantity("mm", 0.1 * mm, 50 * mm, "Wall thickness the heat spreads in", doubt=doubts.WALL)
    ] = 2 * mm
    conductivity: Annotated[
        float | None,
        Quantity(
            "W/m/K",
            0.01,
            450.0,
            "Conductivity of the wall; from the material where left out",
            doubt=doubts.CONDUCTIVITY,
        ),
    ] = None


class Bay(Record):
    """The space the parts stand in, and whether their places decide what radiates to what.

    `geometry: "on"`: shapes decide; facing and radiation links between two parts with shapes do not count.
    A side that names no part is open: what leaves there meets surroundings at ambient temperature.
    """

    geometry: Annotated[Literal["on", "off"], Text("on: shapes decide what radiates to what")] = "off"
    origin: Annotated[str, Text("Where x, y and z are counted from")] = ""
    lower: Annotated[
        Three, Quantity("m", -REACH, REACH, "Corner of the bay with the least x, y, z", doubt=doubts.PLACED)
    ]
    upper: Annotated[
        Three, Quantity("m", -REACH, REACH, "Corner with the largest x, y, z", doubt=doubts.PLACED)
    ]
    front: Annotated[str | None, Reference("parts", "Part that is the bay's front wall")] = None
    rear: Annotated[str | None, Reference("parts", "Part that is its rear wall")] = None
    left: Annotated[str | None, Reference("parts", "Part that is its left wall")] = None
    right: Annotated[str | None, Reference("parts", "Part that is its right wall")] = None
    top: Annotated[str | None, Reference("parts", "Part that is its lid")] = None
    bottom: Annotated[str | None, Reference("parts", "Part that is its floor")] = None
    rays_per_patch: Annotated[int, Text("Rays each patch sends; rounded to a power of two")] = 16384
    seed: Annotated[int, Text("Of the rays' spread; another gives another sample of the same error")] = 1
