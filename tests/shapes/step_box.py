"""A box as a STEP file (ISO 10303-21, application protocol 214), written from the standard's entities."""

from collections.abc import Sequence

HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('box','2026-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));
ENDSEC;
DATA;
"""
FACES = (
    ((0, 2, 3, 1), (0, 0, -1), (1, 0, 0)),
    ((4, 5, 7, 6), (0, 0, 1), (1, 0, 0)),
    ((0, 1, 5, 4), (0, -1, 0), (1, 0, 0)),
    ((2, 6, 7, 3), (0, 1, 0), (1, 0, 0)),
    ((0, 4, 6, 2), (-1, 0, 0), (0, 1, 0)),
    ((1, 3, 7, 5), (1, 0, 0), (0, 1, 0)),
)
"""Corners in turn, outward normal, a direction in the plane."""


class StepBox:
    """Entities of one box; corner k has the bits of k as x, y, z."""

    def __init__(self, size: Sequence[float], prefix: str) -> None:
        self.lines: list[str] = []
        self.corners = [tuple(size[axis] * (k >> axis & 1) for axis in range(3)) for k in range(8)]
        self.vertices = [self.add(f"VERTEX_POINT('',{self.point(p)})") for p in self.corners]
        self.edges: dict[tuple[int, int], str] = {}
        faces = ",".join(self.face(*face) for face in FACES)
        shell = self.add(f"CLOSED_SHELL('',({faces}))")
        solid = self.add(f"MANIFOLD_SOLID_BREP('box',{shell})")
        self.product(solid, self.context(f".{prefix}." if prefix else "$"))

    def add(self, entity: str) -> str:
        """One entity; its number."""
        self.lines.append(entity)
        return f"#{len(self.lines)}"

    def point(self, p: Sequence[float]) -> str:
        return self.add(f"CARTESIAN_POINT('',({','.join(repr(float(x)) for x in p)}))")

    def direction(self, d: Sequence[float]) -> str:
        return self.add(f"DIRECTION('',({','.join(repr(float(x)) for x in d)}))")

    def placement(self, p: Sequence[float], z: Sequence[float], x: Sequence[float]) -> str:
        return self.add(f"AXIS2_PLACEMENT_3D('',{self.point(p)},{self.direction(z)},{self.direction(x)})")

    def edge(self, i: int, j: int) -> str:
        """Oriented; the curve itself is made once."""
        low, high = min(i, j), max(i, j)
        if (low, high) not in self.edges:
            p, q = self.corners[low], self.corners[high]
            along = [float(b > a) for a, b in zip(p, q, strict=True)]
            vector = self.add(f"VECTOR('',{self.direction(along)},1.)")
            line = self.add(f"LINE('',{self.point(p)},{vector})")
            ends = f"{self.vertices[low]},{self.vertices[high]}"
            self.edges[low, high] = self.add(f"EDGE_CURVE('',{ends},{line},.T.)")
        return self.add(f"ORIENTED_EDGE('',*,*,{self.edges[low, high]},.{'T' if i < j else 'F'}.)")

    def face(self, loop: Sequence[int], normal: Sequence[float], across: Sequence[float]) -> str:
        edges = ",".join(self.edge(i, j) for i, j in zip(loop, [*loop[1:], loop[0]], strict=True))
        turn = self.add(f"EDGE_LOOP('',({edges}))")
        bound = self.add(f"FACE_OUTER_BOUND('',{turn},.T.)")
        plane = self.add(f"PLANE('',{self.placement(self.corners[loop[0]], normal, across)})")
        return self.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)")

    def context(self, prefix: str) -> str:
        """Units: metres with an SI prefix, radians."""
        length = self.add(f"(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT({prefix},.METRE.))")
        angle = self.add("(NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.))")
        solid = self.add("(NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT())")
        near = self.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-05),{length},'near','')")
        return self.add(
            f"(GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({near})) "
            f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid})) REPRESENTATION_CONTEXT('',''))"
        )

    def product(self, solid: str, context: str) -> None:
        """The names that hang the shape on a product."""
        axes = self.placement((0, 0, 0), (0, 0, 1), (1, 0, 0))
        shape = self.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({axes},{solid}),{context})")
        use = self.add("APPLICATION_CONTEXT('automotive design')")
        field = self.add(f"PRODUCT_CONTEXT('',{use},'mechanical')")
        made = self.add(f"PRODUCT('box','box','',({field}))")
        version = self.add(f"PRODUCT_DEFINITION_FORMATION('','',{made})")
        stage = self.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{use},'design')")
        definition = self.add(f"PRODUCT_DEFINITION('design','',{version},{stage})")
        defined = self.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
        self.add(f"SHAPE_DEFINITION_REPRESENTATION({defined},{shape})")

    def text(self) -> str:
        """The file."""
        data = "\n".join(f"#{k + 1} = {line};" for k, line in enumerate(self.lines))
        return f"{HEAD}{data}\nENDSEC;\nEND-ISO-10303-21;\n"


def step_box(size: Sequence[float], prefix: str = "MILLI") -> str:
    """size: edges in the file's unit; prefix: SI prefix of the metre, empty for none."""
    return StepBox(size, prefix).text()
