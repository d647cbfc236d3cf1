"""Which way triangles look: made to agree over each connected skin, then outward."""

from dataclasses import replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from heatproof.shapes.errors import ShapeFinding
from heatproof.shapes.scene import Ints, Part


def directed_edges(faces: Ints) -> tuple[Ints, Ints]:
    """Edges (3n, 2) of triangles (n, 3) in their own sense, and the triangle of each."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    return edges, np.tile(np.arange(len(faces)), 3)


def shared_edges(faces: Ints) -> tuple[Ints, Ints, Ints]:
    """Pairs (m, 2) of triangles that share an edge with exactly one other, the edge's end vertices (m, 2),
    and how many triangles meet at each edge of the mesh."""
    edges, owner = directed_edges(faces)
    ends = np.sort(edges, axis=1)
    _, inverse, counts = np.unique(ends, axis=0, return_inverse=True, return_counts=True)
    order = np.argsort(inverse, kind="stable")
    start = np.cumsum(counts) - counts
    first = start[counts == 2]
    pairs = np.stack([owner[order[first]], owner[order[first + 1]]], axis=1)
    return pairs, ends[order[first]], counts


def _same_sense(faces: Ints) -> tuple[Ints, Ints]:
    """Neighbouring pairs, and 1 where both run along their edge in the same sense (one is turned)."""
    edges, _ = directed_edges(faces)
    pairs, ends, _ = shared_edges(faces)
    n, span = len(faces), int(faces.max()) + 1
    forward = edges[:, 0] * span + edges[:, 1]

    def runs_forward(triangle: Ints) -> Ints:
        wanted = ends[:, 0] * span + ends[:, 1]
        own = np.stack([forward[triangle + k * n] for k in range(3)])
        return (own == wanted).any(axis=0).astype(np.int64)

    return pairs, (runs_forward(pairs[:, 0]) == runs_forward(pairs[:, 1])).astype(np.int64)


def _turned_parity(count: int, pairs: Ints, turned: Ints, skin: Ints, skins: int) -> Ints:
    """For every triangle, whether it must be turned to agree with the first triangle of its skin."""
    both = np.concatenate([pairs, pairs[:, ::-1]])
    graph = coo_array(
        (np.concatenate([turned, turned]) + 1, (both[:, 0], both[:, 1])), (count, count)
    ).tocsr()
    parity = np.zeros(count, dtype=np.int64)
    for first in np.unique(skin, return_index=True)[1][:skins]:
        order, before = breadth_first_order(graph, int(first), directed=False)
        if len(order) < 2:
            continue
        steps = np.asarray(graph[order[1:], before[order[1:]]]).ravel() - 1
        for triangle, step in zip(order[1:], steps, strict=True):
            parity[triangle] = parity[before[triangle]] ^ int(step)
    return parity


def outward(part: Part) -> tuple[Part, list[ShapeFinding]]:
    """The part with every closed skin looking outward, and findings saying what was turned."""
    faces = np.array(part.faces)
    count = len(faces)
    pairs, turned = _same_sense(faces)
    link = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), (count, count))
    skins, skin = connected_components(link, directed=False)
    findings = []
    if turned.any():
        flip = _turned_parity(count, pairs, turned, skin, skins).astype(bool)
        faces[flip] = faces[flip, ::-1]
        got = f"{int(min(flip.sum(), (~flip).sum()))} of {count} triangles"
        findings.append(
            ShapeFinding("note", part.name, "neighbouring triangles looked opposite ways; made to agree", got)
        )
    inverted = _inside_out(part, faces, skin, skins)
    if inverted.any():
        whole = inverted[skin]
        faces[whole] = faces[whole, ::-1]
        findings.append(ShapeFinding("note", part.name, "the mesh was inside out; turned outward",
                                f"{int(inverted.sum())} of {skins} bodies"))  # fmt: skip
    return (replace(part, faces=faces) if findings else part), findings


def _inside_out(part: Part, faces: Ints, skin: Ints, skins: int) -> np.ndarray:
    """Which skins enclose a negative volume, about their own middle so that small gaps matter little."""
    corners = part.vertices[faces]
    size = np.bincount(skin, minlength=skins)
    middle = np.stack(
        [np.bincount(skin, corners[:, :, k].mean(axis=1), skins) / size for k in range(3)], axis=1
    )
    a, b, c = (corners[:, k] - middle[skin] for k in range(3))
    volume = np.bincount(skin, np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0, skins)
    reach = np.ptp(corners.reshape(-1, 3), axis=0).max()
    return np.asarray(volume < -1e-9 * reach**3)
