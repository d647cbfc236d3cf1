"""Invariants on random scenes (VF-20), and that the cache never changes an answer."""

import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shape_scenes import random_scene, small_bay

from heatproof.shapes.errors import has_ray_library
from heatproof.shapes.patches import split_facing
from heatproof.shapes.placement import place
from heatproof.shapes.primitives import sphere
from heatproof.shapes.scene import Scene, solid_part
from heatproof.shapes.view_factors import ViewFactors, view_factors

RAYS = 2**12
QUICK = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@QUICK
@given(st.integers(0, 2**32 - 1))
def test_rows_and_reciprocity_close(seed: int) -> None:
    """VF-20: Σ_j F_ij = 1 and A_i F_ij = A_j F_ji, 1e-12, none negative."""
    found = view_factors(random_scene(np.random.default_rng(seed)), rays_per_patch=RAYS)
    assert found.factor.sum(axis=1) + found.to_surroundings == pytest.approx(1.0, abs=1e-12)
    exchange = found.area[:, None] * found.factor
    assert exchange == pytest.approx(exchange.T, rel=1e-12, abs=1e-15)
    assert (found.factor >= 0.0).all()
    assert (found.to_surroundings >= 0.0).all()
    # Closing may move an entry by its ray noise, not more: 6 standard errors of plain random rays.
    assert found.largest_correction < 6 * 0.5 / np.sqrt(RAYS)


@QUICK
@given(st.integers(0, 2**32 - 1))
def test_closed_walls_leave_nothing_outside(seed: int) -> None:
    scene = random_scene(np.random.default_rng(seed))
    found = view_factors(scene, rays_per_patch=RAYS)
    if scene.parts[-1].name == "walls":
        assert found.to_surroundings.max() <= 2.0 / RAYS  # a lost ray in a patch at most
    else:
        assert found.to_surroundings.max() > 0.2


def same(a: ViewFactors, b: ViewFactors) -> bool:
    return a.patches == b.patches and all(
        np.array_equal(getattr(a, name), getattr(b, name))
        for name in ("factor", "to_surroundings", "error", "buried", "area")
    )


def changed_scenes() -> dict[str, Scene]:
    bay = small_bay()
    ball = solid_part("ball", sphere(0.04, placement=place((0.2, 0.0, 0.45))))
    return {
        "shield moved": bay.moved("shield", place((0.02, 0.03, -0.01), turn_deg=(0, 10, 0))),
        "hose moved": bay.moved("hose", place((0.0, 0.05, 0.1))),
        "walls moved": bay.moved("walls", place((0.05, 0.0, 0.0))),
        "two moved": bay.moved("shield", place((0.02, 0, 0))).moved("turbine", place((0, 0.02, 0))),
        "part added": bay.with_part(ball),
        "part left out": bay.without("shield"),
        "order changed": Scene(bay.parts[::-1]),
        "patches changed": bay.with_part(split_facing(bay.part("block"), (0.4, 0.2, 0.5))),
    }


@pytest.mark.parametrize("tracer", ["compiled"] + (["embreex"] if has_ray_library() else []))
@pytest.mark.parametrize("change", changed_scenes())
def test_update_equals_full_run_exactly(change: str, tracer: str, tmp_path: Path) -> None:
    scene = changed_scenes()[change]
    first = view_factors(small_bay(), rays_per_patch=RAYS, cache=tmp_path, tracer=tracer)
    assert first.how == "traced"
    updated = view_factors(scene, rays_per_patch=RAYS, cache=tmp_path, tracer=tracer)
    full = view_factors(scene, rays_per_patch=RAYS, tracer=tracer)
    assert updated.how == "updated"
    assert updated.rays_traced < full.rays_traced
    assert same(updated, full)
    again = view_factors(scene, rays_per_patch=RAYS, cache=tmp_path, tracer=tracer)
    assert (again.how, again.rays_traced) == ("cache", 0)
    assert same(again, full)


def test_chain_of_updates_equals_full_run(tmp_path: Path) -> None:
    scenes = list(changed_scenes().values())
    for scene in [small_bay(), *scenes]:
        view_factors(scene, rays_per_patch=RAYS, cache=tmp_path)
    # Back to the first order of parts, from whatever the last update left, in a place not seen before.
    last = small_bay().moved("shield", place((0.0, -0.05, 0.0)))
    assert same(
        view_factors(last, rays_per_patch=RAYS, cache=tmp_path), view_factors(last, rays_per_patch=RAYS)
    )


def test_unmoved_scene_back_again_comes_from_cache(tmp_path: Path) -> None:
    for scene in (small_bay(), changed_scenes()["shield moved"]):
        view_factors(scene, rays_per_patch=RAYS, cache=tmp_path)
    assert view_factors(small_bay(), rays_per_patch=RAYS, cache=tmp_path).how == "cache"


def damage(path: Path, kind: str) -> None:
    content = bytearray(path.read_bytes())
    if kind == "cut off":
        path.write_bytes(content[: len(content) // 2])
    elif kind == "empty":
        path.write_bytes(b"")
    elif kind == "flipped bit":
        content[len(content) // 2] ^= 0x10
        path.write_bytes(content)
    else:
        np.savez(path, hit=np.zeros(3), counts=np.zeros(3))


@pytest.mark.parametrize("kind", ["cut off", "empty", "flipped bit", "other arrays"])
@pytest.mark.parametrize("files", ["counts-*.npz", "hits-*.npz"])
def test_damaged_cache_is_discarded_with_a_note(kind: str, files: str, tmp_path: Path) -> None:
    scene = small_bay()
    view_factors(scene, rays_per_patch=RAYS, cache=tmp_path)
    for path in tmp_path.glob(files):
        damage(path, kind)
    if files.startswith("hits"):
        scene = changed_scenes()["shield moved"]  # the counts of the first scene would hide the damage
    found = view_factors(scene, rays_per_patch=RAYS, cache=tmp_path)
    assert same(found, view_factors(scene, rays_per_patch=RAYS))
    assert any("discarded" in note for note in found.notes)
    assert any(f.level == "note" and "discarded" in f.what for f in found.findings())


def test_cache_files_appear_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(np, "savez", fails)
    with pytest.raises(OSError, match="disk full"):
        view_factors(small_bay(), rays_per_patch=512, cache=tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_settings_do_not_share_a_cache(tmp_path: Path) -> None:
    hows = []
    for rays, seed in itertools.product((512, 1024), (1, 2)):
        hows.append(view_factors(small_bay(), rays_per_patch=rays, seed=seed, cache=tmp_path).how)
    assert hows == ["traced"] * 4


def test_scene_key_follows_geometry() -> None:
    bay = small_bay()
    assert bay.key == small_bay().key
    assert len({bay.key, *(scene.key for scene in changed_scenes().values())}) == 1 + len(changed_scenes())
