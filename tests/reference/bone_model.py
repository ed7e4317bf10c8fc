"""One screw in two-layer bone, solved with CalculiX: head compliances and the measures of the cortex.

Force and moment are put on the top face as tractions; movements are the means that do work with them, so that the
compliance matrix comes out symmetric. Stresses are formed here from the displacements at the integration points.
"""
import subprocess

import numpy as np

import bone_mesh

BONE_POISSON = 0.3


def triangle_loads(nodes, triangles):
    """Nodal loads of half the face for unit lateral force, moment (about +y), pull and torque (about +z)."""
    # Six points, exact to the fourth degree (Dunavant 1985).
    a, b = 0.445948490915965, 0.091576213509771
    points = [(a, a), (1 - 2 * a, a), (a, 1 - 2 * a), (b, b), (1 - 2 * b, b), (b, 1 - 2 * b)]
    weights = [0.223381589678011 / 2] * 3 + [0.109951743655322 / 2] * 3
    loads = np.zeros((4, len(nodes), 3))
    xy = nodes[triangles][:, :, :2]
    for (r, s), weight in zip(points, weights):
        t = 1 - r - s
        shape = np.array([t * (2 * t - 1), r * (2 * r - 1), s * (2 * s - 1), 4 * r * t, 4 * r * s, 4 * s * t])
        by_r = np.array([1 - 4 * t, 4 * r - 1, 0, 4 * (t - r), 4 * s, -4 * s])
        by_s = np.array([1 - 4 * t, 0, 4 * s - 1, -4 * r, 4 * r, 4 * (t - s)])
        jr, js = np.einsum("n,enk->ek", by_r, xy), np.einsum("n,enk->ek", by_s, xy)
        area = weight * np.abs(jr[:, 0] * js[:, 1] - jr[:, 1] * js[:, 0])
        x, y = np.einsum("n,enk->ke", shape, xy)
        zero = np.zeros_like(x)
        traction = [(zero + 1, zero, zero), (zero, zero, -x), (zero, zero, zero + 1), (-y, x, zero)]
        for load, (tx, ty, tz) in zip(loads, traction):
            at_points = np.stack([tx, ty, tz], axis=1) * area[:, None]
            np.add.at(load, triangles, shape[None, :, None] * at_points[:, None, :])
    x, y = nodes[:, 0], nodes[:, 1]
    resultant = [loads[0][:, 0].sum(), -(loads[1][:, 2] * x).sum(), loads[2][:, 2].sum(),
                 (loads[3][:, 1] * x - loads[3][:, 0] * y).sum()]
    return [0.5 * load / total for load, total in zip(loads, resultant)]


def write_input(path, case, nodes, tets, material, held, steps):
    """CalculiX input: one step per load, the displacements of all nodes printed."""
    modulus = [(case["screw_mpa"], case["screw_poisson"]), (case["cortex_mpa"], BONE_POISSON),
               (case["cancellous_mpa"], BONE_POISSON)]
    with open(path, "w") as out:
        out.write("*NODE, NSET=ALL\n")
        out.writelines(f"{i + 1},{x:.9g},{y:.9g},{z:.9g}\n" for i, (x, y, z) in enumerate(nodes))
        for m, (e, nu) in enumerate(modulus):
            out.write(f"*ELEMENT, TYPE=C3D10, ELSET=M{m}\n")
            for i in np.flatnonzero(material == m):
                out.write(f"{i + 1}," + ",".join(str(n + 1) for n in tets[i]) + "\n")
            out.write(f"*MATERIAL, NAME=M{m}\n*ELASTIC\n{e},{nu}\n*SOLID SECTION, ELSET=M{m}, MATERIAL=M{m}\n")
        out.write("*BOUNDARY\n")
        for axis, which in enumerate(held):
            out.writelines(f"{i + 1},{axis + 1},{axis + 1}\n" for i in np.flatnonzero(which))
        for load in steps:
            out.write("*STEP\n*STATIC\n*CLOAD, OP=NEW\n")
            for i, axis in zip(*np.nonzero(load)):
                out.write(f"{i + 1},{axis + 1},{load[i, axis]:.12g}\n")
            out.write("*NODE PRINT, NSET=ALL\nU\n*END STEP\n")


def run(path, count, steps):
    """Solves; returns the displacements (steps, nodes, 3)."""
    subprocess.run(["ccx", "-i", path.stem], cwd=path.parent, check=True, stdout=subprocess.DEVNULL)
    moved = np.zeros((steps, count, 3))
    step = -1
    for line in open(path.with_suffix(".dat")):
        if "displacements" in line:
            step += 1
        elif line.strip():
            tag, *u = line.split()
            moved[step, int(tag) - 1] = [float(v) for v in u]
    if step != steps - 1:
        raise RuntimeError(f"CalculiX printed {step + 1} of {steps} steps of {path}")
    return moved


