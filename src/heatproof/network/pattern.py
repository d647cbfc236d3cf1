"""Every entry the Jacobian may ever have, both flow directions included.

In a bay every surface sees every other: hundreds of pairs that fill the factor and carry little. The step is
content with an approximate Jacobian, so pairs too weak to move a mass within the longest step are left to the
explicit part: their heat still flows, exactly, only its slope is not looked ahead.
"""

import numpy as np

from heatproof.network.arrays import Model, PairSlots
from heatproof.numerics.sparse_lu import lu_pattern

LONGEST_STEP = 60.0  # s, of warm-ups
EXPLICIT_SHARE = 0.5  # of a mass's heat capacity that explicit pairs may move per longest step and kelvin
T_RADIATING = 700.0  # K, at which that share is taken
SIGMA = 5.670374e-8


def implicit_pairs(model: Model, n: int) -> np.ndarray:
    """Indices of the radiation pairs the step's Jacobian keeps; pairs with a boundary make no fill and stay."""
    ra = model.radiation
    room = EXPLICIT_SHARE * model.capacity / (LONGEST_STEP * 4.0 * SIGMA * T_RADIATING**3)  # m2
    kept = (ra["i"] >= n) | (ra["j"] >= n)
    for k in np.argsort(ra["FA"], kind="stable"):
        if kept[k]:
            continue
        ends = [ra["i"][k], ra["j"][k]]
        room[ends] -= ra["FA"][k]
        if room[ends].min() < 0.0:
            room[ends] += ra["FA"][k]
            kept[k] = True
    return np.flatnonzero(kept)


def possible_entries(model: Model, n: int) -> set[tuple[int, int]]:
    """Pairs (row, column) of states; boundaries (index >= n) have neither."""
    entries: set[tuple[int, int]] = {(i, i) for i in range(model.capacity.size)}

    def clique(*members: int) -> None:
        own = [int(i) for i in members if 0 <= i < n]
        entries.update((r, c) for r in own for c in own)

    for kind in (model.conduction, model.radiation, model.convection, model.wetted):
        for i, j in zip(kind["i"], kind["j"], strict=True):
            clique(i, j)
    br, ju = model.branches.view(np.recarray), model.junctions.view(np.recarray)

    def ends(k: int) -> tuple[int, ...]:
        return (int(ju.mass[br.first[k]]), int(ju.mass[br.second[k]]), int(br.cell[k]))

    for k in range(br.size):
        clique(*ends(k))
    for i, k in zip(model.duct["i"], model.duct["branch"], strict=True):
        clique(i, *ends(k))
    ex, bo = model.exchanger.view(np.recarray), model.boiling.view(np.recarray)
    for k in range(ex.size):
        clique(int(ex.metal[k]), *ends(ex.hot[k]))
        clique(ex.metal[k], *ends(ex.cold[k]))
    for k in range(bo.size):
        clique(bo.cell[k], bo.receiver[k])
    for net in model.networks[model.networks["buoyant"] == 1]:
        masses = ju.mass[net["junction_start"] : net["junction_end"]]
        clique(*masses, *br.cell[net["branch_start"] : net["branch_end"]])
    entries.update((n + k, int(s)) for k, s in enumerate(model.lifts["sensor"]))
    return entries


def with_pattern(model: Model, n: int, radiating: np.ndarray) -> Model:
    """The model with the matrix pattern in which these radiation pairs stand."""
    entries = possible_entries(model._replace(radiation=model.radiation[radiating]), n)
    pattern = lu_pattern(model.capacity.size, entries)
    slots = PairSlots(
        conduction=pair_slots(model.conduction, n, pattern.slot),
        radiation=pair_slots(model.radiation, n, pattern.slot),
        convection=pair_slots(model.convection, n, pattern.slot),
        wetted=pair_slots(model.wetted, n, pattern.slot),
        radiating=radiating,
    )
    return model._replace(pattern=pattern, pair_slots=slots)


def pair_slots(links: np.ndarray, n: int, slot: np.ndarray) -> np.ndarray:
    """Slots ii, ij, jj, ji of each link's pair, (links, 4); -1 where an index is a boundary's (>= n)."""
    i, j = links["i"], links["j"]
    found = np.full((i.size, 4), -1, dtype=np.int32)
    for column, (r, c) in enumerate(((i, i), (i, j), (j, j), (j, i))):
        own = (r < n) & (c < n)
        found[own, column] = slot[r[own], c[own]]
    return found
