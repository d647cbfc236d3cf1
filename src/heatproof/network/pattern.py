"""Every entry the Jacobian may ever have, both flow directions included."""

import numpy as np

from heatproof.network.arrays import Model


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