def shape_gradients(corners, point):
    """Gradients (elements, 10, 3) and weighted volume at one point of straight or curved C3D10."""
    r, s, t = point
    u = 1 - r - s - t
    by = np.zeros((10, 3))
    by[0] = 1 - 4 * u
    by[1, 0], by[2, 1], by[3, 2] = 4 * r - 1, 4 * s - 1, 4 * t - 1
    by[4] = [4 * (u - r), -4 * r, -4 * r]
    by[5] = [4 * s, 4 * r, 0]
    by[6] = [-4 * s, 4 * (u - s), -4 * s]
    by[7] = [-4 * t, -4 * t, 4 * (u - t)]
    by[8] = [4 * t, 0, 4 * r]
    by[9] = [0, 4 * t, 4 * s]
    jacobian = np.einsum("nk,enx->ekx", by, corners)
    gradients = np.einsum("ekx,nk->enx", np.linalg.inv(jacobian).transpose(0, 2, 1), by)
    return gradients, np.abs(np.linalg.det(jacobian)) / 24


def cortex_measures(case, nodes, tets, material, moved):
    """Means over the patch in front of the screw and the largest strain beside it (recipe's measures), for one load."""
    radius = case["core_mm"] / 2
    cortex = tets[material == 1]
    corners = nodes[cortex]
    e, nu = case["cortex_mpa"], BONE_POISSON
    lame, shear = e * nu / ((1 + nu) * (1 - 2 * nu)), e / (2 * (1 + nu))
    near, far = 0.138196601125011, 0.585410196624969
    volume, radial, mises, strain = 0.0, 0.0, 0.0, 0.0
    for point in [(near, near, near), (far, near, near), (near, far, near), (near, near, far)]:
        r, s, t = point
        u = 1 - r - s - t
        shape = np.array([u * (2 * u - 1), r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * u, 4 * r * s,
                          4 * s * u, 4 * t * u, 4 * r * t, 4 * s * t])
        at = np.einsum("n,enx->ex", shape, corners)
        gradients, weight = shape_gradients(corners, point)
        slope = np.einsum("enx,eny->exy", moved[cortex], gradients)
        eps = (slope + slope.transpose(0, 2, 1)) / 2
        sigma = lame * np.trace(eps, axis1=1, axis2=2)[:, None, None] * np.eye(3) + 2 * shear * eps
        beyond = np.hypot(at[:, 0], at[:, 1]) - radius
        angle = np.arctan2(at[:, 1], at[:, 0])
        patch = (beyond < 0.15) & (angle < np.radians(15)) & (at[:, 2] > -0.25)
        n = at[:, :2] / np.hypot(at[:, 0], at[:, 1])[:, None]
        srr = np.einsum("ex,exy,ey->e", n, sigma[:, :2, :2], n)
        deviator = sigma - np.trace(sigma, axis1=1, axis2=2)[:, None, None] / 3 * np.eye(3)
        vm = np.sqrt(1.5 * np.einsum("exy,exy->e", deviator, deviator))
        volume += weight[patch].sum()
        radial += (weight * srr)[patch].sum()
        mises += (weight * vm)[patch].sum()
        band = (beyond >= 0.5) & (beyond < 1.0)
        strain = max(strain, np.linalg.eigvalsh(eps[band])[:, 2].max())
    return abs(radial) / volume, mises / volume, strain


def solve(case, folder):
    """Head compliances and, for 1 N lateral at the head, the cortex measures."""
    nodes, triangles, tets, material = bone_mesh.build(case, folder)
    top = triangles[np.all(nodes[triangles][:, :, 2] > case["neck_mm"] - 1e-6, axis=1)]
    force, moment, pull, torque = triangle_loads(nodes, top)
    width = bone_mesh.BLOCK_WIDTH / 2 - 1e-6
    floor = -(case["length_mm"] + bone_mesh.BLOCK_BELOW_TIP) + 1e-6
    clamped = (np.abs(nodes[:, 0]) > width) | (nodes[:, 1] > width) | (nodes[:, 2] < floor)
    middle = np.abs(nodes[:, 1]) < 1e-9
    # Bending and pull leave the plane of symmetry in itself; torque moves it square to itself only.
    write_input(folder / "bend.inp", case, nodes, tets, material, [clamped, clamped | middle, clamped], [force, moment, pull])
    write_input(folder / "turn.inp", case, nodes, tets, material, [clamped | middle, clamped, clamped | middle], [torque])
    by_force, by_moment, by_pull = run(folder / "bend.inp", len(nodes), 3)
    by_torque, = run(folder / "turn.inp", len(nodes), 1)
    radial, mises, strain = cortex_measures(case, nodes, tets, material, by_force)
    return {"u_f": 2 * np.sum(force * by_force), "u_m": 2 * np.sum(force * by_moment),
            "th_m": 2 * np.sum(moment * by_moment), "w_n": 2 * np.sum(pull * by_pull),
            "phi_t": 2 * np.sum(torque * by_torque), "radial": radial, "von_mises": mises, "strain": strain,
            "symmetry": abs(np.sum(force * by_moment) / np.sum(moment * by_force) - 1), "nodes": len(nodes)}
