"""Mesh of one screw in two-layer bone: half of a smooth cylinder bonded in a block, second-order tetrahedra (gmsh).

The plane y = 0 is the plane of symmetry, z points out of the bone, the bone surface is z = 0. Everything else is told
by coordinates, so the mesh carries no names.
"""
import subprocess
from pathlib import Path

import numpy as np

BLOCK_WIDTH = 15.0  # mm; the axial compliance feels it, the lateral ones hardly
BLOCK_BELOW_TIP = 3.0

GEOMETRY = """
SetFactory("OpenCASCADE");
R = {radius}; w = {half_width}; a = {neck}; tc = {cortex}; L = {length}; H = {depth};
Cylinder(1) = {{0, 0, 0, 0, 0, a, R, Pi}};
Cylinder(2) = {{0, 0, -tc, 0, 0, tc, R, Pi}};
Cylinder(3) = {{0, 0, -L, 0, 0, L - tc, R, Pi}};
Box(4) = {{-w, 0, -tc, 2 * w, w, tc}};
Box(5) = {{-w, 0, -H, 2 * w, w, H - tc}};
BooleanFragments{{ Volume{{1:5}}; Delete; }}{{}}
Field[1] = MathEval;
Field[1].F = "{size}";
Background Field = 1;
Mesh.MeshSizeFromPoints = 0; Mesh.MeshSizeExtendFromBoundary = 0;
Mesh.ElementOrder = 2; Mesh.SecondOrderLinear = 0; Mesh.HighOrderOptimize = 1;
Mesh.SaveAll = 1; Mesh.MshFileVersion = 2.2; Mesh.Algorithm3D = 1;
"""


def element_size(radius, cortex):
    """Finest around the rim of the hole, fine in the screw, coarse where nothing happens."""
    off_axis = f"sqrt(x*x+y*y)-{radius}"
    outside = f"0.5*(abs({off_axis})+{off_axis})"
    rim = f"(0.10+0.60*sqrt(({off_axis})^2+z*z))"
    hole = f"(0.60+0.50*sqrt(({off_axis})^2+(z+{cortex / 2})^2))"
    screw = f"({radius}+0.6*{outside})"
    # Near to the least of the three, and smooth.
    return f"1/(1/{rim}+1/{hole}+1/{screw})"


def read_msh(path):
    """Nodes (n, 3), triangles and tetrahedra of second order, by index."""
    lines = iter(Path(path).read_text().splitlines())
    nodes, triangles, tets, index = None, [], [], {}
    for line in lines:
        if line == "$Nodes":
            count = int(next(lines))
            nodes = np.empty((count, 3))
            for i in range(count):
                tag, *xyz = next(lines).split()
                index[tag] = i
                nodes[i] = [float(v) for v in xyz]
        elif line == "$Elements":
            for _ in range(int(next(lines))):
                fields = next(lines).split()
                corners = fields[3 + int(fields[2]):]
                if fields[1] == "9":
                    triangles.append([index[n] for n in corners])
                elif fields[1] == "11":
                    tets.append([index[n] for n in corners])
    tets = np.array(tets)
    tets[:, [8, 9]] = tets[:, [9, 8]]  # gmsh and CalculiX number the last two edges the other way round
    return nodes, np.array(triangles), tets


def build(case, folder):
    """Meshes `case`; returns nodes, triangles, tets and the material of each tet: 0 screw, 1 cortex, 2 cancellous."""
    radius = case["core_mm"] / 2
    text = GEOMETRY.format(radius=radius, half_width=BLOCK_WIDTH / 2, neck=case["neck_mm"], cortex=case["cortex_mm"],
                           length=case["length_mm"], depth=case["length_mm"] + BLOCK_BELOW_TIP,
                           size=element_size(radius, case["cortex_mm"]))
    geo = folder / "bone.geo"
    geo.write_text(text)
    subprocess.run(["gmsh", "-3", "-v", "1", "-o", str(folder / "bone.msh"), str(geo)], check=True)
    nodes, triangles, tets = read_msh(folder / "bone.msh")
    centre = nodes[tets[:, :4]].mean(axis=1)
    inside = np.hypot(centre[:, 0], centre[:, 1]) < radius
    in_screw = (centre[:, 2] > 0) | (inside & (centre[:, 2] > -case["length_mm"]))
    material = np.where(in_screw, 0, np.where(centre[:, 2] > -case["cortex_mm"], 1, 2))
    used = np.unique(tets)
    renumber = np.full(len(nodes), -1)
    renumber[used] = np.arange(len(used))
    return nodes[used], renumber[triangles], renumber[tets], material
