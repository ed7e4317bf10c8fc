"""A plate on screws as CalculiX beams (B31, 24 to a member, expanded to solids), screws as clamped square stubs.

The expanded element is one solid wide: its torsion constant is b^3 h^3/(3 (b^2 + h^2)) (measured from the difference of
two leg lengths), which the core's frame is given for this comparison. Loads are forces only: a moment put on a beam node
does not arrive whole. Screw loads are section forces in the middle of a stub, carried to its head.
"""
import subprocess

import numpy as np

MODULUS, POISSON, SHEAR = 110e3, 0.33, 110e3 / 2.66
PER_MEMBER = 24
BELOW_BONE = 0.95  # mm: the stub is clamped this far under the bone surface


def torsion_constant(b, h):
    return b**3 * h**3 / (3 * (b * b + h * h))


def stub(screw, scale):
    """Side and length of the square stub that bends like the core."""
    side = (12 * np.pi / 64) ** 0.25 * screw["core_mm"] * scale
    return side, screw["neck_mm"] + BELOW_BONE


def stub_compliance(screw, scale):
    side, length = stub(screw, scale)
    ei, area = MODULUS * side**4 / 12, side**2
    return [length**3 / (3 * ei) + length / (SHEAR * area * 5 / 6), length**2 / (2 * ei), length / ei,
            length / (MODULUS * area), length / (SHEAR * torsion_constant(side, side))]


def width_direction(along, normal):
    normal = normal - along * np.dot(normal, along)
    return np.cross(normal / np.linalg.norm(normal), along)


def core_text(plate, scale):
    """The plate as lines for frame_solve."""
    def join(*values):
        return " ".join(f"{v:.15g}" for v in values)
    lines = ["node " + join(*node) for node in plate["nodes"]]
    for i, j, b, h, normal in plate["bars"]:
        lines.append("bar " + join(i, j, b * scale, h * scale, *normal, torsion_constant(b * scale, h * scale)))
    for screw in plate["screws"]:
        lines.append("screw " + join(screw["node"], *screw["axis"], *stub_compliance(screw, scale)))
    lines.append("load " + join(plate["loaded"], *plate["force_n"]))
    return "\n".join(lines) + "\n"


class Deck:
    """Nodes and members of a CalculiX input."""

    def __init__(self):
        self.nodes, self.members = [], []

    def node(self, at):
        self.nodes.append(np.asarray(at, float))
        return len(self.nodes)

    def member(self, first, last, b, h, width):
        """PER_MEMBER elements between two nodes; returns the node in the middle."""
        a, z = self.nodes[first - 1], self.nodes[last - 1]
        inner = [self.node(a + (z - a) * i / PER_MEMBER) for i in range(1, PER_MEMBER)]
        self.members.append(([first, *inner, last], b, h, width))
        return inner[PER_MEMBER // 2 - 1]

    def text(self, clamped, loaded, force):
        out = ["*NODE, NSET=ALL"] + [f"{i + 1},{x:.12g},{y:.12g},{z:.12g}" for i, (x, y, z) in enumerate(self.nodes)]
        out += ["*MATERIAL, NAME=T", "*ELASTIC", f"{MODULUS},{POISSON}"]
        element = 0
        for m, (chain, b, h, width) in enumerate(self.members):
            out.append(f"*ELEMENT, TYPE=B31, ELSET=M{m}")
            for a, z in zip(chain, chain[1:]):
                element += 1
                out.append(f"{element},{a},{z}")
            out += [f"*BEAM SECTION, ELSET=M{m}, MATERIAL=T, SECTION=RECT", f"{b:.12g},{h:.12g}",
                    ",".join(f"{v:.12g}" for v in width)]
        out += ["*BOUNDARY"] + [f"{n},1,6" for n in clamped] + ["*STEP", "*STATIC", "*CLOAD"]
        out += [f"{loaded},{axis + 1},{value}" for axis, value in enumerate(force)]
        out += ["*NODE PRINT, NSET=ALL", "U", "*EL FILE, OUTPUT=2D, SECTION FORCES", "S", "*END STEP", ""]
        return "\n".join(out)


def read_section_forces(path):
    """node -> [V1 V2 N T M1 M2]."""
    forces, inside = {}, False
    for line in open(path):
        if line.startswith(" -4"):
            inside = "STRESS" in line
        elif inside and line.startswith(" -1"):
            forces[int(line[3:13])] = [float(line[13 + 12 * i:25 + 12 * i]) for i in range(6)]
    return forces


def solve(plate, scale, folder):
    """Displacements of the plate's nodes, and per screw force and moment on its head in its own axes."""
    deck = Deck()
    for node in plate["nodes"]:
        deck.node(node)
    for i, j, b, h, normal in plate["bars"]:
        along = np.subtract(plate["nodes"][j], plate["nodes"][i]).astype(float)
        width = width_direction(along / np.linalg.norm(along), np.array(normal, float))
        deck.member(i + 1, j + 1, b * scale, h * scale, width)
    clamped, middles = [], []
    for screw in plate["screws"]:
        axis = np.array(screw["axis"])
        side, length = stub(screw, scale)
        base = deck.node(np.array(plate["nodes"][screw["node"]]) - axis * length)
        # First direction of the stub as the core lays a screw's x axis.
        x = np.eye(3)[np.argmin(np.abs(axis))]
        x = x - axis * np.dot(x, axis)
        middles.append(deck.member(base, screw["node"] + 1, side, side, x / np.linalg.norm(x)))
        clamped.append(base)
    path = folder / "plate.inp"
    path.write_text(deck.text(clamped, plate["loaded"] + 1, plate["force_n"]))
    subprocess.run(["ccx", "-i", path.stem], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    moved = np.zeros((len(deck.nodes), 3))
    for line in open(path.with_suffix(".dat")):
        fields = line.split()
        if len(fields) == 4 and fields[0].isdigit():
            moved[int(fields[0]) - 1] = [float(v) for v in fields[1:]]
    forces = read_section_forces(path.with_suffix(".frd"))
    heads = []
    for screw, middle in zip(plate["screws"], middles):
        v1, v2, n, torque, m1, m2 = forces[middle]
        half = stub(screw, scale)[1] / 2
        heads.append([v1, v2, n, m1 + half * v2, m2 - half * v1, torque])
    return moved[:len(plate["nodes"])], np.array(heads)
